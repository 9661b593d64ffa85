//! Absorbed light against depth in one layer, at depths that crowd towards both faces.
//!
//! A scattering layer is halved again and again; the field in the middle of a cell follows from
//! that at its faces (parts of one symmetry s, q; operators Z, Y of half the cell):
//!
//! ```text
//! in the middle     s = (s₁ + s₂)/2 + Y (q₂ − q₁)/2,      q = (q₁ + q₂)/2 + Z (s₂ − s₁)/2
//! a cell absorbs    y·(s₁ + s₂)
//! ```
//!
//! so that depths cost two products of matrix and vector each. In a clear layer every direction
//! decays by itself and the absorbed light is written down at once. Cells are at most a quarter as
//! thick as their distance from the nearer face, but need not be thinner than a fiftieth of the
//! free path.
//!
//! Source: see `doubling`. Checked in: `tests/optics/published.rs` (discrete-ordinates profiles).

use crate::error::{Error, OpticsProblem};
use crate::numerics::interpolate::MonotoneCubic;
use crate::numerics::small_matrix::dot;
use crate::optics::absorbed::DepthProfile;
use crate::optics::adding_doubling::adding::Ends;
use crate::optics::adding_doubling::doubling::Doubled;
use crate::optics::slab::Slab;

/// Cells thinner than this many free paths are not cut further.
const THIN_CELL: f64 = 0.02;

/// Cells thicker than this share of their distance from the nearer face are cut.
const CELL_PER_DISTANCE: f64 = 0.25;

/// Cells thicker than this share of the layer are always cut.
const THICKEST_CELL: f64 = 0.0625;

/// Halvings of a clear layer after which cells are not cut further.
const MOST_HALVINGS: u32 = 30;

/// Rule of the cells, in shares of the layer's thickness.
struct Grading {
    /// Share of the layer below which nothing is gained.
    least: f64,
}

impl Grading {
    fn new(extinction_per_m: f64, thickness_m: f64) -> Self {
        Grading {
            least: THIN_CELL / (extinction_per_m * thickness_m),
        }
    }

    fn cuts(&self, from: f64, to: f64) -> bool {
        let width = to - from;
        let distance = from.min(1.0 - to);
        THICKEST_CELL < width || self.least.max(CELL_PER_DISTANCE * distance) < width
    }
}

/// Sum and difference of the two ways at one depth.
#[derive(Clone)]
struct Both {
    sum: Vec<f64>,
    net: Vec<f64>,
}

impl Both {
    fn new(down: &[f64], up: &[f64]) -> Self {
        let pairs = || down.iter().zip(up);
        Both {
            sum: pairs().map(|(d, u)| d + u).collect(),
            net: pairs().map(|(d, u)| d - u).collect(),
        }
    }
}

/// Absorption in a scattering layer with `extinction_per_m`, forward peak not counted, and the
/// `absorption` of each direction, µa √c / µ, 1/m.
///
/// # Errors
/// The depths do not make a table, which means the light is not finite.
pub fn in_scattering(
    doubled: &Doubled,
    ends: &Ends,
    absorption: &[f64],
    extinction_per_m: f64,
    slab: &Slab,
) -> Result<DepthProfile, Error> {
    let grading = Grading::new(extinction_per_m, slab.thickness_m);
    let density = |sum: &[f64]| dot(absorption, sum) * slab.thickness_m;
    let top = Both::new(&ends.down_top, &ends.up_top);
    let foot = Both::new(&ends.down_foot, &ends.up_foot);
    let mut table = Table::new(density(&top.sum));
    let whole = Cell {
        level: doubled.levels.len() - 1,
        from: 0.0,
        to: 1.0,
    };
    whole.walk(doubled, &grading, [&top, &foot], &mut table, &density);
    table.finish(slab.thickness_m)
}

struct Cell {
    level: usize,
    from: f64,
    to: f64,
}

impl Cell {
    fn walk(
        &self,
        doubled: &Doubled,
        grading: &Grading,
        faces: [&Both; 2],
        table: &mut Table,
        density: &impl Fn(&[f64]) -> f64,
    ) {
        let [top, foot] = faces;
        if self.level == 0 || !grading.cuts(self.from, self.to) {
            let level = &doubled.levels[self.level];
            let absorbed = dot(&level.absorption, &top.sum) + dot(&level.absorption, &foot.sum);
            table.push(self.to, absorbed, density(&foot.sum));
            return;
        }
        let half = &doubled.levels[self.level - 1];
        let gain: Vec<f64> = (0..top.net.len())
            .map(|k| 0.5 * (foot.net[k] - top.net[k]))
            .collect();
        let slope: Vec<f64> = (0..top.sum.len())
            .map(|k| 0.5 * (foot.sum[k] - top.sum[k]))
            .collect();
        let mut middle = Both {
            sum: half.odd.times_vector(&gain),
            net: half.even.times_vector(&slope),
        };
        for k in 0..top.sum.len() {
            middle.sum[k] += 0.5 * (top.sum[k] + foot.sum[k]);
            middle.net[k] += 0.5 * (top.net[k] + foot.net[k]);
        }
        let between = 0.5 * (self.from + self.to);
        let level = self.level - 1;
        let upper = Cell {
            level,
            from: self.from,
            to: between,
        };
        let lower = Cell {
            level,
            from: between,
            to: self.to,
        };
        upper.walk(doubled, grading, [top, &middle], table, density);
        lower.walk(doubled, grading, [&middle, foot], table, density);
    }
}

/// Absorption in a layer that does not scatter; `cosines` and `roots` by direction.
///
/// # Errors
/// As [`in_scattering`].
pub fn in_clear(
    ends: &Ends,
    cosines: &[f64],
    roots: &[f64],
    slab: &Slab,
) -> Result<DepthProfile, Error> {
    let mu_a_per_m = slab.constants.mu_a_per_m;
    let whole = mu_a_per_m * slab.thickness_m;
    if whole == 0.0 {
        return Ok(DepthProfile::Exponential {
            down: 0.0,
            up: 0.0,
            mu_per_m: 0.0,
            thickness_m: slab.thickness_m,
        });
    }
    let lit: Vec<usize> = (0..cosines.len())
        .filter(|&k| ends.down_top[k] != 0.0 || ends.up_foot[k] != 0.0)
        .collect();
    let lost = |thickness: f64, cosine: f64| -(-whole * thickness / cosine).exp_m1();
    let absorbed = |from: f64, to: f64| -> f64 {
        lit.iter()
            .map(|&k| {
                let cosine = cosines[k];
                let down = ends.down_top[k] * (-whole * from / cosine).exp();
                let up = ends.up_foot[k] * (-whole * (1.0 - to) / cosine).exp();
                roots[k] * (down + up) * lost(to - from, cosine)
            })
            .sum()
    };
    let density = |depth: f64| -> f64 {
        lit.iter()
            .map(|&k| {
                let cosine = cosines[k];
                let down = ends.down_top[k] * (-whole * depth / cosine).exp();
                let up = ends.up_foot[k] * (-whole * (1.0 - depth) / cosine).exp();
                roots[k] * (down + up) * whole / cosine
            })
            .sum()
    };
    let grading = Grading::new(mu_a_per_m, slab.thickness_m);
    let mut table = Table::new(density(0.0));
    cut(&grading, [0.0, 1.0], MOST_HALVINGS, &mut |from, to| {
        table.push(to, absorbed(from, to), density(to));
    });
    table.finish(slab.thickness_m)
}

fn cut(grading: &Grading, [from, to]: [f64; 2], left: u32, cell: &mut impl FnMut(f64, f64)) {
    if left == 0 || !grading.cuts(from, to) {
        cell(from, to);
        return;
    }
    let middle = 0.5 * (from + to);
    cut(grading, [from, middle], left - 1, cell);
    cut(grading, [middle, to], left - 1, cell);
}

/// Absorbed light between the front face and ascending depths.
struct Table {
    /// Shares of the layer's thickness.
    depths: Vec<f64>,
    absorbed: Vec<f64>,
    /// Absorbed light per unit of `depths`.
    densities: Vec<f64>,
}

/// Share of the incident light that is rounding.
const ROUNDING: f64 = 1e-12;

impl Table {
    fn new(density: f64) -> Self {
        Table {
            depths: vec![0.0],
            absorbed: vec![0.0],
            densities: vec![density],
        }
    }

    fn push(&mut self, depth: f64, more: f64, density: f64) {
        let so_far = self.absorbed[self.absorbed.len() - 1];
        // Behind all but opaque layers a share is the difference of numbers that are rounding.
        let more = if -ROUNDING < more {
            more.max(0.0)
        } else {
            more
        };
        self.depths.push(depth);
        self.absorbed.push(so_far + more);
        self.densities.push(density);
    }

    fn finish(self, thickness_m: f64) -> Result<DepthProfile, Error> {
        let depths_m = self.depths.iter().map(|it| it * thickness_m).collect();
        let slopes = self.densities.iter().map(|it| it / thickness_m).collect();
        MonotoneCubic::with_slopes(depths_m, self.absorbed, slopes)
            .map(DepthProfile::Tabulated)
            .map_err(|fault| {
                Error::new(OpticsProblem::MethodDoesNotApply {
                    method: super::NAME.into(),
                    reason: format!("the light in a layer is not finite ({fault:?})"),
                })
            })
    }
}
