//! How the energy of the light is spread across the seam.
//!
//! ```text
//! top-hat   s(y) = 1 for |y| < w/2
//! Gaussian  s(y) = exp(−8 (y/w)²)                    w: 1/e² full width
//! ```
//!
//! What a cell receives is the exact mean of s over its width.
//!
//! Checked in: `tests/heat/cross_section/`.

use crate::error::HeatProblem;

/// Energy across the seam relative to its middle.
#[derive(Clone, Debug, PartialEq)]
pub enum Across {
    /// The same over the whole width.
    TopHat {
        /// Full width, m.
        width_m: f64,
    },
    /// Gaussian.
    Gaussian {
        /// Full width at 1/e², m.
        width_m: f64,
    },
    /// Straight between chosen places.
    Tabulated(Table),
}

/// A profile at chosen places from the middle outwards; zero beyond the last.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    place_m: Vec<f64>,
    value: Vec<f64>,
    until_m: Vec<f64>,
    edge_m: f64,
}

impl Table {
    /// Places (not falling, from zero) and the relative energy there; `edge_m` is where it falls
    /// most steeply. A place given twice is a jump.
    pub fn new(place_m: Vec<f64>, value: Vec<f64>, edge_m: f64) -> Self {
        let mut until_m = vec![0.0; place_m.len()];
        for i in 1..place_m.len().min(value.len()) {
            until_m[i] =
                until_m[i - 1] + 0.5 * (value[i] + value[i - 1]) * (place_m[i] - place_m[i - 1]);
        }
        Table {
            place_m,
            value,
            until_m,
            edge_m,
        }
    }

    fn until_m(&self, y_m: f64) -> f64 {
        let right = self.place_m.partition_point(|&it| it <= y_m);
        let last = self.place_m.len() - 1;
        if right == 0 || last < right {
            return if right == 0 { 0.0 } else { self.until_m[last] };
        }
        let i = right - 1;
        let (rise, step) = (y_m - self.place_m[i], self.place_m[right] - self.place_m[i]);
        let slope = (self.value[right] - self.value[i]) / step;
        self.until_m[i] + rise * (self.value[i] + 0.5 * slope * rise)
    }
}

/// A Gaussian is followed to this many of its 1/e² half-widths: 4e-6 of it lies beyond.
const GAUSSIAN_REACH: f64 = 2.3;

impl Across {
    /// Refuses a profile without width.
    pub(super) fn check(&self) -> Result<(), HeatProblem> {
        let width = 2.0 * self.edge_m();
        let sound = match self {
            Across::Tabulated(table) => {
                1 < table.place_m.len()
                    && table.place_m.len() == table.value.len()
                    && table.place_m[0] == 0.0
                    && table.place_m.windows(2).all(|it| it[0] <= it[1])
                    && table.value.iter().all(|it| 0.0 <= *it && it.is_finite())
            }
            _ => true,
        };
        if sound && 0.0 < width && width.is_finite() {
            Ok(())
        } else {
            Err(HeatProblem::NotPhysical {
                quantity: "width of the light",
                value: width,
            })
        }
    }

    /// Energy between the middle and `y_m`, over the energy for unit width in the middle, m.
    pub fn until_m(&self, y_m: f64) -> f64 {
        match self {
            Across::TopHat { width_m } => y_m.min(0.5 * width_m),
            Across::Gaussian { width_m } => {
                let root = 8f64.sqrt() / width_m;
                0.5 * std::f64::consts::PI.sqrt() / root * libm::erf(root * y_m)
            }
            Across::Tabulated(table) => table.until_m(y_m),
        }
    }

    /// Distance from the middle at which the light falls most steeply, m.
    pub fn edge_m(&self) -> f64 {
        match self {
            Across::TopHat { width_m } => 0.5 * width_m,
            Across::Gaussian { width_m } => 0.25 * width_m,
            Across::Tabulated(table) => table.edge_m,
        }
    }

    /// Length over which it falls there, m.
    pub(super) fn fall_m(&self) -> f64 {
        match self {
            Across::TopHat { .. } => 0.0,
            Across::Gaussian { width_m } => 0.25 * width_m,
            Across::Tabulated(table) => 0.1 * table.edge_m,
        }
    }

    /// Distance from the middle beyond which there is no light to speak of, m.
    pub(super) fn reach_m(&self) -> f64 {
        match self {
            Across::TopHat { width_m } => 0.5 * width_m,
            Across::Gaussian { width_m } => 0.5 * GAUSSIAN_REACH * width_m,
            Across::Tabulated(table) => table.place_m.last().copied().unwrap_or(0.0),
        }
    }
}
