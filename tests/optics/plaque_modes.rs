//! Plaques by eigenmodes give what doubling gives.

use lightseam::material::optical::OpticalConstants;
use lightseam::optics::adding_doubling::{Incidence, Ordinates, Resolution, totals};
use lightseam::optics::{Slab, Stack};

fn by_doubling(n: f64, [mu_a, mu_s]: [f64; 2], g: f64, thickness_m: f64) -> [f64; 4] {
    let stack = Stack::alone(Slab {
        thickness_m,
        constants: OpticalConstants {
            n,
            mu_a_per_m: mu_a,
            mu_s_per_m: mu_s,
            g,
        },
    });
    let it = totals(&stack, Incidence::Normal, Resolution::standard()).unwrap();
    let unscattered = [it.reflected_unscattered, it.transmitted_unscattered];
    [it.reflected, it.transmitted, unscattered[0], unscattered[1]]
}

fn by_modes(n: f64, [mu_a, mu_s]: [f64; 2], g: f64, thicknesses_m: &[f64]) -> Vec<[f64; 4]> {
    let ordinates = Ordinates::new(n, g, Resolution::standard()).unwrap();
    let modes = ordinates.modes(mu_a, mu_s);
    let of = |&thickness_m: &f64| {
        let it = modes.totals(thickness_m).unwrap();
        let unscattered = [it.reflected_unscattered, it.transmitted_unscattered];
        [it.reflected, it.transmitted, unscattered[0], unscattered[1]]
    };
    thicknesses_m.iter().map(of).collect()
}

/// Doubling begins with an approximation good to 1e-6 in the flattest direction.
const AGREEMENT: f64 = 2e-7;

#[test]
fn any_plaque_as_by_doubling() {
    let thicknesses_m = [2e-5, 1e-3, 2e-3, 7e-3];
    for n in [1.0, 1.1, 1.49, 1.59, 2.2] {
        for g in [-0.3, 0.0, 0.6, 0.9, 0.97] {
            for mu_a in [0.0, 1e-3, 30.0, 900.0, 2e4] {
                for mu_s in [1e-3, 40.0, 1e3, 2e4, 3e5] {
                    let coefficients = [mu_a, mu_s];
                    let all = by_modes(n, coefficients, g, &thicknesses_m);
                    for (found, thickness_m) in all.iter().zip(thicknesses_m) {
                        let expected = by_doubling(n, coefficients, g, thickness_m);
                        for (a, b) in found.iter().zip(expected) {
                            assert!(
                                (a - b).abs() < AGREEMENT,
                                "n {n} g {g} {coefficients:?} {thickness_m}: {found:?} {expected:?}"
                            );
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn nothing_is_lost_where_nothing_absorbs() {
    for mu_s in [1.0, 1e3, 1e5] {
        for [reflected, transmitted, ..] in by_modes(1.49, [0.0, mu_s], 0.9, &[1e-4, 1e-3, 5e-3]) {
            let sum = reflected + transmitted;
            assert!((sum - 1.0).abs() < 1e-9, "{mu_s}: {sum}");
        }
    }
}

#[test]
fn without_scattering_and_beyond_the_limit_doubling_answers() {
    let cases = [([50.0, 0.0], 1e-3), ([0.1, 5e6], 2e-3)];
    for (coefficients, thickness_m) in cases {
        let found = by_modes(1.5, coefficients, 0.8, &[thickness_m])[0];
        assert_eq!(found, by_doubling(1.5, coefficients, 0.8, thickness_m));
    }
    assert!(Ordinates::new(0.5, 0.0, Resolution::standard()).is_err());
    let ordinates = Ordinates::new(1.5, 0.0, Resolution::standard()).unwrap();
    assert!(ordinates.modes(1.0, 1e3).totals(0.0).is_err());
    assert!(ordinates.modes(f64::NAN, 1e3).totals(1e-3).is_err());
}
