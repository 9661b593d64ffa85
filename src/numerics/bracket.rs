//! Bracketed root of a rising function, one proposal at a time.
//!
//! The caller evaluates; the bracket only proposes where, so that many roots can be sought side by
//! side in one batch of evaluations. Proposals follow regula falsi with the Illinois change (an end
//! that is kept twice has its value halved), and fall back to the middle where that stalls.
//!
//! Source: M. Dowell and P. Jarratt, BIT 11 (1971) 168 (the Illinois change; from memory).
//! Checked in: `tests/numerics.rs`.

/// An interval whose lower end has a negative and whose upper end a non-negative value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bracket {
    low: (f64, f64),
    high: (f64, f64),
    kept: Kept,
    narrow: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kept {
    Neither,
    Low,
    High,
}

impl Bracket {
    /// A bracket from two points (abscissa, value); none unless `low` lies left of `high`, its
    /// value is negative and that of `high` is not.
    pub fn new(low: (f64, f64), high: (f64, f64)) -> Option<Self> {
        (low.0 < high.0 && low.1 < 0.0 && 0.0 <= high.1).then_some(Bracket {
            low,
            high,
            kept: Kept::Neither,
            narrow: 0,
        })
    }

    /// The interval that holds the root.
    pub fn interval(&self) -> (f64, f64) {
        (self.low.0, self.high.0)
    }

    /// Best estimate of the root from what is known, without the guard of a proposal.
    pub fn root(&self) -> f64 {
        let ((a, fa), (b, fb)) = (self.low, self.high);
        let at = a - fa * (b - a) / (fb - fa);
        if at.is_finite() {
            at.clamp(a, b)
        } else {
            0.5 * (a + b)
        }
    }

    /// Best estimate of the root, which is also the next point to evaluate.
    pub fn proposal(&self) -> f64 {
        let ((a, fa), (b, fb)) = (self.low, self.high);
        let middle = 0.5 * (a + b);
        // After three steps that did not halve the interval, halve it.
        if 3 <= self.narrow || !fa.is_finite() || !fb.is_finite() {
            return middle;
        }
        let at = a - fa * (b - a) / (fb - fa);
        // Keep a little away from the ends, so that the far end moves too.
        let guard = 1e-3 * (b - a);
        if at.is_finite() {
            at.clamp(a + guard, b - guard)
        } else {
            middle
        }
    }

    /// Takes the value found at `at`, which should be the last proposal.
    pub fn update(&mut self, at: f64, value: f64) {
        let before = self.high.0 - self.low.0;
        if value < 0.0 {
            self.low = (at, value);
            if self.kept == Kept::High {
                self.high.1 *= 0.5;
            }
            self.kept = Kept::High;
        } else {
            self.high = (at, value);
            if self.kept == Kept::Low {
                self.low.1 *= 0.5;
            }
            self.kept = Kept::Low;
        }
        if self.high.0 - self.low.0 < 0.5 * before {
            self.narrow = 0;
        } else {
            self.narrow += 1;
        }
    }
}
