//! Sprague's interpolation: a polynomial of fifth degree between evenly spaced points.
//!
//! Neighbouring pieces agree in value, slope and curvature, and each passes through its points. With
//! p the place inside an interval, 0 to 1, and y(−2) … y(3) the six values around it:
//!
//! ```text
//! y(p) = a0 + a1 p + a2 p² + a3 p³ + a4 p⁴ + a5 p⁵
//! ```
//!
//! At the ends two values beyond the table are made from its six outermost ones.
//!
//! Holds for: six or more evenly spaced values of a smooth curve. Overshoots beside a step.
//!
//! Source: CIE 167:2005 and S. Westland, C. Ripamonti and V. Cheung, *Computational Colour Science
//! Using MATLAB*, 2nd ed. (2012), coefficients of table 4.2 (both from memory). Checked in:
//! `tests/numerics/sprague.rs` against a library.

/// Points an evenly spaced table needs.
pub const LEAST_POINTS: usize = 6;

/// Weights of the six outermost values, first to sixth, for the two values before the first.
const BEYOND: [[f64; 6]; 2] = [
    [884.0, -1960.0, 3033.0, -2648.0, 1080.0, -180.0],
    [508.0, -540.0, 488.0, -367.0, 144.0, -24.0],
];

/// What the weights of [`BEYOND`] are divided by.
const BEYOND_OVER: f64 = 209.0;

/// An evenly spaced table.
#[derive(Clone, Debug, PartialEq)]
pub struct Sprague {
    first: f64,
    step: f64,
    /// The values, with two more at either end.
    y: Vec<f64>,
}

impl Sprague {
    /// The curve through `y` at `first`, `first + step`, …; none for fewer than six values or a step
    /// that is not above zero.
    pub fn new(first: f64, step: f64, y: &[f64]) -> Option<Self> {
        if y.len() < LEAST_POINTS || step.is_nan() || step <= 0.0 {
            return None;
        }
        let beyond = |weights: &[f64; 6], at: &dyn Fn(usize) -> f64| {
            let sum: f64 = weights.iter().enumerate().map(|(i, it)| it * at(i)).sum();
            sum / BEYOND_OVER
        };
        let front = |i: usize| y[i];
        let back = |i: usize| y[y.len() - 1 - i];
        let mut all = Vec::with_capacity(y.len() + 4);
        all.extend(BEYOND.iter().map(|it| beyond(it, &front)));
        all.extend_from_slice(y);
        all.extend(BEYOND.iter().rev().map(|it| beyond(it, &back)));
        Some(Sprague {
            first,
            step,
            y: all,
        })
    }

    /// Value at `at`; the nearest end value outside the table.
    pub fn at(&self, at: f64) -> f64 {
        let last = self.y.len() - 5;
        let place = ((at - self.first) / self.step).clamp(0.0, last as f64);
        let i = (place.floor() as usize).min(last - 1);
        let p = place - i as f64;
        // A point of the table is itself, whatever rounding the polynomial has.
        if p == 0.0 || p == 1.0 {
            return self.y[i + 2 + usize::from(p == 1.0)];
        }
        let y = &self.y[i..i + 6];
        let sum = |weights: [f64; 6]| -> f64 {
            let all: f64 = weights.iter().zip(y).map(|(a, b)| a * b).sum();
            all / 24.0
        };
        let a = [
            y[2],
            sum([2.0, -16.0, 0.0, 16.0, -2.0, 0.0]),
            sum([-1.0, 16.0, -30.0, 16.0, -1.0, 0.0]),
            sum([-9.0, 39.0, -70.0, 66.0, -33.0, 7.0]),
            sum([13.0, -64.0, 126.0, -124.0, 61.0, -12.0]),
            sum([-5.0, 25.0, -50.0, 50.0, -25.0, 5.0]),
        ];
        a.iter().rev().fold(0.0, |value, it| value * p + it)
    }
}
