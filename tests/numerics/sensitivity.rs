//! Effects of inputs against Ishigami's closed form and against other libraries' estimates.

use std::f64::consts::PI;

use lightseam::numerics::sensitivity::{Effect, Paired, effects};
use lightseam::numerics::sobol::Sobol;

fn ishigami(x: &[f64]) -> f64 {
    x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
}

fn estimate(points: u32, replicate: u64) -> Vec<Effect> {
    let sobol = Sobol::scrambled(6, 5, replicate);
    let mut paired = Paired {
        mixed: vec![Vec::new(); 3],
        ..Paired::default()
    };
    for i in 0..points {
        let x: Vec<f64> = sobol
            .point(i)
            .iter()
            .map(|u| PI * (2.0 * u - 1.0))
            .collect();
        let (a, b) = x.split_at(3);
        paired.a.push(ishigami(a));
        paired.b.push(ishigami(b));
        for (d, mixed) in paired.mixed.iter_mut().enumerate() {
            let mut point = a.to_vec();
            point[d] = b[d];
            mixed.push(ishigami(&point));
        }
    }
    effects(&paired).unwrap()
}

/// Rows of the published table: name, base samples, S1 of three inputs, ST of three inputs.
fn published() -> Vec<(String, [f64; 6])> {
    include_str!("../published/ishigami-effects.csv")
        .lines()
        .filter(|it| !it.starts_with('#'))
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let numbers: Vec<f64> = cells[2..].iter().map(|it| it.parse().unwrap()).collect();
            (cells[..2].join(" "), numbers.try_into().unwrap())
        })
        .collect()
}

fn worst(found: &[Effect], expected: &[f64; 6]) -> f64 {
    (0..3)
        .flat_map(|i| {
            [
                (found[i].first - expected[i]).abs(),
                (found[i].total - expected[3 + i]).abs(),
            ]
        })
        .fold(0.0, f64::max)
}

#[test]
fn effects_of_ishigamis_function_are_the_exact_ones() {
    let published = published();
    let exact = &published[0].1;
    assert!(published[0].0.starts_with("exact"));
    let found = estimate(8192, 0);
    assert!(worst(&found, exact) < 3e-3, "{found:?}");
    // As near as the best library estimate with as many samples, within a factor of three.
    let (name, salib) = published
        .iter()
        .find(|it| it.0.ends_with("Sobol 8192"))
        .unwrap();
    let theirs = (0..6)
        .map(|i| (salib[i] - exact[i]).abs())
        .fold(0.0, f64::max);
    assert!(
        worst(&found, exact) < 3.0 * theirs.max(5e-4),
        "{name}: {theirs}"
    );
}

#[test]
fn the_error_falls_with_the_number_of_points() {
    let exact = published()[0].1;
    let mean = |points: u32| {
        (0..8)
            .map(|r| worst(&estimate(points, r), &exact))
            .sum::<f64>()
            / 8.0
    };
    assert!(mean(4096) < mean(256) / 4.0);
}

#[test]
fn a_constant_has_no_effects() {
    let paired = Paired {
        a: vec![3.0; 8],
        b: vec![3.0; 8],
        mixed: vec![vec![3.0; 8]],
    };
    assert_eq!(effects(&paired), None);
}
