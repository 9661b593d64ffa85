//! Light: adding-doubling over a survey and on single stacks.

use criterion::Criterion;
use lightseam::material::optical::OpticalConstants;
use lightseam::optics::adding_doubling::{self, Incidence, Resolution};
use lightseam::optics::slab::{Slab, Stack};
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
            adding_doubling::follow(black_box(&stack), Incidence::Normal, Resolution::standard())
        });
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
    group.finish();
}
