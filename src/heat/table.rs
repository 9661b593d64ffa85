//! Tables of potential and temperature over enthalpy, made once from the exact laws and looked up in
//! every step.
//!
//! Rows lie at even steps of the enthalpy, so that a row is found by one product; between rows all is
//! linear, and the outermost rows go on beyond the ends.
//!
//! Checked in: `tests/heat/properties.rs`.

use crate::heat::properties::Curves;
use crate::numerics::root::rising_root;

/// Intervals of a lane table between the first and the last temperature at which anything varies:
/// a cell that crosses a melting range of 1 K still meets dozens of them, and 32 kB stay in cache.
const TABLE_INTERVALS: usize = 1024;

/// One interval of a lane table: two straight lines over the enthalpy, each as its value at enthalpy
/// zero, far outside as this may be, and its slope.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[repr(C, align(32))]
pub struct Interval {
    /// Potential, W/m, and dθ/dH, m²/s.
    pub potential: [f64; 2],
    /// Temperature, K, and dT/dH, K m³/J.
    pub temperature: [f64; 2],
}

/// The straight line through two points.
fn straight(start: (f64, f64), end: (f64, f64)) -> [f64; 2] {
    let slope = (end.1 - start.1) / (end.0 - start.0);
    [start.1 - start.0 * slope, slope]
}

/// Value of a straight line.
#[inline(always)]
pub fn on(line: [f64; 2], enthalpy_j_per_m3: f64) -> f64 {
    line[0] + line[1] * enthalpy_j_per_m3
}

/// Tables over enthalpy at even spacing, all materials of a batch one behind the other.
#[derive(Clone, Debug, Default)]
pub struct Pool {
    /// Intervals of all tables.
    pub intervals: Vec<Interval>,
}

/// Where one table lies in the pool, and how its abscissa runs.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    /// Index of its first interval, which reaches below the table.
    pub first: usize,
    /// Intervals, those below and above the table included.
    pub count: usize,
    /// Distance to the table with the potential on the other side, for a node of two materials.
    pub other: usize,
    /// Enthalpy at the start of the first interval, J/m³.
    pub start_j_per_m3: f64,
    /// Width of an interval, J/m³.
    pub width_j_per_m3: f64,
    /// Intervals per enthalpy, m³/J.
    pub per_width_m3_per_j: f64,
    /// Least conductivity, W/(m K).
    pub least_conductivity_w_per_m_k: f64,
}

impl Pool {
    /// Adds the table of a node of one material.
    pub fn add(&mut self, curves: &Curves) -> Table {
        let law = |t: f64| (curves.enthalpy_j_per_m3(t), curves.capacity_j_per_m3_k(t));
        let grid = EvenEnthalpy::new(&law, &temperatures(&[curves]));
        let table = self.append(&grid, &|t| curves.potential_w_per_m(t));
        Table {
            least_conductivity_w_per_m_k: curves.least_conductivity_w_per_m_k(),
            ..table
        }
    }

    /// Adds the tables of a node half of which is `above` and half `below`: enthalpy is the mean
    /// of both; the first table has the potential of `below`, the other one that of `above`.
    pub fn add_pair(&mut self, above: &Curves, below: &Curves) -> Table {
        let law = |t: f64| {
            (
                0.5 * (above.enthalpy_j_per_m3(t) + below.enthalpy_j_per_m3(t)),
                0.5 * (above.capacity_j_per_m3_k(t) + below.capacity_j_per_m3_k(t)),
            )
        };
        let grid = EvenEnthalpy::new(&law, &temperatures(&[above, below]));
        let table = self.append(&grid, &|t| below.potential_w_per_m(t));
        let other = self.append(&grid, &|t| above.potential_w_per_m(t));
        Table {
            other: other.first - table.first,
            least_conductivity_w_per_m_k: above
                .least_conductivity_w_per_m_k()
                .min(below.least_conductivity_w_per_m_k()),
            ..table
        }
    }

    /// Takes in a table from another pool of which it is the first; tells where it stands now.
    pub fn take_in(&mut self, other: &Pool, table: &Table) -> Table {
        let first = self.intervals.len();
        self.intervals.extend_from_slice(&other.intervals);
        Table { first, ..*table }
    }

    fn append(&mut self, grid: &EvenEnthalpy, potential: &dyn Fn(f64) -> f64) -> Table {
        let first = self.intervals.len();
        let values: Vec<[f64; 3]> = grid
            .temperature
            .iter()
            .enumerate()
            .map(|(j, &t)| [grid.start + j as f64 * grid.width, potential(t), t])
            .collect();
        self.intervals.extend(values.windows(2).map(|w| Interval {
            potential: straight((w[0][0], w[0][1]), (w[1][0], w[1][1])),
            temperature: straight((w[0][0], w[0][2]), (w[1][0], w[1][2])),
        }));
        Table {
            first,
            count: values.len() - 1,
            other: 0,
            start_j_per_m3: grid.start,
            width_j_per_m3: grid.width,
            per_width_m3_per_j: 1.0 / grid.width,
            least_conductivity_w_per_m_k: 0.0,
        }
    }
}

impl Table {
    /// The interval an enthalpy lies in; the outermost ones go on beyond the ends.
    pub fn interval<'a>(&self, pool: &'a Pool, enthalpy_j_per_m3: f64) -> &'a Interval {
        let at = (enthalpy_j_per_m3 - self.start_j_per_m3) * self.per_width_m3_per_j;
        let index = (at.max(0.0) as usize).min(self.count - 1);
        &pool.intervals[self.first + index]
    }

    /// Temperature at an enthalpy, K.
    pub fn temperature_k(&self, pool: &Pool, enthalpy_j_per_m3: f64) -> f64 {
        let it = self.interval(pool, enthalpy_j_per_m3);
        on(it.temperature, enthalpy_j_per_m3)
    }

    /// Enthalpy at a temperature, J/m³: the inverse of [`Table::temperature_k`].
    pub fn enthalpy_j_per_m3(&self, pool: &Pool, temperature_k: f64) -> f64 {
        let intervals = &pool.intervals[self.first..self.first + self.count];
        let enthalpy = |j: usize| {
            let [at_zero, slope] = intervals[j].temperature;
            (temperature_k - at_zero) / slope
        };
        let (mut low, mut high) = (0, self.count);
        while 1 < high - low {
            let middle = (low + high) / 2;
            let start = self.start_j_per_m3 + middle as f64 * self.width_j_per_m3;
            if start <= enthalpy(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        enthalpy(low)
    }
}

fn temperatures(all: &[&Curves]) -> Vec<f64> {
    let mut at: Vec<f64> = all.iter().flat_map(|it| it.knots_k()).collect();
    at.sort_by(f64::total_cmp);
    at.dedup();
    at
}

/// Temperatures at evenly spaced enthalpies, one interval beyond either end of the knots.
struct EvenEnthalpy {
    start: f64,
    width: f64,
    temperature: Vec<f64>,
}

impl EvenEnthalpy {
    /// `law` gives enthalpy and capacity; `knots` are the temperatures at which it has kinks.
    fn new(law: &dyn Fn(f64) -> (f64, f64), knots: &[f64]) -> Self {
        let at_knots: Vec<f64> = knots.iter().map(|&t| law(t).0).collect();
        let last = knots.len() - 1;
        let span = at_knots[last] - at_knots[0];
        let (width, inner) = if 0.0 < span {
            (span / TABLE_INTERVALS as f64, TABLE_INTERVALS)
        } else {
            // Nothing varies: any width will do, so take one kelvin.
            (law(knots[0]).1, 0)
        };
        let mut temperature = Vec::with_capacity(inner + 3);
        temperature.push(knots[0] - width / law(knots[0] - 1.0).1);
        let mut segment = 0;
        for j in 0..=inner {
            let wanted = at_knots[0] + j as f64 * width;
            while segment + 1 < last && at_knots[segment + 1] <= wanted {
                segment += 1;
            }
            temperature.push(if j == 0 {
                knots[0]
            } else if j == inner {
                knots[last]
            } else {
                let bracket = (knots[segment], knots[segment + 1]);
                let before = &temperature[temperature.len() - 2..];
                let guess: f64 = 2.0 * before[1] - before[0];
                let over = |t: f64| {
                    let (value, slope) = law(t);
                    (value - wanted, slope)
                };
                rising_root(&over, bracket.0, bracket.1, guess)
            });
        }
        temperature.push(knots[last] + width / law(knots[last] + 1.0).1);
        EvenEnthalpy {
            start: at_knots[0] - width,
            width,
            temperature,
        }
    }
}
