//! The lateral spread and what it does to a beam.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use lightseam::numerics::statistics::Estimate;
use lightseam::optics::Stack;
use lightseam::optics::beam::{Beam, Shape};
use lightseam::optics::photon_monte_carlo::profile::{at_middle, scaled_bessel_i0};
use lightseam::optics::photon_monte_carlo::spread::WidthMeasure;
use lightseam::optics::photon_monte_carlo::{Settings, Spread, run, spread};

use super::{assert_within_four, follow, lid_on_body, number, published, rows, settings, stack};

const MM: f64 = 1e-3;

fn spread_of(stack: &Stack, steps: u64) -> Spread {
    spread(stack, &settings(steps)).unwrap()
}

/// The stacks of `photon-spread.py`, their interface and angle of incidence.
fn stack_of(case: &str) -> (Stack, f64) {
    let (layers, lower, degrees): (&[[f64; 5]], usize, f64) = match case {
        "moderate" => (
            &[[1.5, 0.05, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]],
            1,
            0.0,
        ),
        "matched" => (
            &[[1.0, 0.05, 2.0, 0.8, 1.5], [1.0, 10.0, 1.0, 0.0, 1.0]],
            1,
            0.0,
        ),
        "dense" => (
            &[[1.5, 0.02, 10.0, 0.9, 1.5], [1.5, 5.0, 5.0, 0.6, 1.0]],
            1,
            0.0,
        ),
        "clamped" => (
            &[
                [1.52, 0.0, 0.0, 0.0, 3.0],
                [1.5, 0.1, 4.0, 0.7, 2.0],
                [1.5, 8.0, 0.0, 0.0, 1.0],
            ],
            2,
            0.0,
        ),
        "gap" => (
            &[
                [1.49, 0.03, 3.0, 0.8, 1.0],
                [1.0, 0.0, 0.0, 0.0, 0.1],
                [1.58, 10.0, 2.0, 0.5, 1.0],
            ],
            2,
            0.0,
        ),
        "oblique" => (
            &[[1.5, 0.05, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]],
            1,
            20.0,
        ),
        _ => panic!("no such stack: {case}"),
    };
    (stack(layers, lower), degrees.to_radians())
}

#[test]
fn a_second_implementation_finds_the_same_spread() {
    let table = rows(include_str!("../../published/photon-spread.csv"));
    let mut checked = 0;
    for case in ["moderate", "matched", "dense", "clamped", "gap", "oblique"] {
        let (stack, incidence_rad) = stack_of(case);
        let wanted = Settings {
            incidence_rad,
            ..settings(64)
        };
        let found = run(&stack, &wanted).unwrap();
        let spread = found.spread.unwrap();
        for row in table.iter().filter(|row| row[0] == case) {
            let estimate = match row[1] {
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
                "variance_mm2" => spread.variance_m2().scaled(1e6),
                other => panic!("unknown quantity {other}"),
            };
            let expected = published(number(row[2]), number(row[3]));
            assert_within_four(&format!("{row:?}"), estimate, expected);
            checked += 1;
        }
    }
    assert_eq!(checked, 72);
}

/// Closed form: light scattered once, isotropically, on its way through a thin matched plate leaves
/// it displaced by more than R with probability (√(d² + R²) − R) / d. An optical thickness of 1e-3
/// leaves 0.2 % or less to second scattering.
#[test]
fn single_scattering_lands_where_geometry_says() {
    let thickness_mm = 0.7;
    let plate = stack(&[[1.0, 0.0, 1e-3 / thickness_mm, 0.0, thickness_mm]], 1);
    let spread = spread_of(&plate, 64);
    let scattered = 1.0 - spread.sharp.value;
    for radius_mm in [0.05f64, 0.3, 0.7, 2.0] {
        let beyond = (thickness_mm.hypot(radius_mm) - radius_mm) / thickness_mm;
        let inside = spread.within(radius_mm * MM);
        let found = Estimate {
            value: (1.0 - inside.value) / scattered,
            standard_error: inside.standard_error / scattered,
        };
        assert_within_four("beyond", found, published(beyond, 0.002 / 4.0));
    }
}

/// Diffusion theory (A. Ishimaru, *Wave Propagation and Scattering in Random Media* (1978), ch. 9;
/// derivation repeated here): a source one transport length l* deep in a matched slab without
/// absorption, with zero fluence at ze = 0.7104 l* outside each face, transmits with
/// ⟨r²⟩ = (2/3) (L² − a²), L = d + 2 ze, a = l* + ze. Corrections are of the order (l*/d)².
#[test]
fn a_thick_slab_spreads_as_diffusion_says() {
    let transport_mm = 0.1;
    let thickness_mm = 30.0 * transport_mm;
    let plate = stack(&[[1.0, 0.0, 1.0 / transport_mm, 0.0, thickness_mm]], 1);
    let variance = spread_of(&plate, 16).variance_m2();
    let beyond = 0.7104 * transport_mm;
    let whole = thickness_mm + 2.0 * beyond;
    let source = transport_mm + beyond;
    let expected = (whole * whole - source * source) / 3.0 * 1e-6;
    assert_within_four(
        "variance",
        variance,
        published(expected, 0.004 * expected / 4.0),
    );
}

/// G. Mazzamuto, L. Pattelli, C. Toninelli and D. S. Wiersma, arXiv 1509.04027 (2015), testing a
/// prediction of diffusion theory: the variance of the transmitted spot grows along the path at a
/// rate independent of absorption, ⟨r²⟩ = (4/3) l* × path. In steady state the mean path is
/// −∂ ln T / ∂µa, so ⟨r²⟩ against that path is a line of slope (4/3) l* for any absorption,
/// although ⟨r²⟩ itself falls: absorption removes the long paths, not the growth along them.
#[test]
fn spot_variance_grows_along_the_path_whatever_the_absorption() {
    let transport_mm: f64 = 0.1;
    let at = |mu_a: f64| {
        let plate = stack(&[[1.0, mu_a, 1.0 / transport_mm, 0.0, 1.0]], 1);
        let found = follow(&plate, 40);
        let squared_mm2 = found.spread.unwrap().variance_m2().scaled(2e6);
        (found.shares.transmitted, squared_mm2)
    };
    let step = 0.02;
    let path_and_square = |mu_a: f64| {
        let (less, _) = at(mu_a - step);
        let (more, _) = at(mu_a + step);
        let error = (less.standard_error / less.value).hypot(more.standard_error / more.value);
        let path = published(
            (less.value / more.value).ln() / (2.0 * step),
            error / (2.0 * step),
        );
        (path, at(mu_a).1)
    };
    let (path_0, square_0) = path_and_square(0.02);
    for mu_a in [0.1, 0.3] {
        let (path, square) = path_and_square(mu_a);
        assert!(square.value < square_0.value && path.value < path_0.value);
        let growth = 4.0 / 3.0 * transport_mm;
        let expected = path_0.value - path.value;
        let error = path_0.standard_error.hypot(path.standard_error) * growth;
        let found = published(
            square_0.value - square.value,
            square_0.standard_error.hypot(square.standard_error),
        );
        // Diffusion theory itself is good to about l*/d squared and µa l*: 5 % here.
        let theory = published(
            growth * expected,
            error.hypot(0.05 / 4.0 * growth * expected),
        );
        assert_within_four("growth", found, theory);
    }
}

/// What a user may rely on in a usual lid: absorption that takes a seventh of the light narrows the
/// spot by a tenth of that share at half height. The variance, which hangs on the few long paths,
/// falls by more than the light does: in steady state it is not independent of absorption.
#[test]
fn absorption_narrows_the_middle_of_the_spot_only_a_little() {
    let with = |mu_a: f64| {
        let lid = stack(&[[1.5, mu_a, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]], 1);
        let spread = spread_of(&lid, 32);
        let half = spread.width_m(Shape::TopHat, MM, WidthMeasure::HalfHeight);
        (
            spread.delivered.value,
            half.value,
            spread.variance_m2().value,
        )
    };
    let (clear, clear_width, clear_variance) = with(0.0);
    let (tinted, tinted_width, tinted_variance) = with(0.1);
    let lost = 1.0 - tinted / clear;
    let narrower = 1.0 - tinted_width / clear_width;
    let less_variance = 1.0 - tinted_variance / clear_variance;
    assert!(
        0.0 < narrower && narrower < 0.15 * lost,
        "{narrower} of {lost}"
    );
    assert!(lost < less_variance, "{less_variance} of {lost}");
}

#[test]
fn oblique_light_goes_over_into_normal_light() {
    let normal = run(&lid_on_body(), &settings(32)).unwrap();
    let nearly = Settings {
        incidence_rad: 1e-7,
        ..settings(32)
    };
    let nearly = run(&lid_on_body(), &nearly).unwrap();
    let pairs = [
        (nearly.shares.reflected, normal.shares.reflected),
        (nearly.shares.delivered, normal.shares.delivered),
        (
            nearly.shares.layers[0].absorbed,
            normal.shares.layers[0].absorbed,
        ),
    ];
    for (walked, exact) in pairs {
        assert_within_four("walked", walked, exact);
    }
    // Light that goes to the back and returns unscattered (2e-13) is too rare to be walked.
    let specular = nearly.shares.reflected_unscattered.value;
    assert_abs_diff_eq!(
        specular,
        normal.shares.reflected_unscattered.value,
        epsilon = 1e-9
    );
    let (walked, exact) = (nearly.spread.unwrap(), normal.spread.unwrap());
    assert_within_four("sharp", walked.sharp, exact.sharp);
    let (walked, exact) = (walked.top_hat_factor(MM, MM), exact.top_hat_factor(MM, MM));
    assert_within_four("top-hat", walked, exact);
}

/// Clear plate at 30°, closed form of a plate with absorption and unpolarised reflection at both
/// faces (n = 1.5: r = 0.041523 at 30°, from Snell's and Fresnel's laws).
#[test]
fn oblique_clear_plate() {
    let plate = stack(&[[1.5, 0.2, 0.0, 0.0, 2.0]], 1);
    let wanted = Settings {
        incidence_rad: 30f64.to_radians(),
        ..settings(32)
    };
    let found = run(&plate, &wanted).unwrap();
    let r = 0.041_523_5;
    let inside = (1.0 - (0.5f64 / 1.5).powi(2)).sqrt();
    let t = (-0.2 * 2.0 / inside).exp();
    let expected = (1.0 - r) * (1.0 - r) * t / (1.0 - r * r * t * t);
    assert_within_four(
        "T",
        found.shares.transmitted_unscattered,
        published(expected, 1e-6),
    );
    let through = found.spread.unwrap();
    assert_abs_diff_eq!(through.sharp.value, 1.0, epsilon = 1e-12);
    // What lands elsewhere has been reflected twice: r² t².
    let displaced = through.within(1e-6);
    assert_within_four(
        "first pass",
        displaced,
        Estimate::exact(1.0 - r * r * t * t),
    );
}

#[test]
fn no_scattering_is_no_spread() {
    let clear = stack(&[[1.5, 0.05, 0.0, 0.0, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]], 1);
    let spread = spread_of(&clear, 1);
    let exact = |estimate: Estimate, value: f64| {
        assert_abs_diff_eq!(estimate.value, value, epsilon = 1e-9);
        assert_abs_diff_eq!(estimate.standard_error, 0.0, epsilon = 1e-9);
    };
    exact(spread.sharp, 1.0);
    exact(spread.standard_deviation_m(), 0.0);
    exact(spread.top_hat_factor(MM, 0.3 * MM), 1.0);
    exact(spread.gaussian_factor(MM, 0.3 * MM), 1.0);
    exact(spread.energy_factor(Shape::Gaussian, MM), 1.0);
    let width = |shape, measure| spread.width_m(shape, 0.7, measure);
    exact(width(Shape::TopHat, WidthMeasure::HalfHeight), 0.7);
    exact(width(Shape::Gaussian, WidthMeasure::OneOverESquared), 0.7);
    let half = 0.7 * (0.5 * 2f64.ln()).sqrt();
    exact(width(Shape::Gaussian, WidthMeasure::HalfHeight), half);
    exact(width(Shape::Gaussian, WidthMeasure::SecondMoment), 0.7);
    exact(
        width(Shape::TopHat, WidthMeasure::SecondMoment),
        0.7 * 4.0 / 12f64.sqrt(),
    );
}

#[test]
fn line_spread_adds_up_and_has_the_variance() {
    let spread = spread_of(&lid_on_body(), 8);
    let edges_m = spread.edges_m(0.9999, 801);
    let line = spread.line_spread(&edges_m);
    let step = edges_m[1] - edges_m[0];
    let inside: f64 = line.density_per_m.iter().map(|it| it.value * step).sum();
    let whole = inside + line.below.value + line.above.value + line.sharp.value;
    assert_abs_diff_eq!(whole, 1.0, epsilon = 1e-9);
    assert_abs_diff_eq!(line.below.value, line.above.value, epsilon = 1e-12);
    assert!(line.below.value < 1e-4);
    // The second moment inside the edges, plus little outside.
    let variance: f64 = line
        .density_per_m
        .iter()
        .zip(&edges_m)
        .map(|(density, edge)| density.value * step * (edge + 0.5 * step).powi(2))
        .sum();
    let all = line.standard_deviation_m.value.powi(2);
    assert!(
        variance < all && 0.9 * all < variance,
        "{variance:e} of {all:e}"
    );
    let middle = line.density_per_m.len() / 2;
    let peak = line.density_per_m[middle].value;
    assert!(line.density_per_m.iter().all(|it| it.value <= peak));
}

/// The widened beam keeps power, peak irradiance and energy in the middle of the seam.
#[test]
fn the_widened_beam_keeps_power_peak_and_energy() {
    let spread = spread_of(&lid_on_body(), 8);
    for shape in [Shape::TopHat, Shape::Gaussian] {
        let beam = Beam {
            shape,
            length_m: 0.8 * MM,
            width_m: 1.7 * MM,
            power_w: 23.0,
        };
        let wide = spread.widened(&beam);
        let peak = spread.peak_factor(shape, beam.length_m, beam.width_m).value;
        let energy = spread.energy_factor(shape, beam.width_m).value;
        assert!(peak < energy && energy < 1.0);
        assert_eq!(wide.power_w, beam.power_w);
        assert_relative_eq!(
            wide.peak_irradiance_w_per_m2(),
            peak * beam.peak_irradiance_w_per_m2(),
            max_relative = 1e-12
        );
        assert_relative_eq!(
            wide.passage(0.05).fluence_j_per_m2(),
            energy * beam.passage(0.05).fluence_j_per_m2(),
            max_relative = 1e-12
        );
    }
}

/// Displacements along and across the seam are not independent, so factors are not products.
#[test]
fn the_spread_is_not_separable() {
    let spread = spread_of(&lid_on_body(), 8);
    let across = spread.energy_factor(Shape::TopHat, MM).value;
    let square = spread.top_hat_factor(MM, MM).value;
    assert!(
        across * across < 0.85 * square,
        "{} {square}",
        across * across
    );
}

/// Plausibility: more scattering and more thickness spread more; a wide beam loses less at its
/// middle; width at half height never shrinks.
#[test]
fn spread_follows_the_trend_an_engineer_expects() {
    let factor = |mu_s: f64, mm: f64, beam_mm: f64| {
        let lid = stack(&[[1.5, 0.05, mu_s, 0.8, mm], [1.5, 10.0, 0.0, 0.0, 1.0]], 1);
        let spread = spread_of(&lid, 4);
        let half = spread.width_m(Shape::TopHat, beam_mm * MM, WidthMeasure::HalfHeight);
        assert!(beam_mm * MM * 0.98 < half.value, "{half:?}");
        spread.top_hat_factor(beam_mm * MM, beam_mm * MM).value
    };
    assert!(factor(4.0, 1.5, 2.0) < factor(2.0, 1.5, 2.0));
    assert!(factor(2.0, 3.0, 2.0) < factor(2.0, 1.5, 2.0));
    assert!(factor(2.0, 1.5, 2.0) < factor(2.0, 1.5, 5.0));
}

/// scipy.special.i0e 1.17.1.
#[test]
fn bessel_function_agrees_with_tables() {
    for (x, expected) in [
        (0.0, 1.0),
        (0.3, 0.757_580_625_182_548_1),
        (1.7, 0.340_515_687_982_470_9),
        (3.7499, 0.214_460_200_164_008_85),
        (3.76, 0.214_142_872_424_759_7),
        (7.0, 0.153_737_744_672_881_23),
        (40.0, 0.063_278_279_875_235_32),
        (1100.0, 0.012_029_929_918_995_921),
    ] {
        assert_relative_eq!(scaled_bessel_i0(x), expected, max_relative = 3e-7);
    }
}

/// The circle averages of `profile` against the beam's profile summed over 200 000 directions.
#[test]
fn circle_averages_are_averages_over_directions() {
    let (length_m, width_m) = (0.8 * MM, 1.9 * MM);
    for r_mm in [0.1, 0.39, 0.41, 0.7, 0.96, 1.02, 1.1, 3.0] {
        let r = r_mm * MM;
        let count = 200_000;
        let (mut inside, mut gaussian) = (0.0, 0.0);
        for step in 0..count {
            let angle = (f64::from(step) + 0.5) / f64::from(count) * std::f64::consts::TAU;
            let (x, y) = (r * angle.cos(), r * angle.sin());
            if x.abs() <= 0.5 * length_m && y.abs() <= 0.5 * width_m {
                inside += 1.0;
            }
            gaussian += (-8.0 * ((x / length_m).powi(2) + (y / width_m).powi(2))).exp();
        }
        let top_hat = at_middle(Shape::TopHat, length_m, width_m, r);
        assert_abs_diff_eq!(top_hat, inside / f64::from(count), epsilon = 1e-4);
        let found = at_middle(Shape::Gaussian, length_m, width_m, r);
        assert_abs_diff_eq!(found, gaussian / f64::from(count), epsilon = 3e-7);
    }
}
