//! Light spread sideways by scattering: photons against a second implementation and diffusion theory.

use crate::error::Error;
use crate::numerics::statistics::Estimate;
use crate::optics::beam::Shape;
use crate::optics::photon_monte_carlo::spread::WidthMeasure;
use crate::optics::photon_monte_carlo::{PHOTON_STEP, Settings, run, spread};
use crate::optics::slab::Stack;
use crate::study::validation::light::slab;
use crate::study::validation::table::{Rows, Worst};
use crate::study::validation::{Check, Finding, Kind, Stage, Validation};
use crate::units::MM;

/// Photons of every case; the seed stands in the report.
const PHOTONS: u64 = 16 * PHOTON_STEP;

/// Seed of the photons of these checks.
pub const SEED: u64 = 11;

/// All checks of the lateral spread.
///
/// # Errors
/// A stack is refused.
pub fn checks() -> Result<Validation, Error> {
    Ok(Validation {
        checks: vec![second_implementation()?, diffusion()?],
        findings: vec![variance()?],
    })
}

fn settings(incidence_rad: f64) -> Settings {
    Settings {
        photons: PHOTONS,
        collisions: 1_000_000_000,
        seed: SEED,
        incidence_rad,
        depth_bins: 1,
    }
}

/// Layers as index, µa, µs, g and thickness, all per mm and mm.
fn stack(layers: &[[f64; 5]], lower: usize) -> Stack {
    let slabs = layers
        .iter()
        .map(|[n, mu_a, mu_s, g, d]| slab(*n, *d, [*mu_a, *mu_s, *g]))
        .collect();
    Stack {
        slabs,
        upper: 0,
        lower,
    }
}

/// The stacks of `tests/published/photon-spread.py`.
fn cases() -> [(&'static str, Stack, f64); 6] {
    let lid = [[1.5, 0.05, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]];
    [
        ("moderate", stack(&lid, 1), 0.0),
        (
            "matched",
            stack(&[[1.0, 0.05, 2.0, 0.8, 1.5], [1.0, 10.0, 1.0, 0.0, 1.0]], 1),
            0.0,
        ),
        (
            "dense",
            stack(&[[1.5, 0.02, 10.0, 0.9, 1.5], [1.5, 5.0, 5.0, 0.6, 1.0]], 1),
            0.0,
        ),
        (
            "clamped",
            stack(
                &[
                    [1.52, 0.0, 0.0, 0.0, 3.0],
                    [1.5, 0.1, 4.0, 0.7, 2.0],
                    [1.5, 8.0, 0.0, 0.0, 1.0],
                ],
                2,
            ),
            0.0,
        ),
        (
            "gap",
            stack(
                &[
                    [1.49, 0.03, 3.0, 0.8, 1.0],
                    [1.0, 0.0, 0.0, 0.0, 0.1],
                    [1.58, 10.0, 2.0, 0.5, 1.0],
                ],
                2,
            ),
            0.0,
        ),
        ("oblique", stack(&lid, 1), 20f64.to_radians()),
    ]
}

/// Difference in standard errors of both.
fn apart(found: Estimate, value: f64, standard_error: f64) -> f64 {
    (found.value - value) / found.standard_error.hypot(standard_error)
}

fn check(worst: Worst, what: &'static str, kind: Kind, source: &'static str) -> Check {
    Check {
        stage: Stage::Sideways,
        what,
        kind,
        source,
        values: worst.values,
        deviation: worst.deviation,
        limit: 4.0,
        unit: "standard errors",
    }
}

fn second_implementation() -> Result<Check, Error> {
    let table = Rows::of(include_str!("../../../tests/published/photon-spread.csv"));
    let mut worst = Worst::default();
    for (case, stack, incidence_rad) in cases() {
        let found = run(&stack, &settings(incidence_rad))?;
        let Some(spread) = found.spread else {
            worst.add(f64::NAN);
            continue;
        };
        for row in table.iter().filter(|it| it.word("case") == case) {
            let estimate = match row.word("quantity") {
                "delivered" => spread.delivered,
                "reflected" => found.shares.reflected,
                "absorbed_lower" => found.shares.layers[stack.lower].absorbed,
                "sharp" => spread.sharp,
                "within_0.2mm" => spread.within(0.2 * MM),
                "within_0.5mm" => spread.within(0.5 * MM),
                "within_1mm" => spread.within(MM),
                "top_hat_1x1" => spread.top_hat_factor(MM, MM),
                "top_hat_1x3" => spread.top_hat_factor(MM, 3.0 * MM),
                "gaussian_1x2" => spread.gaussian_factor(MM, 2.0 * MM),
                "strip_1mm" => spread.energy_factor(Shape::TopHat, MM),
                "variance_mm2" => spread.variance_m2().scaled(1.0 / (MM * MM)),
                _ => Estimate::exact(f64::NAN),
            };
            worst.add(apart(
                estimate,
                row.number("value"),
                row.number("standard_error"),
            ));
        }
    }
    Ok(check(
        worst,
        "spread of the spot in six stacks",
        Kind::OtherProgram,
        "an independent literal photon Monte Carlo, 4e6 photons",
    ))
}

fn diffusion() -> Result<Check, Error> {
    let transport_mm = 0.1;
    let thickness_mm = 30.0 * transport_mm;
    let plate = stack(&[[1.0, 0.0, 1.0 / transport_mm, 0.0, thickness_mm]], 1);
    let variance = spread(&plate, &settings(0.0))?.variance_m2();
    let beyond = 0.7104 * transport_mm;
    let (whole, source) = (thickness_mm + 2.0 * beyond, transport_mm + beyond);
    let expected = (whole * whole - source * source) / 3.0 * MM * MM;
    let mut worst = Worst::default();
    // Corrections to diffusion theory are of the order (l*/d)², a thousandth.
    worst.add(apart(variance, expected, 1e-3 * expected));
    Ok(check(
        worst,
        "variance behind a thick slab",
        Kind::ClosedForm,
        "diffusion theory, A. Ishimaru, Wave Propagation and Scattering in Random Media (1978), ch. 9",
    ))
}

/// A statement of the trade, tried on a usual lid.
fn variance() -> Result<Finding, Error> {
    let with = |mu_a: f64| -> Result<[f64; 3], Error> {
        let lid = stack(&[[1.5, mu_a, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]], 1);
        let it = spread(&lid, &settings(0.0))?;
        let half = it.width_m(Shape::TopHat, MM, WidthMeasure::HalfHeight);
        Ok([it.delivered.value, it.variance_m2().value, half.value])
    };
    let (clear, tinted) = (with(0.0)?, with(0.1)?);
    let less = |i: usize| 100.0 * (1.0 - tinted[i] / clear[i]);
    Ok(Finding {
        stage: Stage::Sideways,
        what: "variance of a transmitted spot against absorption",
        theirs: "independent of absorption (statement of a trade abstract; G. Mazzamuto et al., \
                 arXiv 1509.04027 (2015), show it for light of one path length)",
        ours: format!(
            "in steady state 0.1 /mm in a lid of 1.5 mm takes {:.1} % of the light, {:.1} % of the \
             variance and {:.2} % of the width at half height",
            less(0),
            less(1),
            less(2)
        ),
        remark: "Absorption removes long paths, which reach far. The width at half height may be \
                 relied on, the variance may not.",
    })
}
