//! Neumann's melting front: the worst case, since it melts over one kelvin.
//!
//! Source: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed. (1959), sec. 11.2
//! (from memory). The front lies at 2 λ √(α_l t).

use std::f64::consts::PI;
use std::sync::Arc;

use crate::error::Error;
use crate::heat::Settings;
use crate::material::thermal::{LatentHeat, Thermal};
use crate::numerics::interpolate::PiecewiseLinear;
use crate::study::validation::exact_heat::{body, column, dying, plain, posed, pulse, solve};
use crate::study::validation::table::Worst;
use crate::study::validation::{Check, Finding, Kind, Stage, Validation};
use crate::units::MM;

const MELTING_K: f64 = 490.0;
const WALL_K: f64 = 600.0;
const RHO: f64 = 1050.0;
const TIME_S: f64 = 2.5;

/// Conductivity and specific heat, solid and liquid, and heat of melting.
struct Substance {
    k: [f64; 2],
    cp: [f64; 2],
    latent_j_per_kg: f64,
}

/// One and two phases, at standard and at fine settings.
///
/// # Errors
/// A column is refused.
pub fn checks() -> Result<Validation, Error> {
    let cases = [
        (
            Substance {
                k: [0.22, 0.22],
                cp: [2300.0, 2300.0],
                latent_j_per_kg: 1.1e5,
            },
            MELTING_K - 0.5,
        ),
        (
            Substance {
                k: [0.36, 0.21],
                cp: [1700.0, 2500.0],
                latent_j_per_kg: 0.9e5,
            },
            350.0,
        ),
    ];
    let mut usual = Worst::default();
    let mut fine = Worst::default();
    for (substance, start_k) in &cases {
        let alpha = substance.k[1] / (RHO * substance.cp[1]);
        let exact_m = 2.0 * substance.lambda(*start_k) * (alpha * TIME_S).sqrt();
        usual.compare_relative(substance.depth_m(*start_k, &Settings::standard())?, exact_m);
        fine.compare_relative(substance.depth_m(*start_k, &Settings::fine())?, exact_m);
    }
    let finding = Finding {
        stage: Stage::Heat,
        what: "depth of a front that melts over 1 K (Stefan and Neumann)",
        theirs: "2 λ √(α t), exact",
        ours: format!(
            "{:.1} % off at the standard settings, {:.2} % at fine ones",
            100.0 * usual.deviation,
            100.0 * fine.deviation
        ),
        remark: "A front narrower than a cell is known to half a cell. Polymers melt over 10 to 30 K \
                 and more, where the reference joints above hold.",
    };
    let check = |worst: Worst, what: &'static str, limit: f64| Check {
        stage: Stage::Heat,
        what,
        kind: Kind::ClosedForm,
        source: "Carslaw and Jaeger, sec. 11.2 (from memory)",
        values: worst.values,
        deviation: worst.deviation,
        limit,
        unit: "relative",
    };
    Ok(Validation {
        checks: vec![
            check(usual, "depth of a front that melts over 1 K", 0.1),
            check(fine, "the same at fine settings", 0.025),
        ],
        findings: vec![finding],
    })
}

impl Substance {
    fn thermal(&self) -> Thermal {
        let line = |y: [f64; 2]| {
            let at = vec![MELTING_K - 0.5, MELTING_K + 0.5];
            posed(
                PiecewiseLinear::new(at, y.to_vec())
                    .unwrap_or_else(|_| PiecewiseLinear::constant(f64::NAN)),
            )
        };
        Thermal {
            conductivity_w_per_m_k: line(self.k),
            specific_heat_j_per_kg_k: line(self.cp),
            latent_heat: Some(posed(LatentHeat {
                heat_j_per_kg: self.latent_j_per_kg,
                from_k: MELTING_K - 0.5,
                to_k: MELTING_K + 0.5,
            })),
            flow_temperature_k: posed(MELTING_K),
            ..plain(RHO, 1.0, 1.0)
        }
    }

    /// λ by bisection of Neumann's equation.
    fn lambda(&self, start_k: f64) -> f64 {
        let [ks, kl] = self.k;
        let [cs, cl] = self.cp;
        let ratio = ((kl / cl) / (ks / cs)).sqrt();
        let over = WALL_K - MELTING_K;
        let drop = (MELTING_K - start_k) / over;
        let f = |x: f64| {
            let solid =
                ks / kl * ratio * drop * (-(x * ratio).powi(2)).exp() / libm::erfc(x * ratio);
            (-x * x).exp() / libm::erf(x)
                - solid
                - x * self.latent_j_per_kg * PI.sqrt() / (cl * over)
        };
        let (mut low, mut high) = (1e-6, 5.0);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if 0.0 < f(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Melt depth against a wall that stays hot.
    fn depth_m(&self, start_k: f64, settings: &Settings) -> Result<f64, Error> {
        // A wall of such conductivity and capacity does not cool.
        let wall = Arc::new(plain(1e5, 1e5, 1e5));
        let thermal = Arc::new(self.thermal());
        let settings = Settings {
            longest_s: 0.99 * TIME_S,
            ..settings.clone()
        };
        let history = solve(
            column(
                [
                    body(&wall, 5.0 * MM, 0, WALL_K),
                    body(&thermal, 6.0 * MM, 1, start_k),
                ],
                dying([10.0, 10.0], [5.0 * MM, 6.0 * MM]),
                pulse(0.0, 0.01 * TIME_S),
                0.0,
            ),
            &settings,
        )?;
        Ok(history.lower_melt_depth_m)
    }
}
