//! Photon Monte Carlo against published tables, discrete ordinates, adding-doubling, closed forms
//! and a second implementation.
//!
//! Statistical comparisons allow four standard errors of the difference (a chance of 6e-5 each).

use approx::assert_abs_diff_eq;
use lightseam::material::optical::OpticalConstants;
use lightseam::numerics::random::{Stream, philox4x64, unit_circle};
use lightseam::numerics::statistics::{BatchMeans, Estimate, ratio_of_means};
use lightseam::optics::photon_monte_carlo::{
    Direction, PHOTON_STEP, Run, Settings, Shares, SpreadTable, Turn, run, spread,
};
use lightseam::optics::{Slab, Stack, beer_lambert};

mod spreading;

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

/// Random123 (D. E. Shaw Research), file `kat_vectors`, lines philox4x64 10.
#[test]
fn philox_gives_the_known_answers() {
    let ones = u64::MAX;
    let cases = [
        (
            [0; 4],
            [0; 2],
            [
                0x16554d9eca36314c,
                0xdb20fe9d672d0fdc,
                0xd7e772cee186176b,
                0x7e68b68aec7ba23b,
            ],
        ),
        (
            [ones; 4],
            [ones; 2],
            [
                0x87b092c3013fe90b,
                0x438c3c67be8d0224,
                0x9cc7d7c69cd777b6,
                0xa09caebf594f0ba0,
            ],
        ),
        (
            [
                0x243f6a8885a308d3,
                0x13198a2e03707344,
                0xa4093822299f31d0,
                0x082efa98ec4e6c89,
            ],
            [0x452821e638d01377, 0xbe5466cf34e90c6c],
            [
                0xa528f45403e61d95,
                0x38c72dbd566e9788,
                0xa5a1610e72fd18b5,
                0x57bd43b5e52b7fe6,
            ],
        ),
    ];
    for (counter, key, expected) in cases {
        assert_eq!(philox4x64(counter, key), expected);
    }
}

/// numpy 2.4.6: `Philox(key=[seed, purpose], counter=[2**64-1, index-1, 0, 0]).random_raw(8)`
/// (numpy counts up before each block).
#[test]
fn a_stream_is_the_sequence_numpy_draws() {
    let mut stream = Stream::new(20250, 3, 999);
    for expected in [
        0xff7bfd22dde6ce25,
        0x516af0093295671e,
        0x31d99db61fdeb0ec,
        0xf531b9de07dd5bea,
        0xa9efda25752f818e,
        0xc4fa68ce37752c20,
        0x2fd26f8ad3172bb6,
        0xc58c347e3ee2f1db,
    ] {
        assert_eq!(stream.next_u64(), expected);
    }
    let mut halves = Stream::new(20250, 3, 999);
    assert_eq!(halves.next_u32(), 0xdde6ce25);
    assert_eq!(halves.next_u32(), 0xff7bfd22);
    assert_eq!(halves.next_u32(), 0x3295671e);
    assert_eq!(halves.next_u64(), 0x31d99db61fdeb0ec);
    assert_eq!(halves.next_pair(), [0xa9efda25752f818e, 0xc4fa68ce37752c20]);
}

#[test]
fn uniform_numbers_have_the_moments_of_the_uniform_distribution() {
    let mut stream = Stream::new(3, 1, 4);
    let count = 400_000;
    for draw in [Stream::uniform, Stream::uniform_32] {
        let mut moments = BatchMeans::new(2);
        for _ in 0..count {
            let x = draw(&mut stream);
            assert!(0.0 < x && x < 1.0);
            moments.push(&[x, x * x]);
        }
        assert_within_four("mean", moments.estimate(0), Estimate::exact(0.5));
        assert_within_four("square", moments.estimate(1), Estimate::exact(1.0 / 3.0));
    }
}

/// Against the standard library's sine and cosine; 2^32 steps make a full turn that begins an
/// eighth before the first axis.
#[test]
fn random_points_lie_on_the_unit_circle() {
    for step in 0..100_003u32 {
        let bits = step.wrapping_mul(42_949);
        let (cosine, sine) = unit_circle(bits);
        let turns = (f64::from(bits) + 0.5) / 2f64.powi(32) - 0.125;
        let angle = turns * std::f64::consts::TAU;
        assert_abs_diff_eq!(cosine, angle.cos(), epsilon = 2e-15);
        assert_abs_diff_eq!(sine, angle.sin(), epsilon = 2e-15);
        assert_abs_diff_eq!(cosine.hypot(sine), 1.0, epsilon = 5e-16);
    }
}

/// Worked by hand: 1, 2, 4, 9 has mean 4 and variance 38/3; the ratio to 2, 2, 4, 8 is 1, with
/// residuals −1, 0, 0, 1.
#[test]
fn standard_errors_follow_their_definition() {
    let mut means = BatchMeans::new(1);
    for value in [1.0, 2.0, 4.0, 9.0] {
        means.push(&[value]);
    }
    assert_abs_diff_eq!(means.estimate(0).value, 4.0, epsilon = 1e-15);
    let expected = (38.0f64 / 3.0 / 4.0).sqrt();
    assert_abs_diff_eq!(means.estimate(0).standard_error, expected, epsilon = 1e-14);
    let ratio = ratio_of_means(&[1.0, 2.0, 4.0, 9.0], &[2.0, 2.0, 4.0, 8.0]);
    assert_abs_diff_eq!(ratio.value, 1.0, epsilon = 1e-15);
    let expected = (4.0f64 / 3.0 * 2.0).sqrt() / 16.0;
    assert_abs_diff_eq!(ratio.standard_error, expected, epsilon = 1e-15);
}

/// Henyey and Greenstein (1941): the mean cosine is g and the mean of P2(cos) is g². The azimuth
/// is uniform about any direction.
#[test]
fn scattering_has_the_moments_of_henyey_and_greenstein() {
    let before = Direction {
        x: 0.36,
        y: -0.48,
        z: -0.8,
    };
    let across = Direction {
        x: 0.8,
        y: 0.6,
        z: 0.0,
    };
    let dot = |a: Direction, b: Direction| a.x * b.x + a.y * b.y + a.z * b.z;
    for (index, g) in [-0.6, 0.0, 1e-6, 0.3, 0.8, 0.97].into_iter().enumerate() {
        let mut stream = Stream::new(5, 9, index as u64);
        let mut moments = BatchMeans::new(3);
        for _ in 0..300_000 {
            let after = before.scattered(g, Turn::draw(&mut stream));
            assert_abs_diff_eq!(dot(after, after), 1.0, epsilon = 1e-13);
            let cosine = dot(before, after);
            moments.push(&[cosine, 1.5 * cosine * cosine - 0.5, dot(across, after)]);
        }
        assert_within_four("mean cosine", moments.estimate(0), Estimate::exact(g));
        assert_within_four("P2", moments.estimate(1), Estimate::exact(g * g));
        assert_within_four("azimuth", moments.estimate(2), Estimate::exact(0.0));
    }
}

/// H. C. van de Hulst, *Multiple Light Scattering* (1980): albedo 0.9, optical thickness 2,
/// g = 0.75, matched; table of the MCML manual (Wang and Jacques 1992), p. 48. Absorbed share by
/// discrete ordinates.
#[test]
fn van_de_hulst_slab() {
    let plate = stack(&[[1.0, 1.0, 9.0, 0.75, 0.2]], 1);
    let shares = follow(&plate, 128).shares;
    let exact = Estimate::exact;
    assert_within_four("R", shares.reflected, exact(0.09739));
    assert_within_four("T", shares.transmitted, exact(0.66096));
    assert_within_four("T diffuse", shares.transmitted_scattered, exact(0.52562));
    assert_within_four("A", shares.layers[0].absorbed, exact(0.241648));
    let straight = shares.transmitted_unscattered;
    assert_abs_diff_eq!(straight.value, (-2f64).exp(), epsilon = 1e-15);
    assert_eq!(straight.standard_error, 0.0);
}

/// R. G. Giovanelli, Opt. Acta 2 (1955) 153: half-space, n = 1.5, albedo 0.9, isotropic: total
/// reflectance 0.2600, of which 0.04 at the surface (MCML manual, p. 49, where the total is called
/// diffuse). Absorption by depth: discrete ordinates, and the manual's sample file within its own
/// 1e5 photons.
#[test]
fn giovanelli_half_space() {
    let deep = stack(&[[1.5, 1.0, 9.0, 0.0, 10.0]], 1);
    let bins = 500;
    let found = run(
        &deep,
        &Settings {
            depth_bins: bins,
            ..settings(64)
        },
    );
    let shares = found.unwrap().shares;
    assert_within_four(
        "R",
        shares.reflected,
        published(0.2600, 0.00005 / 3f64.sqrt()),
    );
    assert_within_four(
        "R scattered",
        shares.reflected_scattered,
        published(0.21992, 1e-5),
    );
    assert_abs_diff_eq!(shares.reflected_unscattered.value, 0.04, epsilon = 1e-12);
    let per_cm = [30.994, 29.203, 27.263, 25.293, 23.355, 21.486];
    for (bin, expected) in shares.layers[0].bins.iter().zip(per_cm) {
        let density = bin.scaled(1.0 / 2e-3);
        assert_within_four("A(z), 1/cm", density, published(expected, 1e-3));
    }
}

/// Three layers of the MCML manual (Wang and Jacques 1992), sample file, 1e6 photons; refined by
/// discrete ordinates, whose values stand here.
#[test]
fn three_layers_in_air() {
    let layers = stack(
        &[
            [1.37, 0.1, 10.0, 0.9, 1.0],
            [1.37, 0.1, 1.0, 0.0, 1.0],
            [1.37, 0.2, 1.0, 0.7, 2.0],
        ],
        1,
    );
    let found = run(
        &layers,
        &Settings {
            depth_bins: 10,
            ..settings(48)
        },
    );
    let shares = found.unwrap().shares;
    let last_digit = 1e-5;
    let specular = shares.reflected_unscattered.value;
    assert_abs_diff_eq!(specular, 0.024373, epsilon = 1e-6);
    for (what, found, expected) in [
        ("R", shares.reflected_scattered, 0.23786),
        ("T", shares.transmitted, 0.09605),
        ("A1", shares.layers[0].absorbed, 0.26194),
        ("A2", shares.layers[1].absorbed, 0.14875),
        ("A3", shares.layers[2].absorbed, 0.23103),
    ] {
        assert_within_four(what, found, published(expected, last_digit));
    }
    let per_cm = [
        2.807, 2.827, 2.825, 2.794, 2.738, 2.659, 2.562, 2.451, 2.330, 2.201,
    ];
    for (bin, expected) in shares.layers[0].bins.iter().zip(per_cm) {
        assert_within_four("A(z)", bin.scaled(1.0 / 1e-2), published(expected, 1e-3));
    }
}

/// S. Chandrasekhar, *Radiative Transfer* (1960): plane albedo of an isotropic half-space at normal
/// incidence, R = 1 − H(1) √(1 − a), with his tabulated H functions.
#[test]
fn chandrasekhar_half_space() {
    for (albedo, expected) in [(0.5, 0.115226), (0.8, 0.285255), (0.95, 0.535541)] {
        let mu_t = 7.0;
        let deep = [1.0, mu_t * (1.0 - albedo), mu_t * albedo, 0.0, 20.0];
        let found = follow(&stack(&[deep], 1), 32).shares.reflected;
        assert_within_four("R", found, Estimate::exact(expected));
    }
}

#[test]
fn independent_monte_carlo_of_layers() {
    for row in rows(include_str!("../published/photon-layers.csv")) {
        let n = number(row[1]);
        let layers: &[[f64; 5]] = match row[0] {
            "A" => &[[n, 0.05, 2.0, 0.8, 1.5], [n, 10.0, 1.0, 0.0, 1.0]],
            "B" => &[[n, 0.02, 20.0, 0.9, 1.5], [n, 5.0, 5.0, 0.6, 1.0]],
            _ => &[[n, 0.1, 5.0, 0.75, 2.0]],
        };
        let shares = follow(&stack(layers, 1), 20).shares;
        let of = |column: usize| published(number(row[column]), number(row[column + 1]));
        assert_within_four(&format!("R of {row:?}"), shares.reflected, of(2));
        assert_within_four(&format!("T of {row:?}"), shares.transmitted, of(4));
        let upper = shares.layers[0].absorbed;
        assert_within_four(&format!("upper of {row:?}"), upper, of(6));
        if let Some(lower) = shares.layers.get(1) {
            assert_within_four(&format!("lower of {row:?}"), lower.absorbed, of(8));
        }
    }
}

#[test]
fn adding_doubling_slabs() {
    for row in rows(include_str!("../published/photon-slab-totals.csv")) {
        let values: Vec<f64> = row.iter().map(|text| number(text)).collect();
        let &[n, n_slide, albedo, depth, g, reflected, transmitted] = values.as_slice() else {
            panic!("seven columns: {row:?}");
        };
        let plate = [n, depth * (1.0 - albedo), depth * albedo, g, 1.0];
        let slide = [n_slide, 0.0, 0.0, 0.0, 1.3];
        let layers = if n_slide == 1.0 {
            vec![plate]
        } else {
            vec![slide, plate, slide]
        };
        let shares = follow(&stack(&layers, layers.len()), 16).shares;
        let digits = 1e-5;
        assert_within_four(
            &format!("{row:?}"),
            shares.reflected,
            published(reflected, digits),
        );
        assert_within_four(
            &format!("{row:?}"),
            shares.transmitted,
            published(transmitted, digits),
        );
    }
}

#[test]
fn discrete_ordinates_by_depth() {
    let table = rows(include_str!("../published/photon-depth.csv"));
    for (case, layers, bins) in [
        (
            "A",
            &[[1.0, 0.05, 2.0, 0.8, 1.5], [1.0, 10.0, 1.0, 0.0, 1.0]][..],
            30,
        ),
        (
            "B",
            &[[1.0, 0.02, 20.0, 0.9, 1.5], [1.0, 5.0, 5.0, 0.6, 1.0]][..],
            30,
        ),
        ("C", &[[1.0, 0.1, 5.0, 0.75, 2.0]][..], 25),
    ] {
        let wanted = Settings {
            depth_bins: bins,
            ..settings(20)
        };
        let shares = run(&stack(layers, 1), &wanted).unwrap().shares;
        let known: Vec<(f64, f64)> = table
            .iter()
            .filter(|row| row[0] == case)
            .map(|row| (number(row[1]), number(row[2])))
            .collect();
        let mut checked = 0;
        for pair in known.windows(2) {
            let (from, to) = (pair[0].0, pair[1].0);
            let (shares, top) = if to < layers[0][4] + 1e-9 {
                (&shares.layers[0], 0.0)
            } else {
                (&shares.layers[1], layers[0][4])
            };
            let bin_mm = shares.bin_m * 1e3;
            let first = ((from - top) / bin_mm).round() as usize;
            let last = ((to - top) / bin_mm).round() as usize;
            let value = shares.bins[first..last].iter().map(|it| it.value).sum();
            // Neighbouring bins of one run vary together at worst.
            let error = shares.bins[first..last]
                .iter()
                .map(|it| it.standard_error)
                .sum();
            let found = published(value, error);
            let expected = published(pair[1].1 - pair[0].1, 1e-7);
            assert_within_four(&format!("{case}, {from} to {to} mm"), found, expected);
            checked += 1;
        }
        assert!(24 <= checked, "{case}: {checked} depths");
    }
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
