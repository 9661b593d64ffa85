//! Is a series of single values steady, and does it keep to its limits?
//!
//! ```text
//! moving range       R_i = |x_i − x_(i−1)|,  i = 2 … n
//! control limits     x̄ ± 3 R̄ / d2            d2 = 1.128 for ranges of two
//! limit of ranges    D4 R̄                     D4 = 3.267
//! capability         Ppk = min( (U − x̄) / 3s, (x̄ − L) / 3s )
//! its interval       Ppk ± z sqrt( 1 / 9n + Ppk² / 2(n − 1) )
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | x̄, s | `mean`, `deviation` | mean and sample standard deviation of all values |
//! | R̄ | `mean_range` | mean moving range |
//! | L, U | `Limits` | limits from outside; either may be absent |
//! | z | [`NORMAL_95`] | quantile of the normal distribution, 95 % on two sides |
//!
//! Holds for: values in the order they came about, near normal. Limits of fewer than about twenty
//! values, and indices of fewer than about fifty, are rough; the interval says how rough.
//!
//! Sources: NIST/SEMATECH *e-Handbook of Statistical Methods*, 6.3.2.2 (individuals chart) and
//! 6.1.6 (capability), www.itl.nist.gov/div898/handbook; ISO 7870-2 (Shewhart charts); interval:
//! A. F. Bissell, Appl. Statist. 39 (1990) 331. Checked in: `tests/numerics/control_chart.rs`.

/// Expected range of two normal values over their standard deviation (rounded as in the tables).
pub const D2: f64 = 1.128;

/// Upper control limit of moving ranges of two over their mean.
pub const D4: f64 = 3.267;

/// Quantile 0.975 of the normal distribution.
pub const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Values in a row on one side of the mean that signal a shift.
pub const RUN: usize = 8;

/// A chart of single values with their moving ranges.
#[derive(Clone, Debug, PartialEq)]
pub struct ControlChart {
    /// The values, in order.
    pub values: Vec<f64>,
    /// Mean.
    pub mean: f64,
    /// Mean moving range.
    pub mean_range: f64,
    /// Sample standard deviation of all values.
    pub deviation: f64,
    /// Lower control limit.
    pub lower: f64,
    /// Upper control limit.
    pub upper: f64,
    /// Upper control limit of the moving ranges.
    pub upper_range: f64,
    /// Indices of values outside the control limits.
    pub outside: Vec<usize>,
    /// Indices that end a run of [`RUN`] or more values on one side of the mean.
    pub shifted: Vec<usize>,
}

impl ControlChart {
    /// The chart of values in order; none for fewer than two, or where one is not finite.
    pub fn new(values: &[f64]) -> Option<Self> {
        if values.len() < 2 || values.iter().any(|it| !it.is_finite()) {
            return None;
        }
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let ranges = values.windows(2).map(|it| (it[1] - it[0]).abs());
        let mean_range = ranges.sum::<f64>() / (count - 1.0);
        let squares: f64 = values.iter().map(|it| (it - mean).powi(2)).sum();
        let reach = 3.0 * mean_range / D2;
        let (lower, upper) = (mean - reach, mean + reach);
        // Equal values have no spread, and rounding of their mean is none.
        let slack = 1e-12 * mean.abs();
        let outside = (0..values.len())
            .filter(|&i| values[i] < lower - slack || upper + slack < values[i])
            .collect();
        Some(ControlChart {
            values: values.to_vec(),
            mean,
            mean_range,
            deviation: (squares / (count - 1.0)).sqrt(),
            lower,
            upper,
            upper_range: D4 * mean_range,
            outside,
            shifted: shifted(values, mean),
        })
    }

    /// True where no value signals.
    pub fn is_steady(&self) -> bool {
        self.outside.is_empty() && self.shifted.is_empty()
    }
}

fn shifted(values: &[f64], mean: f64) -> Vec<usize> {
    let mut found = Vec::new();
    let (mut side, mut length) = (0.0f64, 0usize);
    for (i, value) in values.iter().enumerate() {
        let now = match value - mean {
            it if 0.0 < it => 1.0,
            it if it < 0.0 => -1.0,
            _ => 0.0,
        };
        length = if now != 0.0 && now == side {
            length + 1
        } else {
            usize::from(now != 0.0)
        };
        side = now;
        if RUN <= length {
            found.push(i);
        }
    }
    found
}

/// Limits a value must keep to; one may be absent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    /// Least value allowed.
    pub least: Option<f64>,
    /// Greatest value allowed.
    pub most: Option<f64>,
}

impl Limits {
    /// True where the value keeps to the limits.
    pub fn hold(&self, value: f64) -> bool {
        self.least.is_none_or(|it| it <= value) && self.most.is_none_or(|it| value <= it)
    }
}

/// How far values stay inside limits, in three standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capability {
    /// Ppk.
    pub ppk: f64,
    /// Its interval of 95 %.
    pub interval: (f64, f64),
}

/// Capability of the values of a chart; none without limits or without spread.
pub fn capability(chart: &ControlChart, limits: Limits) -> Option<Capability> {
    if chart.deviation <= 1e-12 * chart.mean.abs() {
        return None;
    }
    let three = 3.0 * chart.deviation;
    let below = limits.least.map(|it| (chart.mean - it) / three);
    let above = limits.most.map(|it| (it - chart.mean) / three);
    let ppk = [below, above].into_iter().flatten().reduce(f64::min)?;
    let count = chart.values.len() as f64;
    let error = (1.0 / (9.0 * count) + ppk * ppk / (2.0 * (count - 1.0))).sqrt();
    Some(Capability {
        ppk,
        interval: (ppk - NORMAL_95 * error, ppk + NORMAL_95 * error),
    })
}
