//! Means with standard errors, from independent batches.
//!
//! ```text
//! mean m = Σ x / n            standard error² = Σ (x − m)² / (n (n − 1))
//! ratio  q = Σ x / Σ y        standard error² = n / (n − 1) Σ (x − q y)² / (Σ y)²
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | n | number of batches, at least 2 |
//! | x, y | one batch's value, batches independent and of equal size |
//!
//! Source: W. G. Cochran, *Sampling Techniques*, 3rd ed. (1977), ch. 2 (ratio estimate; from
//! memory). Checked in `tests/optics/photon/streams.rs`.

/// A value with its standard error.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Estimate {
    /// Best value.
    pub value: f64,
    /// One standard deviation of the value.
    pub standard_error: f64,
}

impl Estimate {
    /// A value known without error.
    pub fn exact(value: f64) -> Self {
        Estimate {
            value,
            standard_error: 0.0,
        }
    }

    /// The estimate of `factor` times the quantity.
    pub fn scaled(self, factor: f64) -> Self {
        Estimate {
            value: self.value * factor,
            standard_error: self.standard_error * factor.abs(),
        }
    }

    /// The estimate of the quantity plus a number known without error.
    pub fn shifted(self, by: f64) -> Self {
        Estimate {
            value: self.value + by,
            ..self
        }
    }
}

/// Running means of several quantities, one value of each from every batch.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchMeans {
    batches: f64,
    means: Vec<f64>,
    squares: Vec<f64>,
}

impl BatchMeans {
    /// No batch yet, of `quantities` quantities.
    pub fn new(quantities: usize) -> Self {
        BatchMeans {
            batches: 0.0,
            means: vec![0.0; quantities],
            squares: vec![0.0; quantities],
        }
    }

    /// Takes in one batch (Welford's update); `values` beyond the number of quantities are ignored.
    pub fn push(&mut self, values: &[f64]) {
        self.batches += 1.0;
        let sums = self.means.iter_mut().zip(&mut self.squares);
        for ((mean, square), value) in sums.zip(values) {
            let before = value - *mean;
            *mean += before / self.batches;
            *square += before * (value - *mean);
        }
    }

    /// Mean and standard error of quantity `index`; the error is infinite below two batches.
    pub fn estimate(&self, index: usize) -> Estimate {
        let variance = self.squares[index].max(0.0) / (self.batches - 1.0);
        Estimate {
            value: self.means[index],
            standard_error: if self.batches < 2.0 {
                f64::INFINITY
            } else {
                (variance / self.batches).sqrt()
            },
        }
    }
}

/// Estimate of the ratio of the means of `above` and `below`, paired batch by batch; not a number
/// where `below` sums to zero.
pub fn ratio_of_means(above: &[f64], below: &[f64]) -> Estimate {
    let count = above.len().min(below.len()) as f64;
    let denominator: f64 = below.iter().sum();
    let value = above.iter().sum::<f64>() / denominator;
    let residual: f64 = above
        .iter()
        .zip(below)
        .map(|(x, y)| (x - value * y).powi(2))
        .sum();
    Estimate {
        value,
        standard_error: (count / (count - 1.0) * residual).sqrt() / denominator.abs(),
    }
}
