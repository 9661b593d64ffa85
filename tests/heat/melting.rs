//! Melting: Stefan's and Neumann's problems, and no oscillation as the front passes.
//!
//! Source: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed. (1959), sec. 11.2
//! (from memory). The front lies at 2 λ √(α_l t).

use std::f64::consts::PI;
use std::sync::Arc;

use lightseam::heat::{Body, Settings, run};
use lightseam::material::Thermal;
use lightseam::material::thermal::LatentHeat;
use lightseam::numerics::interpolate::PiecewiseLinear;

use crate::heat::joints::{
    Dice, beer_lambert, body, plain, pulse, random_joint, sourced, two_layers,
};

const MELTING_K: f64 = 490.0;
const WALL_K: f64 = 600.0;
const RHO: f64 = 1050.0;

/// A substance that melts within 1 K around `MELTING_K`.
struct Substance {
    /// Conductivity, solid and liquid, W/(m K).
    k: [f64; 2],
    /// Specific heat, solid and liquid, J/(kg K).
    cp: [f64; 2],
    /// J/kg.
    latent: f64,
}

impl Substance {
    fn thermal(&self) -> Thermal {
        let at = vec![MELTING_K - 0.5, MELTING_K + 0.5];
        let line = |y: [f64; 2]| sourced(PiecewiseLinear::new(at.clone(), y.to_vec()).unwrap());
        Thermal {
            conductivity_w_per_m_k: line(self.k),
            specific_heat_j_per_kg_k: line(self.cp),
            latent_heat: Some(sourced(LatentHeat {
                heat_j_per_kg: self.latent,
                from_k: MELTING_K - 0.5,
                to_k: MELTING_K + 0.5,
            })),
            flow_temperature_k: sourced(MELTING_K),
            ..plain(RHO, 1.0, 1.0)
        }
    }

    /// λ by bisection of Neumann's equation.
    fn lambda(&self, start_k: f64) -> f64 {
        let [ks, kl] = self.k;
        let [cs, cl] = self.cp;
        let ratio = ((kl / cl) / (ks / cs)).sqrt();
        let drop = (MELTING_K - start_k) / (WALL_K - MELTING_K);
        let f = |x: f64| {
            let solid =
                ks / kl * ratio * drop * (-(x * ratio).powi(2)).exp() / libm::erfc(x * ratio);
            (-x * x).exp() / libm::erf(x)
                - solid
                - x * self.latent * PI.sqrt() / (cl * (WALL_K - MELTING_K))
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

    /// Melt depth after `time_s` against a wall that stays at `WALL_K`.
    fn depth_m(&self, start_k: f64, time_s: f64, settings: &Settings) -> f64 {
        // A wall of such conductivity and capacity does not cool.
        let wall = Arc::new(plain(1e5, 1e5, 1e5));
        let thermal = Arc::new(self.thermal());
        let start = |body: Body, initial_k: f64| Body { initial_k, ..body };
        let mut column = two_layers(
            [
                start(body(&wall, 5e-3, 0), WALL_K),
                start(body(&thermal, 6e-3, 1), start_k),
            ],
            beer_lambert([10.0, 10.0], [5e-3, 6e-3]),
            pulse(0.0, 0.01 * time_s),
        );
        column.laser_side.coefficient_w_per_m2_k = 0.0;
        column.far_side.coefficient_w_per_m2_k = 0.0;
        let settings = Settings {
            longest_s: 0.99 * time_s,
            ..settings.clone()
        };
        let history = run(&[column], &settings).remove(0).unwrap();
        assert!((history.end_s / time_s - 1.0).abs() < 1e-9);
        history.lower_melt_depth_m
    }
}

/// A front narrower than a cell is known to half a cell, and cells grow with the depth: by a fifth
/// of it at the standard settings, a twentieth at fine ones. Melting over 1 K is the worst case;
/// polymers melt over 10 to 30 K and more.
const STANDARD: f64 = 0.1;
const FINE: f64 = 0.025;

fn check(substance: &Substance, start_k: f64) {
    let time_s = 2.5;
    let alpha = substance.k[1] / (RHO * substance.cp[1]);
    let exact = 2.0 * substance.lambda(start_k) * (alpha * time_s).sqrt();
    for (settings, share) in [(Settings::standard(), STANDARD), (Settings::fine(), FINE)] {
        let found = substance.depth_m(start_k, time_s, &settings);
        assert!(
            (found / exact - 1.0).abs() < share,
            "{found:e} against {exact:e}"
        );
    }
}

#[test]
fn one_phase() {
    let substance = Substance {
        k: [0.22, 0.22],
        cp: [2300.0, 2300.0],
        latent: 1.1e5,
    };
    check(&substance, MELTING_K - 0.5);
}

#[test]
fn two_phases_with_different_properties() {
    let substance = Substance {
        k: [0.36, 0.21],
        cp: [1700.0, 2500.0],
        latent: 0.9e5,
    };
    check(&substance, 350.0);
}

/// After the light has gone, and outside the light during it, temperatures at the hottest place
/// go one way: a jitter of the step from one node to the next would show as turns.
const JITTER_K: f64 = 0.3;

#[test]
fn no_oscillation_as_the_front_passes() {
    let mut dice = Dice(77);
    let joints: Vec<_> = (0..40).map(|_| random_joint(&mut dice)).collect();
    let settings = Settings {
        record: true,
        ..Settings::standard()
    };
    for (joint, history) in joints.iter().zip(run(&joints, &settings)) {
        let record = history.unwrap().record.unwrap();
        let dwell = joint.exposure.dwell_s;
        let lit = record.time_s.iter().position(|&t| dwell <= t).unwrap();
        // The lower side of the interface rises while the light is on and the part is heated …
        let lower = &record.interface_lower_k;
        for pair in lower[..=lit].windows(2) {
            assert!(pair[0] - JITTER_K < pair[1], "{pair:?}");
        }
        // … and the highest temperature anywhere falls from then on.
        let highest: Vec<f64> = record.temperature_k[lit..]
            .iter()
            .map(|row| row.iter().copied().fold(0.0, f64::max))
            .collect();
        for pair in highest.windows(2) {
            assert!(pair[1] < pair[0] + JITTER_K, "{pair:?}");
        }
    }
}
