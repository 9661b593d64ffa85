//! Effective extinction of plaques: closed form, inversion, misfit.

use std::fs;
use std::path::Path;

use approx::assert_relative_eq;
use lightseam::material::optical::{OpticalConstants, Reading, absorption_per_m};
use lightseam::material::plaque::Geometry;
use lightseam::material::{Plaque, Sourced, Spectrum, Status};
use lightseam::optics::plaque::{effective_extinction, slab_extinction_per_m, slab_transmittance};
use lightseam::optics::{Slab, Stack, beer_lambert};

fn plaque(thickness_m: f64, points: &[(f64, f64)]) -> Plaque {
    let (wavelength_m, value) = points.iter().copied().unzip();
    Plaque {
        name: format!("{} mm", thickness_m * 1e3),
        thickness_m,
        geometry: Geometry::Total,
        transmittance: Spectrum::table("transmittance", wavelength_m, value).unwrap(),
        reflectance: None,
    }
}

/// Transmittance of two thicknesses of a plastic of index 1.53 and extinction 300 … 900 1/m.
fn clear(thickness_m: f64) -> Plaque {
    let points: Vec<(f64, f64)> = (0..7)
        .map(|i| {
            let mu_per_m = 300.0 + 100.0 * f64::from(i);
            let wavelength_m = (900.0 + 20.0 * f64::from(i)) * 1e-9;
            (
                wavelength_m,
                slab_transmittance(1.53, mu_per_m, thickness_m),
            )
        })
        .collect();
    plaque(thickness_m, &points)
}

#[test]
fn closed_form_agrees_with_an_independent_library() {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published/slab-normal-incidence.csv");
    let text = fs::read_to_string(path).unwrap();
    let mut compared = 0;
    for line in text.lines().filter(|it| !it.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let value = |at: usize| cells[at].parse::<f64>().unwrap();
        let mu_per_m = absorption_per_m(value(3), value(1) * 1e-9);
        let computed = slab_transmittance(value(2), mu_per_m, value(4) * 1e-3);
        assert!((computed - value(6)).abs() < 2e-6, "{line}: {computed}");
        let back = slab_extinction_per_m(value(2), value(6), value(4) * 1e-3);
        // dµ = dT / (T d): 2e-6 of light through 2 mm is 2e-3 1/m.
        assert!((back - mu_per_m).abs() < 3e-3 / value(6), "{line}: {back}");
        compared += 1;
    }
    assert!(20 <= compared, "{compared}");
}

#[test]
fn closed_form_agrees_with_the_stack_of_beer_lambert() {
    for (n, mu_per_m, thickness_m) in [(1.0, 700.0, 3e-3), (1.49, 0.0, 2e-3), (1.7, 1100.0, 0.7e-3)]
    {
        let slab = Slab {
            thickness_m,
            constants: OpticalConstants {
                n,
                mu_a_per_m: mu_per_m,
                mu_s_per_m: 0.0,
                g: 0.0,
            },
        };
        // A second layer of air reflects nothing and leaves the slab alone in air.
        let stack = Stack::contact(slab, Slab::air(1e-3));
        let shares = beer_lambert::absorb(&stack);
        assert_relative_eq!(
            slab_transmittance(n, mu_per_m, thickness_m),
            shares.transmitted,
            max_relative = 1e-13
        );
    }
}

#[test]
fn one_thickness_is_met_exactly() {
    let found = effective_extinction(&[clear(1.7e-3)], &Spectrum::constant(1.53)).unwrap();
    assert_eq!(found.thicknesses, 1);
    assert!(found.largest_residual() < 1e-12);
    assert_relative_eq!(
        found.absorption.at("µ", 960e-9).unwrap(),
        600.0,
        max_relative = 1e-9
    );
    assert!(
        found
            .residual
            .iter()
            .all(|it| !it.above_faces && !it.below_dark_level)
    );
}

#[test]
fn several_thicknesses_of_one_extinction_leave_nothing_over() {
    let plaques = [clear(0.8e-3), clear(1.7e-3), clear(4e-3)];
    let found = effective_extinction(&plaques, &Spectrum::constant(1.53)).unwrap();
    assert_eq!(found.thicknesses, 3);
    assert!(
        found.largest_residual() < 1e-10,
        "{}",
        found.largest_residual()
    );
    assert!(found.rms_residual() <= found.largest_residual());
    for (i, it) in found.residual.iter().enumerate() {
        let mu_per_m = found.absorption.points()[i].1;
        assert_relative_eq!(mu_per_m, 300.0 + 100.0 * i as f64, max_relative = 1e-8);
        assert!(0.0 < it.standard_uncertainty_per_m);
    }
    let optical = found.into_optical(
        Sourced::new(Spectrum::constant(1.53), "test", Status::Stated),
        "lid.csv",
    );
    assert_eq!(optical.reading, Reading::EffectiveExtinction);
    assert_eq!(optical.absorption.unwrap().status, Status::Measured);
}

/// Total transmittance of a scattering slab, n = 1.5, µa = 0.03, µs = 10 1/mm, g = 0.9, of 1, 2 and
/// 3 mm: 0.530, 0.378, 0.277, by a discrete-ordinates solver.
const SCATTERING: [(f64, f64); 3] = [(1e-3, 0.530), (2e-3, 0.378), (3e-3, 0.277)];

#[test]
fn scattering_plaques_show_that_one_extinction_does_not_fit() {
    let plaques: Vec<Plaque> = SCATTERING
        .iter()
        .map(|(thickness_m, t)| plaque(*thickness_m, &[(900e-9, *t), (1000e-9, *t)]))
        .collect();
    let found = effective_extinction(&plaques, &Spectrum::constant(1.5)).unwrap();
    // T(1 mm) / T(2 mm) = 1.40 and T(2 mm) / T(3 mm) = 1.36, but (1 − r)/(1 + r) / T(1 mm) = 1.74.
    assert!(
        0.03 < found.largest_residual(),
        "{}",
        found.largest_residual()
    );
    // Each plaque alone gives another extinction, and the fit lies between them.
    let alone: Vec<f64> = SCATTERING
        .iter()
        .map(|(thickness_m, t)| slab_extinction_per_m(1.5, *t, *thickness_m))
        .collect();
    assert!(alone[1] < alone[0] && alone[2] < alone[1]);
    let mu_per_m = found.absorption.at("µ", 950e-9).unwrap();
    assert!(alone[2] < mu_per_m && mu_per_m < alone[0]);
}

#[test]
fn the_fit_is_the_minimum_of_the_weighted_squares() {
    let plaques: Vec<Plaque> = SCATTERING
        .iter()
        .map(|(thickness_m, t)| plaque(*thickness_m, &[(900e-9, *t), (1000e-9, *t)]))
        .collect();
    let found = effective_extinction(&plaques, &Spectrum::constant(1.5)).unwrap();
    let best = found.absorption.at("µ", 900e-9).unwrap();
    let squares = |mu_per_m: f64| -> f64 {
        SCATTERING
            .iter()
            .map(|(thickness_m, t)| {
                let sigma = 0.002f64.hypot(0.01 * t);
                ((slab_transmittance(1.5, mu_per_m, *thickness_m) - t) / sigma).powi(2)
            })
            .sum()
    };
    for share in [0.9, 0.99, 1.01, 1.1] {
        assert!(squares(best) < squares(share * best), "{share}");
    }
}

#[test]
fn more_than_the_faces_let_through_is_flagged_and_far_more_refused() {
    // Faces of index 1.5 let (1 − 0.04) / (1 + 0.04) = 0.923 through.
    let slightly = plaque(2e-3, &[(900e-9, 0.93), (1000e-9, 0.90)]);
    let found = effective_extinction(&[slightly], &Spectrum::constant(1.5)).unwrap();
    assert!(found.residual[0].above_faces && !found.residual[1].above_faces);
    assert!(found.absorption.at("µ", 900e-9).unwrap().abs() < 1e-9);
    assert_relative_eq!(
        found.residual[0].largest,
        0.93 - 0.96 / 1.04,
        epsilon = 1e-9
    );
    let far = plaque(2e-3, &[(900e-9, 0.99), (1000e-9, 0.90)]);
    let error = effective_extinction(&[far], &Spectrum::constant(1.5)).unwrap_err();
    assert!(error.to_string().contains("99.0 %"), "{error}");
}

#[test]
fn darkness_gives_a_lower_bound() {
    let dark = plaque(2e-3, &[(900e-9, 0.0), (1000e-9, 0.01)]);
    let found = effective_extinction(&[dark], &Spectrum::constant(1.5)).unwrap();
    assert!(found.residual[0].below_dark_level && !found.residual[1].below_dark_level);
    let bound = slab_extinction_per_m(1.5, 1e-4, 2e-3);
    assert_relative_eq!(
        found.absorption.at("µ", 900e-9).unwrap(),
        bound,
        max_relative = 1e-9
    );
}

#[test]
fn plaques_are_compared_only_where_all_are_measured() {
    let one = plaque(
        1e-3,
        &[(800e-9, 0.6), (900e-9, 0.6), (1000e-9, 0.6), (1100e-9, 0.6)],
    );
    let two = plaque(2e-3, &[(900e-9, 0.4), (1000e-9, 0.4)]);
    let found = effective_extinction(&[one.clone(), two], &Spectrum::constant(1.5)).unwrap();
    assert_eq!(found.absorption.range_m(), Some((900e-9, 1000e-9)));
    let apart = plaque(2e-3, &[(1200e-9, 0.4), (1300e-9, 0.4)]);
    assert!(effective_extinction(&[one, apart], &Spectrum::constant(1.5)).is_err());
    assert!(effective_extinction(&[], &Spectrum::constant(1.5)).is_err());
}
