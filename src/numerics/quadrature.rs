//! Gauss rules on the unit interval: Legendre (inner points only) and Radau (with the end 1).
//!
//! ```text
//! ∫₀¹ f(x) dx ≈ Σ w_i f(x_i)
//! ```
//!
//! | rule | points | exact for polynomials up to degree |
//! |---|---|---|
//! | Gauss–Legendre | zeros of P_n(2x − 1) | 2n − 1 |
//! | Gauss–Radau | 1, and the zeros of (P_{n−1}(t) − P_n(t)) / (1 − t), t = 2x − 1 | 2n − 2 |
//!
//! Zeros by Newton's method to rounding, from the cosines cos π(i − ¼)/(n + ½) and
//! cos 2πi/(2n − 1).
//!
//! Source: P. J. Davis and P. Rabinowitz, *Methods of Numerical Integration*, 2nd ed., sec. 2.7
//! (section from memory). Checked in: `tests/numerics/quadrature.rs`.

use std::borrow::Cow;
use std::f64::consts::PI;
use std::sync::OnceLock;

/// Points and weights of a rule on the unit interval; weights add up to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Points, descending from 1 to 0.
    pub points: Vec<f64>,
    /// Weight of each point.
    pub weights: Vec<f64>,
}

/// Newton steps allowed; four are enough from the guesses used here.
const NEWTON_STEPS: usize = 50;

/// Gauss–Legendre rule with `count` points.
pub fn gauss_legendre(count: usize) -> Rule {
    let n = count as f64;
    let mut rule = Rule::with_capacity(count);
    for i in 0..count {
        let guess = (PI * (i as f64 + 0.75) / (n + 0.5)).cos();
        let t = newton(guess, |t| {
            let (_, p, slope) = legendre(count, t);
            p / slope
        });
        let (_, _, slope) = legendre(count, t);
        // Weight on [−1, 1] is 2 / ((1 − t²) P_n'²), half of it on [0, 1].
        rule.push(0.5 * (1.0 + t), 1.0 / ((1.0 - t * t) * slope * slope));
    }
    rule
}

/// Gauss–Radau rule with `count` points, the first of them at 1.
pub fn gauss_radau(count: usize) -> Rule {
    let n = count as f64;
    let mut rule = Rule::with_capacity(count);
    rule.push(1.0, 1.0 / (n * n));
    for i in 1..count {
        let guess = (2.0 * PI * i as f64 / (2.0 * n - 1.0)).cos();
        let t = newton(guess, |t| {
            let (before, p, slope) = legendre(count, t);
            let slope_before = slope_of(count - 1, t, before, legendre_before(count - 1, t));
            let value = before - p;
            // Newton on (P_{n−1} − P_n) / (1 − t): the root at t = 1 is divided out.
            1.0 / ((slope_before - slope) / value + 1.0 / (1.0 - t))
        });
        let (before, _, _) = legendre(count, t);
        rule.push(0.5 * (1.0 + t), 0.5 * (1.0 + t) / (n * n * before * before));
    }
    rule
}

/// Rules with fewer points than this are kept.
const KEPT: usize = 64;

static LEGENDRE: [OnceLock<Rule>; KEPT] = [const { OnceLock::new() }; KEPT];

static RADAU: [OnceLock<Rule>; KEPT] = [const { OnceLock::new() }; KEPT];

/// [`gauss_legendre`], computed once for each number of points.
pub fn kept_gauss_legendre(count: usize) -> Cow<'static, Rule> {
    kept(&LEGENDRE, count, gauss_legendre)
}

/// [`gauss_radau`], computed once for each number of points.
pub fn kept_gauss_radau(count: usize) -> Cow<'static, Rule> {
    kept(&RADAU, count, gauss_radau)
}

fn kept(
    all: &'static [OnceLock<Rule>; KEPT],
    count: usize,
    rule: fn(usize) -> Rule,
) -> Cow<'static, Rule> {
    match all.get(count) {
        Some(place) => Cow::Borrowed(place.get_or_init(|| rule(count))),
        None => Cow::Owned(rule(count)),
    }
}

impl Rule {
    fn with_capacity(count: usize) -> Self {
        Rule {
            points: Vec::with_capacity(count),
            weights: Vec::with_capacity(count),
        }
    }

    fn push(&mut self, point: f64, weight: f64) {
        self.points.push(point);
        self.weights.push(weight);
    }
}

fn newton(mut t: f64, step: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..NEWTON_STEPS {
        let change = step(t);
        if !change.is_finite() {
            break;
        }
        t -= change;
        if change.abs() < 4.0 * f64::EPSILON {
            break;
        }
    }
    t
}

/// P_{n−1}(t), P_n(t) and P_n'(t) for n ≥ 1 and |t| < 1.
fn legendre(n: usize, t: f64) -> (f64, f64, f64) {
    let (mut before, mut p) = (1.0, t);
    for l in 1..n {
        let l = l as f64;
        let next = ((2.0 * l + 1.0) * t * p - l * before) / (l + 1.0);
        (before, p) = (p, next);
    }
    (before, p, slope_of(n, t, p, before))
}

/// P_{n−1}(t) for n ≥ 0, with P_{−1} = 0.
fn legendre_before(n: usize, t: f64) -> f64 {
    match n {
        0 => 0.0,
        _ => legendre(n, t).0,
    }
}

/// P_n'(t) from P_n and P_{n−1}.
fn slope_of(n: usize, t: f64, p: f64, before: f64) -> f64 {
    n as f64 * (t * p - before) / (t * t - 1.0)
}
