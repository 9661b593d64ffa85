//! Photon Monte Carlo against published tables, discrete ordinates, adding-doubling, closed forms
//! and a second implementation.
//!
//! Statistical comparisons allow four standard errors of the difference (a chance of 6e-5 each).

use approx::assert_abs_diff_eq;
use lightseam::material::optical::OpticalConstants;
use lightseam::numerics::statistics::{BatchMeans, Estimate};
use lightseam::optics::photon_monte_carlo::{
    PHOTON_STEP, Run, Settings, Shares, SpreadTable, run, spread,
};
use lightseam::optics::{Slab, Stack, beer_lambert};

mod spreading;

mod streams;

mod tables;

/// A layer in per-millimetre units.
#[derive(Clone, Copy)]
struct PerMm {
    n: f64,
    mu_a: f64,
    mu_s: f64,
    g: f64,
    mm: f64,
}

impl PerMm {
    fn slab(self) -> Slab {
        Slab {
            thickness_m: self.mm * 1e-3,
            constants: OpticalConstants {
                n: self.n,
                mu_a_per_m: self.mu_a * 1e3,
                mu_s_per_m: self.mu_s * 1e3,
                g: self.g,
            },
        }
    }
}

/// n, µa, µs (1/mm), g, thickness (mm): the order of all published tables used here.
fn layer(values: [f64; 5]) -> PerMm {
    let [n, mu_a, mu_s, g, mm] = values;
    PerMm {
        n,
        mu_a,
        mu_s,
        g,
        mm,
    }
}

/// Layers with the interface in front of the layer of this index, or behind the last.
fn stack(layers: &[[f64; 5]], lower: usize) -> Stack {
    Stack {
        slabs: layers.iter().map(|it| layer(*it).slab()).collect(),
        upper: 0,
        lower,
    }
}

/// The lid and body used where a test needs a usual scattering joint.
fn lid_on_body() -> Stack {
    stack(&[[1.5, 0.05, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]], 1)
}

fn settings(steps: u64) -> Settings {
    Settings {
        photons: steps * PHOTON_STEP,
        collisions: 1_000_000_000,
        seed: 11,
        incidence_rad: 0.0,
        depth_bins: 1,
    }
}

fn follow(stack: &Stack, steps: u64) -> Run {
    run(stack, &settings(steps)).unwrap()
}

/// Fails where `found` differs from `expected` by more than four standard errors of both.
#[track_caller]
fn assert_within_four(what: &str, found: Estimate, expected: Estimate) {
    let allowed = 4.0 * found.standard_error.hypot(expected.standard_error);
    assert!(
        (found.value - expected.value).abs() <= allowed,
        "{what}: {} ± {} against {} ± {}",
        found.value,
        found.standard_error,
        expected.value,
        expected.standard_error
    );
}

fn published(value: f64, standard_error: f64) -> Estimate {
    Estimate {
        value,
        standard_error,
    }
}

/// Rows of a committed table without its header lines.
fn rows(table: &str) -> Vec<Vec<&str>> {
    let data = table.lines().filter(|line| !line.starts_with('#'));
    data.skip(1).map(|line| line.split(',').collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

fn absorbed(shares: &Shares) -> f64 {
    shares.layers.iter().map(|it| it.absorbed.value).sum()
}

#[test]
fn energy_closes_exactly() {
    for layers in [
        vec![[1.5, 0.05, 2.0, 0.8, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]],
        vec![[1.5, 0.0, 20.0, 0.9, 1.5], [1.6, 7.0, 30.0, 0.5, 1.0]],
        vec![
            [1.52, 0.0, 0.0, 0.0, 3.0],
            [1.33, 0.3, 7.0, -0.4, 0.7],
            [1.0, 0.0, 0.0, 0.0, 0.1],
        ],
        vec![[1.0, 0.0, 3.0, 0.0, 1.0]],
    ] {
        for incidence_rad in [0.0, 0.4] {
            let wanted = Settings {
                incidence_rad,
                ..settings(2)
            };
            let found = run(&stack(&layers, 1), &wanted).unwrap();
            let residual = found.shares.energy_residual();
            assert_abs_diff_eq!(residual, 0.0, epsilon = 1e-12);
            let behind: f64 = found.shares.layers[1..]
                .iter()
                .map(|it| it.absorbed.value)
                .sum();
            let through = behind + found.shares.transmitted.value;
            assert_abs_diff_eq!(found.shares.delivered.value, through, epsilon = 1e-12);
        }
    }
}

/// No scattering: the closed form of `beer_lambert`, no photon needed.
#[test]
fn without_scattering_light_is_exact() {
    let clear = stack(
        &[
            [1.52, 0.0, 0.0, 0.0, 3.0],
            [1.49, 0.3, 0.0, 0.0, 1.7],
            [1.0, 0.0, 0.0, 0.0, 0.1],
            [1.57, 7.0, 0.0, 0.0, 1.1],
        ],
        3,
    );
    let found = follow(&clear, 1);
    let exact = beer_lambert::absorb(&clear);
    assert_eq!(found.photons, 0);
    assert_abs_diff_eq!(
        found.shares.reflected.value,
        exact.reflected,
        epsilon = 1e-15
    );
    assert_abs_diff_eq!(
        found.shares.transmitted.value,
        exact.transmitted,
        epsilon = 1e-15
    );
    for (mine, theirs) in found.shares.layers.iter().zip(&exact.layers) {
        assert_abs_diff_eq!(mine.absorbed.value, theirs.total(), epsilon = 1e-15);
    }
    let sum = found.shares.reflected.value + found.shares.transmitted.value;
    assert_abs_diff_eq!(sum + absorbed(&found.shares), 1.0, epsilon = 1e-14);
}

#[test]
fn results_do_not_depend_on_threads() {
    let wanted = Settings {
        depth_bins: 7,
        ..settings(12)
    };
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        let pool = pool.build().unwrap();
        pool.install(|| run(&lid_on_body(), &wanted).unwrap())
    };
    let one = with_threads(1);
    assert_eq!(one, with_threads(2));
    assert_eq!(one, with_threads(7));
}

#[test]
fn the_seed_chooses_the_run() {
    let with_seed = |seed: u64| {
        run(
            &lid_on_body(),
            &Settings {
                seed,
                ..settings(4)
            },
        )
        .unwrap()
    };
    let first = with_seed(1);
    assert_eq!(first, with_seed(1));
    let second = with_seed(2);
    assert_ne!(first, second);
    assert_within_four("delivered", first.shares.delivered, second.shares.delivered);
    let table = SpreadTable::new();
    assert!(table.is_empty());
    let kept = table.get(&lid_on_body(), &settings(4)).unwrap();
    assert_eq!(*kept, spread(&lid_on_body(), &settings(4)).unwrap());
    table.get(&lid_on_body(), &settings(4)).unwrap();
    assert_eq!(table.len(), 1);
}

/// The limit of collisions ends a run after whole rounds, whatever the number of threads.
#[test]
fn a_dense_part_gets_fewer_photons() {
    let lid = stack(
        &[[1.5, 0.02, 20.0, 0.9, 1.5], [1.5, 10.0, 0.0, 0.0, 1.0]],
        1,
    );
    let limited = Settings {
        collisions: 2_000_000,
        ..settings(16)
    };
    let found = run(&lid, &limited).unwrap();
    assert_eq!(found.photons, 3 * PHOTON_STEP);
    assert!(2_000_000 <= found.collisions && found.collisions < 3_000_000);
    assert_eq!(found, run(&lid, &settings(3)).unwrap());
}

/// Over 60 seeds the scatter of an estimate is its standard error, and it falls as 1/√N.
#[test]
fn standard_errors_are_honest() {
    let errors = |steps: u64| {
        let runs: Vec<Run> = (0..60)
            .map(|seed| {
                run(
                    &lid_on_body(),
                    &Settings {
                        seed,
                        ..settings(steps)
                    },
                )
                .unwrap()
            })
            .collect();
        let scatter = |pick: &dyn Fn(&Run) -> Estimate| {
            let mut means = BatchMeans::new(1);
            runs.iter().for_each(|it| means.push(&[pick(it).value]));
            let stated: f64 = runs.iter().map(|it| pick(it).standard_error).sum::<f64>() / 60.0;
            (means.estimate(0).standard_error * 60f64.sqrt(), stated)
        };
        [
            scatter(&|it| it.shares.delivered),
            scatter(&|it| it.shares.reflected),
            scatter(&|it| it.spread.as_ref().unwrap().top_hat_factor(1e-3, 2e-3)),
        ]
    };
    let (few, many) = (errors(1), errors(4));
    for ((seen, stated), (_, stated_many)) in few.into_iter().zip(many) {
        // 60 runs give the scatter to 9 %; three times that.
        assert!(
            (seen / stated - 1.0).abs() < 0.28,
            "{seen} seen, {stated} stated"
        );
        // The stated errors average 60 × 32 batches: 3 %.
        assert!(
            (stated / stated_many / 2.0 - 1.0).abs() < 0.1,
            "{stated} {stated_many}"
        );
    }
}

#[test]
fn unusable_input_is_refused_in_words() {
    let cases: [(&[[f64; 5]], f64, &str); 7] = [
        (
            &[[0.9, 0.0, 1.0, 0.0, 1.0]],
            0.0,
            "refractive index is 0.9; it must be 1 or more",
        ),
        (
            &[[1.5, -0.1, 1.0, 0.0, 1.0]],
            0.0,
            "absorption coefficient is -100; it must be 0 1/m or more",
        ),
        (
            &[[1.5, 0.1, f64::NAN, 0.0, 1.0]],
            0.0,
            "scattering coefficient is NaN; it must be 0 1/m or more",
        ),
        (
            &[[1.5, 0.1, 1.0, 1.0, 1.0]],
            0.0,
            "anisotropy is 1; it must be between -1 and 1, neither of them",
        ),
        (
            &[[1.5, 0.1, 1.0, 0.0, 0.0]],
            0.0,
            "thickness is 0; it must be more than 0 m",
        ),
        (
            &[[1.5, 0.1, 1.0, 0.0, 1.0]],
            2.0,
            "angle of incidence is 114.59155902616465; it must be 0 to below 90 degrees",
        ),
        (
            &[[1.5, 900.0, 900.0, 0.0, 1.0], [1.5, 1.0, 0.0, 0.0, 1.0]],
            0.0,
            "photon Monte Carlo cannot be used here: none of 8192 photons brought light into the \
             lower part",
        ),
    ];
    for (layers, incidence_rad, message) in cases {
        let wanted = Settings {
            incidence_rad,
            ..settings(1)
        };
        let error = spread(&stack(layers, 1), &wanted).unwrap_err();
        assert_eq!(error.problem().to_string(), message);
    }
    let limited = Settings {
        collisions: 200_000_000,
        ..settings(16)
    };
    let chalk = stack(&[[1.5, 0.0, 400.0, 0.9, 50.0]], 1);
    let error = run(&chalk, &limited).unwrap_err();
    assert_eq!(
        error.to_string(),
        "photon Monte Carlo cannot be used here: a photon would be scattered about 90000 times\n  \
         cure: use adding-doubling, or raise the limit of collisions and wait"
    );
    let no_upper = Stack {
        lower: 0,
        ..lid_on_body()
    };
    let error = run(&no_upper, &settings(1)).unwrap_err();
    assert!(error.to_string().contains("no layer stands in front"));
}
