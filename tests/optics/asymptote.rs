//! Deep inside a scattering medium light dies exponentially, whatever its surface.
//!
//! Source of the published constants: L. Wang and S. L. Jacques, manual of MCML (1992), semi-infinite
//! medium, µa = 0.1, µs = 100 1/cm, g = 0.9: 1.73 1/cm for n = 1 and 1.74 1/cm for n = 1.37 (fits to
//! Monte Carlo fluence beyond one transport length).

use lightseam::optics::adding_doubling::Incidence;
use lightseam::optics::photon_monte_carlo::{Settings, run};
use lightseam::optics::slab::Stack;

use super::published::{slab, standard};

const MU_A: f64 = 0.1;
const MU_S: f64 = 100.0;
const G: f64 = 0.9;

/// Absorbed light of 1 cm of the medium at two depths, as a decay constant, 1/cm.
fn decay_of_adding_doubling(n: f64) -> f64 {
    let medium = slab(n, 80.0, [0.1 * MU_A, 0.1 * MU_S, G]);
    let light = standard(&Stack::alone(medium), Incidence::Normal).absorbed;
    let edges: Vec<f64> = (0..=8).map(|i| 1e-2 * f64::from(i)).collect();
    let shares = light.layers[0].between(&edges);
    // From 1 to 2 cm against 3 to 4 cm: ten and thirty transport lengths deep.
    (shares[1] / shares[3]).ln() / 2.0
}

/// The exact decay constant, 1/cm: the root of the continued fraction of the moments of radiance,
/// h_l = (2l + 1) (1 − a gˡ) (S. Chandrasekhar, *Radiative Transfer*, 1960, sec. 48, from memory).
fn exact_decay() -> f64 {
    let total = MU_A + MU_S;
    let h = |l: i32| f64::from(2 * l + 1) * (1.0 - MU_S / total * G.powi(l));
    let fraction = |k: f64| {
        let mut tail = h(60);
        for l in (1..60).rev() {
            tail = h(l) - (k * f64::from(l + 1)).powi(2) / tail;
        }
        h(0) - k * k / tail
    };
    let (mut low, mut high) = (0.0, 0.1);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if 0.0 < fraction(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high) * total
}

#[test]
fn decay_constant_of_adding_doubling() {
    let exact = exact_decay();
    // Diffusion theory, √(3 µa (µa + µs')) = 1.741 1/cm, is a little high.
    assert!((1.730..1.741).contains(&exact), "{exact}");
    for (n, published) in [(1.0, 1.73), (1.37, 1.74)] {
        let found = decay_of_adding_doubling(n);
        assert!(
            (found / exact - 1.0).abs() < 2e-4,
            "n = {n}: {found} {exact}"
        );
        assert!((found - published).abs() < 0.01, "n = {n}: {found}");
    }
}

#[test]
fn decay_constant_of_photons() {
    let exact = exact_decay();
    for n in [1.0, 1.37] {
        // 4 cm in bins of 1 mm; the interface is the last face.
        let stack = Stack {
            lower: 1,
            ..Stack::alone(slab(n, 40.0, [0.1 * MU_A, 0.1 * MU_S, G]))
        };
        let settings = Settings {
            photons: 32_768,
            seed: 3,
            depth_bins: 40,
            ..Settings::standard()
        };
        let shares = run(&stack, &settings).unwrap().shares;
        // Weighted line through ln(share) from 0.3 to 2 cm.
        let points: Vec<(f64, f64, f64)> = (3..20)
            .map(|i| {
                let bin = shares.layers[0].bins[i];
                let relative = bin.standard_error / bin.value;
                (0.1 * (i as f64 + 0.5), bin.value.ln(), relative.powi(-2))
            })
            .collect();
        let sum = |of: &dyn Fn(&(f64, f64, f64)) -> f64| points.iter().map(of).sum::<f64>();
        let weight = sum(&|it| it.2);
        let (x, y) = (
            sum(&|it| it.2 * it.0) / weight,
            sum(&|it| it.2 * it.1) / weight,
        );
        let spread = sum(&|it| it.2 * (it.0 - x).powi(2));
        let slope = -sum(&|it| it.2 * (it.0 - x) * (it.1 - y)) / spread;
        let error = 1.0 / spread.sqrt();
        assert!(error < 0.03 * slope, "no teeth: {error}");
        assert!(
            (slope - exact).abs() < 4.0 * error,
            "n = {n}: {slope} ± {error}"
        );
    }
}
