//! Two fluxes against the closed forms of Kubelka and Munk, and against adding-doubling.

use lightseam::optics::adding_doubling::Incidence;
use lightseam::optics::fresnel::Boundary;
use lightseam::optics::slab::{Slab, Stack};
use lightseam::optics::two_flux::{Coefficients, diffuse_reflectance};
use lightseam::optics::{ENERGY_TOLERANCE, Method, absorb, beer_lambert};

use super::published::{slab, stack, standard};

fn two_flux(stack: &Stack) -> lightseam::optics::Absorbed {
    absorb(stack, Method::TwoFlux).unwrap()
}

#[test]
fn closed_forms() {
    let one = slab(1.0, 2.0, [0.1, 6.0, 0.5]);
    let coefficients = Coefficients::of(&one);
    // K = 2 µa, S = ¾ µs' − ¼ µa, per m.
    assert_eq!(coefficients.absorption_per_m, 200.0);
    assert!((coefficients.backscattering_per_m - (2250.0 - 25.0)).abs() < 1e-9);
    // Reflectivity of an infinite layer: K/S = (1 − R)² / (2 R).
    let deep = coefficients.slice(10.0).reflect;
    let ratio = (1.0 - deep).powi(2) / (2.0 * deep);
    assert!((ratio - 200.0 / 2225.0).abs() < 1e-12);
    // Without absorption R = S h / (1 + S h); the limit K → 0 joins on.
    let pale = Coefficients {
        absorption_per_m: 0.0,
        backscattering_per_m: 700.0,
    };
    assert!((pale.slice(1e-3).reflect - 0.7 / 1.7).abs() < 1e-15);
    let nearly = Coefficients {
        absorption_per_m: 1e-6,
        ..pale
    };
    assert!((nearly.slice(1e-3).reflect - 0.7 / 1.7).abs() < 1e-8);
    // Two slices are one of double thickness.
    let (half, whole) = (coefficients.slice(4e-4), coefficients.slice(8e-4));
    let through = half.through.powi(2) / (1.0 - half.reflect.powi(2));
    assert!((through - whole.through).abs() < 1e-14);
}

#[test]
fn diffuse_light_at_a_face() {
    // W. E. Walsh's value for n = 1.5 from outside is 0.092, from inside 0.596 (common tables).
    let outside = diffuse_reflectance(Boundary {
        n_from: 1.0,
        n_into: 1.5,
    });
    let inside = diffuse_reflectance(Boundary {
        n_from: 1.5,
        n_into: 1.0,
    });
    assert!((outside - 0.0918).abs() < 2e-4, "{outside}");
    assert!((inside - 0.5964).abs() < 2e-4, "{inside}");
    let matched = Boundary {
        n_from: 1.5,
        n_into: 1.5,
    };
    assert!(diffuse_reflectance(matched) < 1e-15);
}

#[test]
fn clear_stacks_are_beer_lambert() {
    let clear = stack(vec![
        slab(1.5, 2.0, [0.03, 0.0, 0.0]),
        Slab::air(1e-5),
        slab(1.55, 1.0, [4.0, 0.0, 0.0]),
    ]);
    assert_eq!(two_flux(&clear), beer_lambert::absorb(&clear));
}

#[test]
fn light_adds_up_in_mixed_stacks() {
    let hazy = slab(1.5, 2.0, [0.05, 20.0, 0.9]);
    let pale = slab(1.6, 0.5, [0.0, 3.0, 0.0]);
    let black = slab(1.53, 3.0, [25.0, 0.0, 0.0]);
    let glass = Slab {
        thickness_m: 5e-3,
        ..slab(1.52, 5.0, [0.01, 0.0, 0.0])
    };
    for slabs in [
        vec![hazy],
        vec![hazy, black],
        vec![glass, hazy, black],
        vec![glass, Slab::air(1e-5), hazy, Slab::air(1e-5), black],
        vec![glass, pale, hazy, black],
        vec![black, hazy],
        vec![pale],
    ] {
        let got = two_flux(&stack(slabs.clone()));
        assert!(
            got.energy_residual().abs() < 1e-3 * ENERGY_TOLERANCE,
            "{slabs:?}"
        );
        for (layer, slab) in got.layers.iter().zip(&slabs) {
            let edges: Vec<f64> = (0..=30)
                .map(|i| f64::from(i) / 30.0 * slab.thickness_m)
                .collect();
            assert!(layer.between(&edges).iter().all(|share| -1e-13 < *share));
        }
    }
}

/// Largest differences of R and T in air, and largest relative difference of the flux delivered to a
/// black lower part in contact.
fn against_adding_doubling(mu_a_over_mu_s: f64, lengths: &[f64], g: f64) -> [f64; 2] {
    let (mut totals, mut delivered) = (0.0_f64, 0.0_f64);
    for &length in lengths {
        let mu_s_reduced = length / 2.0;
        let mu = [mu_a_over_mu_s * mu_s_reduced, mu_s_reduced / (1.0 - g), g];
        for n in [1.0, 1.5] {
            let plaque = stack(vec![slab(n, 2.0, mu)]);
            let exact = standard(&plaque, Incidence::Normal).absorbed;
            let fast = two_flux(&plaque);
            totals = totals.max((fast.reflected - exact.reflected).abs());
            totals = totals.max((fast.transmitted - exact.transmitted).abs());
            let joint = stack(vec![slab(n, 2.0, mu), slab(n, 3.0, [12.0, 0.0, 0.0])]);
            let exact = standard(&joint, Incidence::Normal).absorbed;
            let ratio = two_flux(&joint).delivered_to_interface() / exact.delivered_to_interface();
            delivered = delivered.max((ratio - 1.0).abs());
        }
    }
    [totals, delivered]
}

#[test]
fn agrees_in_its_regime_and_says_how_far() {
    // Several scattering lengths and little absorption: the range stated on the front page.
    for g in [0.0, 0.9] {
        let [totals, delivered] = against_adding_doubling(0.02, &[3.0, 6.0, 12.0], g);
        assert!(
            totals < 0.09 && delivered < 0.25,
            "{g}: {totals} {delivered}"
        );
        // Thicker and paler is better, since the beam takes a scattering length to become diffuse.
        let [totals, _] = against_adding_doubling(0.005, &[10.0, 30.0], g);
        assert!(totals < 0.06, "{g}: {totals}");
        // Outside it: a thin haze passes the beam, a strong absorber kills the delivered light.
        let [totals, _] = against_adding_doubling(0.1, &[0.5], g);
        assert!(0.15 < totals && totals < 0.25, "{g}: {totals}");
        let [_, delivered] = against_adding_doubling(1.0, &[3.0], g);
        assert!(0.5 < delivered, "{g}: {delivered}");
    }
}

#[test]
fn diffuse_light_on_a_matched_slab_is_the_case_it_was_made_for() {
    // Without faces and with diffuse light the two fluxes are adding-doubling's own totals URU and
    // UTU within 0.03 of the incident light.
    for length in [0.5, 2.0, 6.0, 20.0] {
        for mu_a_over_mu_s in [0.0, 0.01, 0.1] {
            let mu_s = length / 1.3;
            let one = slab(1.0, 1.3, [mu_a_over_mu_s * mu_s, mu_s, 0.0]);
            let exact = standard(&stack(vec![one]), Incidence::Diffuse).absorbed;
            let fast = Coefficients::of(&one).slice(one.thickness_m);
            let worst = (fast.reflect - exact.reflected)
                .abs()
                .max((fast.through - exact.transmitted).abs());
            assert!(worst < 0.03, "{length} {mu_a_over_mu_s}: {worst}");
        }
    }
}

/// Stacks A and C of the scattering joints in `welding_stacks` of `published.rs`: upper µa, µs, g and
/// lower µa in 1/mm, both 2 mm thick, n = 1.5.
#[test]
fn light_in_a_clear_lower_part_dies_as_it_should() {
    for (upper, mu_a) in [([0.05, 20.0, 0.9], 10.0), ([0.05, 40.0, 0.9], 25.0)] {
        let joint = stack(vec![
            slab(1.5, 2.0, upper),
            slab(1.5, 2.0, [mu_a, 0.0, 0.0]),
        ]);
        let exact = standard(&joint, Incidence::Normal).absorbed;
        let fast = two_flux(&joint);
        let left = |light: &lightseam::optics::Absorbed, depth_mm: f64| {
            1.0 - light.layers[1].cumulative(1e-3 * depth_mm) / light.layers[1].total()
        };
        let mut worst = 0.0_f64;
        for i in 1..=60 {
            let depth_mm = 0.05 * f64::from(i) / mu_a;
            worst = worst.max((left(&fast, depth_mm) - left(&exact, depth_mm)).abs());
        }
        assert!(worst < 0.01, "{mu_a}: {worst}");
        // K = 2 µa all the way down, as for isotropic light, would be this far off.
        let depth_mm = 0.5 / mu_a;
        assert!(0.08 < left(&exact, depth_mm) - (-1.0_f64).exp());
    }
}

/// A little scattering in the lower part changes a little.
#[test]
fn a_lower_part_may_scatter_a_little() {
    for mu_s_reduced in [0.0, 1.0, 2.5, 3.0, 3.5, 6.0, 20.0] {
        let joint = stack(vec![
            slab(1.5, 2.0, [0.05, 20.0, 0.9]),
            slab(1.5, 2.0, [9.0, 2.0 * mu_s_reduced, 0.5]),
        ]);
        let exact = standard(&joint, Incidence::Normal).absorbed;
        let fast = two_flux(&joint);
        let left = |light: &lightseam::optics::Absorbed, depth_mm: f64| {
            1.0 - light.layers[1].cumulative(1e-3 * depth_mm) / light.layers[1].total()
        };
        let mut worst = 0.0_f64;
        for i in 1..=40 {
            let depth_mm = 0.01 * f64::from(i);
            worst = worst.max((left(&fast, depth_mm) - left(&exact, depth_mm)).abs());
        }
        // Found 0.005 where it is clear, 0.05 at µs' just above µa/3, 0.024 at twice µa.
        let allowed = if mu_s_reduced <= 3.0 { 0.015 } else { 0.055 };
        assert!(worst < allowed, "{mu_s_reduced}: {worst}");
    }
}
