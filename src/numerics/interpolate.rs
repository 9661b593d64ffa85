//! Tables looked up between their entries: piecewise linear, and a cubic that never overshoots.
//!
//! Both hold their end values outside the table and say through `covers` whether a point is
//! inside, so that the caller decides what leaving the table means.
//!
//! Source: F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (the slopes of
//! the monotone cubic, harmonic mean weighted by the neighbouring intervals; from memory).
//! Checked in: `tests/numerics.rs`.

/// Piecewise-linear table over a strictly ascending abscissa.
#[derive(Clone, Debug, PartialEq)]
pub struct PiecewiseLinear {
    x: Vec<f64>,
    y: Vec<f64>,
}

/// Monotone piecewise-cubic table (no new extremum between entries).
#[derive(Clone, Debug, PartialEq)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

/// Why points do not make a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TableFault {
    /// Fewer entries than needed, or two columns of different length.
    TooShort {
        /// Entries found.
        entries: usize,
    },
    /// An abscissa does not come after the one before it.
    NotAscending {
        /// Index of the entry, from 0.
        index: usize,
    },
    /// A value is not a finite number.
    NotFinite {
        /// Index of the entry, from 0.
        index: usize,
    },
}

fn check(x: &[f64], y: &[f64], needed: usize) -> Result<(), TableFault> {
    if x.len() < needed || x.len() != y.len() {
        return Err(TableFault::TooShort {
            entries: x.len().min(y.len()),
        });
    }
    if let Some(index) = (0..x.len()).find(|&i| !x[i].is_finite() || !y[i].is_finite()) {
        return Err(TableFault::NotFinite { index });
    }
    match (1..x.len()).find(|&i| x[i] <= x[i - 1]) {
        Some(index) => Err(TableFault::NotAscending { index }),
        None => Ok(()),
    }
}

/// Index of the interval that holds `at`, clamped to the table.
fn interval(x: &[f64], at: f64) -> usize {
    x.partition_point(|&it| it <= at)
        .clamp(1, x.len() - 1)
        .saturating_sub(1)
}

impl PiecewiseLinear {
    /// A table through the points (`x[i]`, `y[i]`); one point makes a constant.
    ///
    /// # Errors
    /// `x` empty, not strictly ascending, of another length than `y`, or not finite.
    pub fn new(x: Vec<f64>, y: Vec<f64>) -> Result<Self, TableFault> {
        check(&x, &y, 1)?;
        Ok(PiecewiseLinear { x, y })
    }

    /// The same value everywhere.
    pub fn constant(value: f64) -> Self {
        PiecewiseLinear {
            x: vec![0.0],
            y: vec![value],
        }
    }

    /// The same table with every ordinate multiplied by a factor.
    pub fn scaled(&self, factor: f64) -> Self {
        PiecewiseLinear {
            x: self.x.clone(),
            y: self.y.iter().map(|y| y * factor).collect(),
        }
    }

    /// Value at `at`; the nearest end value outside the table.
    pub fn at(&self, at: f64) -> f64 {
        let (x, y) = (&self.x, &self.y);
        let last = x.len() - 1;
        if at <= x[0] {
            return y[0];
        }
        if x[last] <= at {
            return y[last];
        }
        let i = interval(x, at);
        let share = (at - x[i]) / (x[i + 1] - x[i]);
        y[i] + share * (y[i + 1] - y[i])
    }

    /// True when `at` lies inside the table, or the table is one constant.
    pub fn covers(&self, at: f64) -> bool {
        self.is_constant() || (self.x[0] <= at && at <= self.x[self.x.len() - 1])
    }

    /// True when the table has a single entry.
    pub fn is_constant(&self) -> bool {
        self.x.len() == 1
    }

    /// Abscissae and ordinates as given.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.x.iter().copied().zip(self.y.iter().copied())
    }
}

impl MonotoneCubic {
    /// A table through the points (`x[i]`, `y[i]`), at least two.
    ///
    /// # Errors
    /// `x` too short, not strictly ascending, of another length than `y`, or not finite.
    pub fn new(x: Vec<f64>, y: Vec<f64>) -> Result<Self, TableFault> {
        check(&x, &y, 2)?;
        let last = x.len() - 1;
        let step: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
        let rise: Vec<f64> = (0..last).map(|i| (y[i + 1] - y[i]) / step[i]).collect();
        let mut slope = vec![0.0; x.len()];
        slope[0] = end_slope(&step, &rise);
        let back: (Vec<f64>, Vec<f64>) = (
            step.iter().rev().copied().collect(),
            rise.iter().rev().copied().collect(),
        );
        slope[last] = end_slope(&back.0, &back.1);
        for i in 1..last {
            if 0.0 < rise[i - 1] * rise[i] {
                let (before, after) = (2.0 * step[i] + step[i - 1], step[i] + 2.0 * step[i - 1]);
                slope[i] = (before + after) / (before / rise[i - 1] + after / rise[i]);
            }
        }
        Ok(MonotoneCubic { x, y, slope })
    }

    /// A table through the points whose slopes are known, at least two. Slopes too steep for a
    /// monotone cubic are cut to three times the chord beside them, the wrong way to zero.
    ///
    /// # Errors
    /// As [`MonotoneCubic::new`]; `slope` of another length than `x`, or not finite.
    pub fn with_slopes(x: Vec<f64>, y: Vec<f64>, mut slope: Vec<f64>) -> Result<Self, TableFault> {
        check(&x, &y, 2)?;
        check(&x, &slope, 2)?;
        let chord = |i: usize| (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
        for (i, it) in slope.iter_mut().enumerate() {
            let (left, right) = (i.saturating_sub(1), i.min(x.len() - 2));
            for limit in [3.0 * chord(left), 3.0 * chord(right)] {
                *it = it.clamp(limit.min(0.0), limit.max(0.0));
            }
        }
        Ok(MonotoneCubic { x, y, slope })
    }

    /// Value at `at`; the nearest end value outside the table.
    pub fn at(&self, at: f64) -> f64 {
        let last = self.x.len() - 1;
        let at = at.clamp(self.x[0], self.x[last]);
        let i = interval(&self.x, at);
        let step = self.x[i + 1] - self.x[i];
        let t = (at - self.x[i]) / step;
        let (t2, t3) = (t * t, t * t * t);
        (2.0 * t3 - 3.0 * t2 + 1.0) * self.y[i]
            + (t3 - 2.0 * t2 + t) * step * self.slope[i]
            + (3.0 * t2 - 2.0 * t3) * self.y[i + 1]
            + (t3 - t2) * step * self.slope[i + 1]
    }

    /// The same table with every ordinate multiplied by a factor.
    pub fn scaled(&self, factor: f64) -> Self {
        let scale = |it: &[f64]| it.iter().map(|y| y * factor).collect();
        MonotoneCubic {
            x: self.x.clone(),
            y: scale(&self.y),
            slope: scale(&self.slope),
        }
    }

    /// First and last abscissa.
    pub fn range(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }

    /// Abscissae and ordinates as given.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.x.iter().copied().zip(self.y.iter().copied())
    }

    /// Slope at every abscissa.
    pub fn slopes(&self) -> &[f64] {
        &self.slope
    }
}

/// One-sided three-point slope at the first entry, limited so that the cubic stays monotone.
fn end_slope(step: &[f64], rise: &[f64]) -> f64 {
    if rise.len() == 1 {
        return rise[0];
    }
    let slope = ((2.0 * step[0] + step[1]) * rise[0] - step[0] * rise[1]) / (step[0] + step[1]);
    if slope * rise[0] <= 0.0 {
        0.0
    } else if rise[0] * rise[1] <= 0.0 && 3.0 * rise[0].abs() < slope.abs() {
        3.0 * rise[0]
    } else {
        slope
    }
}
