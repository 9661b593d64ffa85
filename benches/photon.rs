//! Photons per second on one core.
//!
//! "Moderately scattering" is µs = 2 /mm, g = 0.8 (µs' = 0.4 /mm), µa = 0.05 /mm, 1.5 mm thick,
//! n = 1.5: a natural lid that passes about half of the light. The dense one is ten times denser.

use criterion::{Criterion, Throughput};
use lightseam::material::optical::OpticalConstants;
use lightseam::optics::photon_monte_carlo::{Settings, run as follow};
use lightseam::optics::{Slab, Stack};

const PHOTONS: u64 = 8 * 8192;

fn slab(n: f64, mu_a_per_mm: f64, mu_s_per_mm: f64, g: f64, thickness_mm: f64) -> Slab {
    Slab {
        thickness_m: thickness_mm * 1e-3,
        constants: OpticalConstants {
            n,
            mu_a_per_m: mu_a_per_mm * 1e3,
            mu_s_per_m: mu_s_per_mm * 1e3,
            g,
        },
    }
}

pub fn run(criterion: &mut Criterion) {
    let one_core = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let one_core = one_core.expect("a pool of one thread");
    let mut group = criterion.benchmark_group("photons, one core");
    group.throughput(Throughput::Elements(PHOTONS));
    group.sample_size(10);
    let absorber = slab(1.5, 10.0, 0.0, 0.0, 1.0);
    for (name, upper) in [
        ("moderate lid on absorber", slab(1.5, 0.05, 2.0, 0.8, 1.5)),
        ("moderate lid, n = 1", slab(1.0, 0.05, 2.0, 0.8, 1.5)),
        ("dense lid on absorber", slab(1.5, 0.02, 20.0, 0.9, 1.5)),
    ] {
        let mut lower = absorber;
        lower.constants.n = upper.constants.n;
        let stack = Stack::contact(upper, lower);
        let settings = Settings {
            photons: PHOTONS,
            ..Settings::standard()
        };
        group.bench_function(name, |bencher| {
            bencher.iter(|| one_core.install(|| follow(&stack, &settings)));
        });
    }
    group.finish();
}
