//! Cubics over a unit step, given by values and slopes at both ends, and where they cross zero.
//!
//! Checked in: this file.

/// Cubic over 0 ≤ s ≤ 1 (Hermite form).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cubic {
    /// Value at s = 0.
    pub start: f64,
    /// Value at s = 1.
    pub end: f64,
    /// Slope at s = 0.
    pub start_slope: f64,
    /// Slope at s = 1.
    pub end_slope: f64,
}

impl Cubic {
    /// Value at `s`.
    pub fn at(&self, s: f64) -> f64 {
        let rise = self.end - self.start;
        let c2 = 3.0 * rise - 2.0 * self.start_slope - self.end_slope;
        let c3 = self.start_slope + self.end_slope - 2.0 * rise;
        self.start + s * (self.start_slope + s * (c2 + s * c3))
    }

    /// Where inside the step the cubic is highest, if it rises at the start and falls at the end.
    pub fn turning(&self) -> Option<f64> {
        if self.start_slope <= 0.0 || 0.0 <= self.end_slope {
            return None;
        }
        let rise = self.end - self.start;
        let c2 = 3.0 * rise - 2.0 * self.start_slope - self.end_slope;
        let c3 = self.start_slope + self.end_slope - 2.0 * rise;
        let root = (c2 * c2 - 3.0 * self.start_slope * c3).max(0.0).sqrt();
        Some(self.start_slope / (root - c2))
    }
}

/// x^(-1/3) of a number above zero, to 0.2 %: the bits of the exponent are divided by three, and one
/// of Newton's steps follows.
pub fn inverse_cube_root(x: f64) -> f64 {
    let y = f64::from_bits(0x553e_f0ff_289d_d796 - x.to_bits() / 3);
    y * (4.0 / 3.0 - (x * (1.0 / 3.0)) * (y * y * y))
}

/// The place between `low` and `high` where `f` changes its sign, to rounding: secants in a bracket,
/// with a bisection wherever two of them have not halved it.
pub fn bisect(f: &impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let (mut at_low, mut at_high) = (f(low), f(high));
    let rising = at_low < 0.0;
    if rising == (at_high < 0.0) {
        // No change of sign: where bisection would end.
        return high;
    }
    let least = 1e-14 * (high - low).abs();
    let mut low_stayed = None;
    let mut halved_from = (high - low).abs();
    for round in 0..120 {
        let width = (high - low).abs();
        if width <= least {
            break;
        }
        let secant = low - at_low * (high - low) / (at_high - at_low);
        let slow = round % 3 == 2 && 0.5 * halved_from < width;
        if round % 3 == 2 {
            halved_from = width;
        }
        let inside = (secant - low) * (secant - high) < 0.0;
        let middle = if inside && !slow {
            secant
        } else {
            0.5 * (low + high)
        };
        if middle == low || middle == high {
            break;
        }
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        // An end that stays twice counts half (the Illinois rule), so that both ends close in.
        if (value < 0.0) == rising {
            (low, at_low) = (middle, value);
            if low_stayed == Some(false) {
                at_high *= 0.5;
            }
            low_stayed = Some(false);
        } else {
            (high, at_high) = (middle, value);
            if low_stayed == Some(true) {
                at_low *= 0.5;
            }
            low_stayed = Some(true);
        }
    }
    0.5 * (low + high)
}

/// The value at `at` of the polynomial through the points (`x[i]`, `y[i]`) (Lagrange form).
pub fn through(x: &[f64], y: &[f64], at: f64) -> f64 {
    let mut sum = 0.0;
    for i in 0..x.len() {
        let mut product = y[i];
        for j in 0..x.len() {
            if i != j {
                product *= (at - x[j]) / (x[i] - x[j]);
            }
        }
        sum += product;
    }
    sum
}

/// Most points a [`Newton`] goes through.
const MOST_POINTS: usize = 5;

/// The polynomial through up to five points, in Newton's form: quick to evaluate many times.
#[derive(Clone, Copy, Debug)]
pub struct Newton {
    x: [f64; MOST_POINTS],
    coefficient: [f64; MOST_POINTS],
}

impl Newton {
    /// Through the points (`x[i]`, `y[i]`), the first five where there are more.
    pub fn through(x: &[f64], y: &[f64]) -> Self {
        let count = x.len().min(MOST_POINTS);
        let mut known = Newton {
            x: [0.0; MOST_POINTS],
            coefficient: [0.0; MOST_POINTS],
        };
        known.x[..count].copy_from_slice(&x[..count]);
        known.coefficient[..count].copy_from_slice(&y[..count]);
        for order in 1..count {
            for i in (order..count).rev() {
                let rise = known.coefficient[i] - known.coefficient[i - 1];
                known.coefficient[i] = rise / (known.x[i] - known.x[i - order]);
            }
        }
        known
    }

    /// Value at `at`.
    pub fn at(&self, at: f64) -> f64 {
        let mut value = self.coefficient[MOST_POINTS - 1];
        for i in (0..MOST_POINTS - 1).rev() {
            value = value * (at - self.x[i]) + self.coefficient[i];
        }
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cube_roots_are_right_to_two_parts_in_a_thousand() {
        for k in -900..900 {
            let x = 10.0_f64.powf(f64::from(k) / 97.0);
            let share = inverse_cube_root(x) * x.cbrt();
            assert!((share - 1.0).abs() < 2.5e-3, "{x}: {share}");
        }
    }

    #[test]
    fn a_cubic_is_reproduced_with_its_turning_point_and_root() {
        // p(s) = 1.7 + 2.3 s − 3.1 s² − 0.4 s³, highest where 2.3 − 6.2 s − 1.2 s² = 0.
        let p = |s: f64| 1.7 + 2.3 * s - 3.1 * s * s - 0.4 * s * s * s;
        let slope = |s: f64| 2.3 - 6.2 * s - 1.2 * s * s;
        let cubic = Cubic {
            start: p(0.0),
            end: p(1.0),
            start_slope: slope(0.0),
            end_slope: slope(1.0),
        };
        assert!((cubic.at(0.37) - p(0.37)).abs() < 1e-15);
        let top = cubic.turning().unwrap_or(f64::NAN);
        assert!(slope(top).abs() < 1e-14);
        let root = bisect(&|s| cubic.at(s) - 1.0, top, 1.0);
        assert!((p(root) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_cubic_is_interpolated_through_four_points() {
        let cubic = |x: f64| 0.3 + x * (1.1 - x * (2.0 - 0.7 * x));
        let x = [0.0, 0.4, 1.1, 1.5];
        assert!((through(&x, &x.map(cubic), 0.9) - cubic(0.9)).abs() < 1e-14);
        assert!((Newton::through(&x, &x.map(cubic)).at(0.9) - cubic(0.9)).abs() < 1e-14);
    }
}
