//! Where the nodes lie: fine at the interface and at faces that are heated or cooled, coarse between.
//!
//! ```text
//! M(d) = ln(1 + d/a) + ln((D + b) / (D + b − d))        nodes at even steps of M
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | d, D | `distance`, `thickness_m` | distance from the fine face, thickness | m |
//! | a, b | `even_m`, `far_even_m` | length over which cells are even at the near and the far face | m |
//!
//! A negative b says the same of a body whose cells may grow faster than their distance beyond c:
//! with D + b = −c the second term is −ln(1 + d/c).
//!
//! Cells near a fine face are even, further away they grow in proportion to the distance, as the
//! temperature's features do. A far face that needs nothing has b much longer than D. Doubling
//! the number of cells halves each of them, so errors fall at the rate of the scheme.
//!
//! Checked in: `tests/heat/order.rs`.

/// Numbers of cells are multiples of this, so that cases of a batch share few layouts.
const CELLS_STEP: usize = 4;

/// Fewest cells in a body.
pub const FEWEST_CELLS: usize = 8;

/// Most cells in a body: seventeen factors of e at the standard fineness need fewer than 100.
const MOST_CELLS: usize = 4096;

/// One body as the grid sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Length over which cells at the far face are even, m; below zero where they grow fast.
    pub far_even_m: f64,
}

impl Extent {
    /// A body whose far face needs no fine cells.
    pub fn plain(thickness_m: f64) -> Self {
        Extent {
            thickness_m,
            far_even_m: 1e3 * thickness_m,
        }
    }

    /// A body whose far face needs no fine cells, and whose cells may grow faster than their distance
    /// beyond `length_m`.
    pub fn coarser_beyond(thickness_m: f64, length_m: f64) -> Self {
        Extent {
            thickness_m,
            far_even_m: -(thickness_m + length_m),
        }
    }

    /// The same with cells in proportion to their distance, where so many of them that begin
    /// `first_m` wide cannot grow faster.
    fn possible(self, cells: usize, first_m: f64) -> Self {
        let length = -(self.thickness_m + self.far_even_m);
        let within = |distance: f64| distance / (1.0 + distance / length);
        let fits = cells as f64 * within(first_m) < 0.99 * within(self.thickness_m);
        if 0.0 <= self.far_even_m || fits {
            self
        } else {
            Extent::plain(self.thickness_m)
        }
    }

    fn measure(&self, even_m: f64, distance: f64) -> f64 {
        let reach = self.thickness_m + self.far_even_m;
        (distance / even_m).ln_1p() - (-distance / reach).ln_1p()
    }

    /// Number of cells that makes the first one `first_m` wide at a fineness, cells per e-fold.
    pub fn cells(&self, first_m: f64, cells_per_e_fold: f64) -> usize {
        let even = first_m / (1.0 / cells_per_e_fold).exp_m1();
        let needed = cells_per_e_fold * self.measure(even, self.thickness_m);
        let steps = (needed / CELLS_STEP as f64).ceil().max(0.0) as usize;
        (steps * CELLS_STEP).clamp(FEWEST_CELLS, MOST_CELLS)
    }

    /// Distances of the `cells` + 1 nodes from the near face; the first cell is `first_m` wide,
    /// or even with the others where these are not wider.
    pub fn nodes(&self, cells: usize, first_m: f64) -> Vec<f64> {
        let thickness = self.thickness_m;
        let even_width = thickness / cells as f64;
        if even_width * (1.0 - 1e-9) <= first_m {
            return (0..=cells)
                .map(|j| thickness * j as f64 / cells as f64)
                .collect();
        }
        let it = self.possible(cells, first_m);
        // exp M is a ratio of two lines in d, so each node has a closed form.
        let even = it.even_for(cells, first_m);
        let reach = thickness + it.far_even_m;
        let ratio = (1.0 + first_m / even) * (reach / (reach - first_m));
        let mut nodes = Vec::with_capacity(cells + 1);
        nodes.push(0.0);
        nodes.push(first_m);
        let mut grown = ratio;
        for _ in 2..cells {
            grown *= ratio;
            nodes.push(reach * (grown - 1.0) / (grown + reach / even));
        }
        nodes.push(thickness);
        nodes
    }

    /// The length a for which the first of `cells` cells is `first_m` wide.
    fn even_for(&self, cells: usize, first_m: f64) -> f64 {
        let n = cells as f64;
        let excess = |log_even: f64| {
            let even = log_even.exp();
            n * self.measure(even, first_m) - self.measure(even, self.thickness_m)
        };
        // Cells grow for small a (excess above zero) and even out for large a.
        let mut low = (first_m * 1e-6).ln();
        let mut high = if self.far_even_m < 0.0 {
            (-(1.0 - 1e-9) * (self.thickness_m + self.far_even_m)).ln()
        } else {
            (self.thickness_m * 1e9).ln()
        };
        let (mut at_low, mut at_high) = (excess(low), excess(high));
        if at_low <= 0.0 || 0.0 <= at_high {
            return if at_low <= 0.0 { low.exp() } else { high.exp() };
        }
        let mut log_even = (first_m * 5.0).ln().clamp(low, high);
        for _ in 0..200 {
            let value = excess(log_even);
            if value < 0.0 {
                (high, at_high) = (log_even, value);
            } else {
                (low, at_low) = (log_even, value);
            }
            if (high - low).abs() < 1e-9 || value == 0.0 {
                break;
            }
            let regula = low + (high - low) * at_low / (at_low - at_high);
            let middle = 0.5 * (low + high);
            // Regula falsi near the root, bisection far from it.
            log_even = if high - low < 1.0 && (regula - middle).abs() < 0.499 * (high - low) {
                regula
            } else {
                middle
            };
            if (regula - log_even).abs() < 1e-12 && high - low < 1e-6 {
                break;
            }
        }
        log_even.exp()
    }
}
