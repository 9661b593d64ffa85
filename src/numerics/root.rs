//! Cubics over a unit step, polynomials through a few points, and where a curve crosses zero.
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
    /// Its coefficients of s² and s³.
    fn bend(&self) -> (f64, f64) {
        let rise = self.end - self.start;
        (
            3.0 * rise - 2.0 * self.start_slope - self.end_slope,
            self.start_slope + self.end_slope - 2.0 * rise,
        )
    }

    /// Value at `s`.
    pub fn at(&self, s: f64) -> f64 {
        let (c2, c3) = self.bend();
        self.start + s * (self.start_slope + s * (c2 + s * c3))
    }

    /// Slope at `s`.
    pub fn slope(&self, s: f64) -> f64 {
        let (c2, c3) = self.bend();
        self.start_slope + s * (2.0 * c2 + s * 3.0 * c3)
    }

    /// Where inside the step the cubic is highest, if it rises at the start and falls at the end.
    pub fn turning(&self) -> Option<f64> {
        if self.start_slope <= 0.0 || 0.0 <= self.end_slope {
            return None;
        }
        let (c2, c3) = self.bend();
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

/// The place between `low` and `high` where a curve, given as its value and its slope, changes its
/// sign; `high` where it does not.
pub fn crossing(curve: &impl Fn(f64) -> (f64, f64), low: f64, high: f64) -> f64 {
    let (at_low, at_high) = (curve(low).0, curve(high).0);
    if (at_low < 0.0) == (at_high < 0.0) {
        return high;
    }
    let secant = low - at_low * (high - low) / (at_high - at_low);
    if at_low < 0.0 {
        rising_root(curve, low, high, secant)
    } else {
        rising_root(curve, high, low, secant)
    }
}

/// Where a curve that is negative at `below` and not at `above` is zero, to rounding: Newton's steps
/// from a guess, and halves of the bracket where these leave it or do not shrink.
pub fn rising_root(curve: &impl Fn(f64) -> (f64, f64), below: f64, above: f64, guess: f64) -> f64 {
    let (mut below, mut above) = (below, above);
    let inside = |x: f64, below: f64, above: f64| (x - below) * (x - above) < 0.0;
    let enough = 1e-10 * below.abs().max(above.abs());
    let mut before = (above - below).abs();
    let mut x = if inside(guess, below, above) {
        guess
    } else {
        0.5 * (below + above)
    };
    for _ in 0..120 {
        let (value, slope) = curve(x);
        if value < 0.0 {
            below = x;
        } else {
            above = x;
        }
        let newton = x - value / slope;
        if newton == x {
            return x;
        }
        let next = if inside(newton, below, above) && (newton - x).abs() < 0.5 * before {
            newton
        } else {
            0.5 * (below + above)
        };
        // Newton's last step is wrong by its square.
        if (next - x).abs() <= enough {
            return next;
        }
        before = (next - x).abs();
        x = next;
    }
    x
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

    /// Value and slope at `at`.
    pub fn at(&self, at: f64) -> (f64, f64) {
        let (mut value, mut slope) = (self.coefficient[MOST_POINTS - 1], 0.0);
        for i in (0..MOST_POINTS - 1).rev() {
            let from = at - self.x[i];
            slope = slope * from + value;
            value = value * from + self.coefficient[i];
        }
        (value, slope)
    }

    /// Coefficient of the highest power where it goes through `count` points.
    pub fn leading(&self, count: usize) -> f64 {
        self.coefficient[count.clamp(1, MOST_POINTS) - 1]
    }

    /// Where between two places it has the value `level`; `high` where it crosses it nowhere.
    pub fn reaches(&self, level: f64, low: f64, high: f64) -> f64 {
        let over = |at: f64| {
            let (value, slope) = self.at(at);
            (value - level, slope)
        };
        crossing(&over, low, high)
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
        let less_one = |s: f64| (cubic.at(s) - 1.0, cubic.slope(s));
        let root = crossing(&less_one, top, 1.0);
        assert!((p(root) - 1.0).abs() < 1e-14);
        assert_eq!(crossing(&less_one, 0.0, top), top, "no change of sign");
    }

    /// Newton's steps alone would leave the bracket, or stand still where the curve is level.
    #[test]
    fn a_root_is_found_where_newtons_steps_fail() {
        let steep = |x: f64| ((x - 0.3).cbrt(), (x - 0.3).abs().powf(-2.0 / 3.0) / 3.0);
        assert!((crossing(&steep, -1.0, 2.0) - 0.3).abs() < 1e-9);
        let level = |x: f64| ((x - 1.7).powi(5), 5.0 * (x - 1.7).powi(4));
        assert!((crossing(&level, 0.0, 2.0) - 1.7).abs() < 1e-3);
        let falling = |x: f64| (2.0 - x.exp(), -x.exp());
        assert!((crossing(&falling, -4.0, 30.0) - 2f64.ln()).abs() < 1e-14);
    }

    #[test]
    fn a_cubic_is_interpolated_through_four_points() {
        let cubic = |x: f64| 0.3 + x * (1.1 - x * (2.0 - 0.7 * x));
        let x = [0.0, 0.4, 1.1, 1.5];
        let (value, slope) = Newton::through(&x, &x.map(cubic)).at(0.9);
        assert!((value - cubic(0.9)).abs() < 1e-14);
        assert!((slope - (1.1 - 4.0 * 0.9 + 2.1 * 0.9 * 0.9)).abs() < 1e-13);
    }
}
