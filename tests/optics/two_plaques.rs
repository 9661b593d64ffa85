//! Inversion of two plaques together, agreeing and not.

use lightseam::optics::adding_doubling::Resolution;
use lightseam::optics::invert::{
    Inverse, Pair, Reading, Setup, Sphere, Uncertainty, invert, invert_spectrum, predict,
};

fn setup(photometric: f64) -> Setup {
    Setup {
        g: 0.8,
        uncertainty: Uncertainty {
            transmittance: photometric,
            reflectance: photometric,
            collimated: photometric,
        },
        sphere: Sphere::ideal(),
    }
}

/// T and R of 1.5 and 0.9 mm at 40 wavelengths with a band of absorption, the thinner plaque's T off
/// by an offset.
fn spectrum(offset: f64) -> Vec<Vec<Reading>> {
    (0..40)
        .map(|i| {
            let x = f64::from(i) / 40.0;
            let pair = Pair {
                mu_a_per_m: 60.0 + 900.0 * (-((x - 0.5) / 0.15).powi(2)).exp(),
                mu_s_reduced_per_m: 2500.0 - 1200.0 * x,
            };
            let read = |thickness_m: f64, offset: f64| {
                let blank = Reading {
                    thickness_m,
                    n: 1.52,
                    total_transmittance: Some(0.0),
                    total_reflectance: Some(0.0),
                    collimated_transmittance: None,
                };
                let it = predict(&blank, pair, &setup(0.003), Resolution::standard()).unwrap();
                let noise = 0.002 * (f64::from(i % 5) / 2.0 - 1.0);
                Reading {
                    total_transmittance: it.total_transmittance.map(|t| t + noise + offset),
                    ..it
                }
            };
            vec![read(1.5e-3, 0.0), read(0.9e-3, offset)]
        })
        .collect()
}

/// The fit at a wavelength, told or not.
fn best(inverse: &Inverse) -> (Pair, usize) {
    let estimate = match inverse {
        Inverse::Found(it) => it,
        Inverse::Undetermined { best, .. } => best.as_ref().unwrap(),
    };
    (estimate.pair, estimate.evaluations)
}

#[test]
fn a_neighbour_leads_to_the_best_pair_even_where_plaques_disagree() {
    for (photometric, offset) in [(0.003, 0.0), (0.003, 0.02), (0.003, -0.04), (0.0005, 0.02)] {
        let spectrum = spectrum(offset);
        let setup = setup(photometric);
        let together = invert_spectrum(&spectrum, &setup).unwrap();
        let mut calls = 0;
        for (readings, inverse) in spectrum.iter().zip(&together) {
            let (pair, evaluations) = best(inverse);
            calls += evaluations;
            // Alone a wavelength is searched from a net over all that plaques can be.
            let (alone, _) = best(&invert(readings, &setup).unwrap());
            let off = (pair.mu_a_per_m / alone.mu_a_per_m - 1.0).abs()
                + (pair.mu_s_reduced_per_m / alone.mu_s_reduced_per_m - 1.0).abs();
            assert!(off < 1e-3, "{photometric} {offset}: {pair:?} {alone:?}");
        }
        // The work: calls of the forward model at full resolution. Plaques that disagree need its own
        // derivatives at the end.
        let each = if offset == 0.0 { 6 } else { 10 };
        assert!(calls < each * together.len(), "{offset}: {calls} calls");
    }
}

/// Standard errors by derivatives of the model at full resolution, worked out here for T and R of one
/// plaque: (JᵀJ)⁻¹ with both readings known to σ.
#[test]
fn standard_errors_are_those_of_the_full_model() {
    for (mu_a, mu_s_reduced, g) in [
        (30.0, 800.0, 0.8),
        (400.0, 2500.0, 0.9),
        (1500.0, 600.0, 0.5),
    ] {
        let setup = Setup { g, ..setup(0.003) };
        let reading = |mu_a_per_m: f64, mu_s_reduced_per_m: f64| {
            let blank = Reading {
                thickness_m: 1.1e-3,
                n: 1.5,
                total_transmittance: Some(0.0),
                total_reflectance: Some(0.0),
                collimated_transmittance: None,
            };
            let pair = Pair {
                mu_a_per_m,
                mu_s_reduced_per_m,
            };
            predict(&blank, pair, &setup, Resolution::standard()).unwrap()
        };
        let values = |it: Reading| {
            [
                it.total_transmittance.unwrap(),
                it.total_reflectance.unwrap(),
            ]
        };
        let slopes = |step: [f64; 2]| {
            let above = values(reading(mu_a + step[0], mu_s_reduced + step[1]));
            let below = values(reading(mu_a - step[0], mu_s_reduced - step[1]));
            let width = 2.0 * (step[0] + step[1]);
            [0, 1].map(|i| (above[i] - below[i]) / width / 0.003)
        };
        let (a, s) = (
            slopes([1e-3 * mu_a, 0.0]),
            slopes([0.0, 1e-3 * mu_s_reduced]),
        );
        let (aa, ss) = (a[0] * a[0] + a[1] * a[1], s[0] * s[0] + s[1] * s[1]);
        let mixed = a[0] * s[0] + a[1] * s[1];
        let det = aa * ss - mixed * mixed;
        let expected = [(ss / det).sqrt(), (aa / det).sqrt()];
        let inverse = invert(&[reading(mu_a, mu_s_reduced)], &setup).unwrap();
        let found = inverse.found().unwrap();
        let errors = found.standard_error;
        for (got, expected) in [errors.mu_a_per_m, errors.mu_s_reduced_per_m]
            .into_iter()
            .zip(expected)
        {
            let off = got / expected - 1.0;
            assert!(off.abs() < 0.02, "{mu_a} {mu_s_reduced}: {off:.3}");
        }
    }
}
