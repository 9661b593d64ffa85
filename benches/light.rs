//! Light: adding-doubling over a survey and on single stacks.

use criterion::Criterion;
use lightseam::material::optical::OpticalConstants;
use lightseam::optics::adding_doubling::{self, Incidence, Ordinates, Resolution};
use lightseam::optics::invert::{self, Pair, Reading, Setup, Sphere, Uncertainty};
use lightseam::optics::slab::{Slab, Stack};
use lightseam::optics::two_flux;
use std::hint::black_box;

fn slab(thickness_mm: f64, [mu_a, mu_s, g]: [f64; 3]) -> Slab {
    Slab {
        thickness_m: thickness_mm * 1e-3,
        constants: OpticalConstants {
            n: 1.53,
            mu_a_per_m: mu_a * 1e3,
            mu_s_per_m: mu_s * 1e3,
            g,
        },
    }
}

/// A scattering lid on a black body, n = 1.53.
fn joint(thickness_mm: f64, mu_a: f64) -> Stack {
    Stack::contact(
        slab(thickness_mm, [mu_a, 20.0, 0.9]),
        slab(3.0, [12.0, 0.0, 0.0]),
    )
}

/// Bands of absorption, and scattering that falls with the wavelength.
fn pair_at(wavelength_um: f64) -> Pair {
    let band = |centre: f64, width: f64| (-((wavelength_um - centre) / width).powi(2)).exp();
    Pair {
        mu_a_per_m: 50.0 + 600.0 * band(1.2, 0.03) + 1500.0 * band(1.73, 0.05),
        mu_s_reduced_per_m: 2000.0 / wavelength_um,
    }
}

/// T and R of a 1.5 mm plaque with bands of absorption, at 1601 wavelengths.
fn spectrum() -> (Vec<Vec<Reading>>, Setup) {
    let setup = Setup {
        g: 0.8,
        uncertainty: Uncertainty {
            transmittance: 0.003,
            reflectance: 0.003,
            collimated: 0.001,
        },
        sphere: Sphere::ideal(),
    };
    let readings = (0..=1600).map(|i| {
        let wavelength_um = 0.4 + 1e-3 * f64::from(i);
        let pair = pair_at(wavelength_um);
        let blank = Reading {
            thickness_m: 1.5e-3,
            n: 1.53,
            total_transmittance: Some(0.0),
            total_reflectance: Some(0.0),
            collimated_transmittance: None,
        };
        let exact = invert::predict(&blank, pair, &setup, Resolution::standard());
        // A saw-tooth of the size of the noise.
        let noise = 0.003 * (f64::from(i % 7) / 3.0 - 1.0);
        exact.map_or(vec![], |it| {
            vec![Reading {
                total_transmittance: it.total_transmittance.map(|t| t + noise),
                ..it
            }]
        })
    });
    (readings.collect(), setup)
}

/// T and R of a second plaque, 0.62 as thick, beside those of the first; its T may be off by an offset.
fn two_plaques(offset: f64) -> (Vec<Vec<Reading>>, Setup) {
    let (mut spectrum, setup) = spectrum();
    for (i, readings) in (0..).zip(&mut spectrum) {
        let Some(first) = readings.first().copied() else {
            continue;
        };
        let wavelength_um = 0.4 + 1e-3 * f64::from(i);
        let thinner = Reading {
            thickness_m: 0.62 * first.thickness_m,
            ..first
        };
        let noise = 0.003 * (f64::from(i % 5) / 2.0 - 1.0);
        if let Ok(it) = invert::predict(
            &thinner,
            pair_at(wavelength_um),
            &setup,
            Resolution::standard(),
        ) {
            readings.push(Reading {
                total_transmittance: it.total_transmittance.map(|t| t + offset + noise),
                ..it
            });
        }
    }
    (spectrum, setup)
}

/// Absorption, reflectance and depth profiles of stacks, and a survey of 60 x 30 on one core.
pub fn light(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("light");
    group.bench_function("adding-doubling, scattering lid on black body", |bench| {
        let stack = joint(1.5, 0.02);
        bench.iter(|| adding_doubling::absorb(black_box(&stack)));
    });
    group.bench_function("adding-doubling, both parts scatter", |bench| {
        let mut stack = joint(1.5, 0.02);
        stack.slabs[1].constants.mu_s_per_m = 5e3;
        bench.iter(|| adding_doubling::absorb(black_box(&stack)));
    });
    group.bench_function("adding-doubling, one slab, no depths wanted", |bench| {
        let stack = Stack {
            slabs: vec![slab(1.5, [0.02, 20.0, 0.9])],
            upper: 0,
            lower: 0,
        };
        bench.iter(|| {
            adding_doubling::totals(black_box(&stack), Incidence::Normal, Resolution::standard())
        });
    });
    group.bench_function(
        "modes, one slab of two thicknesses, no depths wanted",
        |bench| {
            let ordinates = Ordinates::new(1.53, 0.9, Resolution::standard());
            bench.iter(|| {
                let modes = ordinates.as_ref().map(|it| it.modes(20.0, 2e4));
                modes.map(|it| [1.5e-3, 2.5e-3].map(|thickness_m| it.totals(thickness_m)))
            });
        },
    );
    group.bench_function("two-flux, scattering lid on black body", |bench| {
        let stack = joint(1.5, 0.02);
        bench.iter(|| two_flux::absorb(black_box(&stack)));
    });
    group.sample_size(10);
    group.bench_function("adding-doubling, survey of 60 x 30", |bench| {
        bench.iter(|| {
            for wavelength in 0..60 {
                for thickness in 0..30 {
                    let mu_a = 0.02 + 0.01 * f64::from(wavelength);
                    let stack = joint(0.3 + 0.1 * f64::from(thickness), mu_a);
                    black_box(adding_doubling::absorb(&stack)).ok();
                }
            }
        });
    });
    for (words, offset) in [("consistent", 0.0), ("inconsistent", 0.02)] {
        let (readings, setup) = two_plaques(offset);
        let name = format!("inversion of two {words} plaques, 400 to 2000 nm at 1 nm");
        group.bench_function(name, |bench| {
            bench.iter(|| invert::invert_spectrum(black_box(&readings), &setup));
        });
    }
    let (readings, setup) = spectrum();
    group.bench_function("inversion of T and R, 400 to 2000 nm at 1 nm", |bench| {
        bench.iter(|| invert::invert_spectrum(black_box(&readings), &setup));
    });
    group.finish();
}
