//! From the highest temperatures and damage of the nodes to what the verdict asks for.
//!
//! Between nodes, highest temperatures are read from the cubic through the four nodes around, in
//! one body; the highest of all from the polynomial through five nodes around the highest.

use crate::heat::case::Case;
use crate::heat::melt_depth::MeltDepth;
use crate::heat::melt_depth::Peaks;
use crate::heat::table::Pool;
use crate::heat::watch::Watch;
use crate::numerics::root::Newton;
use crate::numerics::tridiagonal::Lane;

/// Highest temperatures in one part.
#[derive(Clone, Debug)]
pub struct PartPeaks {
    depth: Vec<f64>,
    peak: Vec<f64>,
    least: f64,
    /// Depth and value of the highest temperature.
    highest: (f64, f64),
}

/// The most damaged place.
#[derive(Clone, Copy, Debug)]
pub struct Worst {
    /// Damage integral.
    pub integral: f64,
    /// Depth, m.
    pub depth: f64,
    /// Highest temperature there, K.
    pub peak: f64,
}

impl PartPeaks {
    /// Peaks of a body, from the laser side.
    pub fn new(case: &Case, watch: &Watch, pool: &Pool, lane: usize, body: usize) -> Self {
        let (first, last) = case.layout.nodes_of(body);
        // Only the nodes at the faces may have a table that they share with another body.
        let tables = [first, first + 1, last].map(|i| case.table_at(i));
        let kelvin = |i: usize, enthalpy: &Lane| {
            let table = tables[usize::from(first < i) + usize::from(i == last)];
            table.temperature_k(pool, enthalpy[lane])
        };
        let depth = case.depth[first..=last].to_vec();
        let peak: Vec<f64> = (first..=last)
            .map(|i| kelvin(i, &watch.nodes[i].peak))
            .collect();
        let inside = watch.nodes[first + 1..last]
            .iter()
            .fold(f64::INFINITY, |least, it| least.min(it.least[lane]));
        let least = kelvin(first, &watch.nodes[first].least)
            .min(kelvin(last, &watch.nodes[last].least))
            .min(tables[1].temperature_k(pool, inside));
        PartPeaks {
            highest: summit(&depth, &peak),
            depth,
            peak,
            least,
        }
    }

    /// Highest temperature at a depth, K.
    pub fn at(&self, depth: f64) -> f64 {
        let right = self.depth.partition_point(|&z| z <= depth);
        if right == 0 {
            return self.peak[0];
        }
        if right == self.depth.len() {
            return self.peak[right - 1];
        }
        self.peaks().curve(right).at(depth).0
    }

    /// Highest temperature of the laser-side face.
    pub fn at_front(&self) -> f64 {
        self.peak[0]
    }

    /// Highest temperature of the far face.
    pub fn at_back(&self) -> f64 {
        self.peak[self.peak.len() - 1]
    }

    /// Lowest and highest temperature.
    pub fn range(&self) -> (f64, f64) {
        (self.least, self.highest().1)
    }

    /// Depth and value of the highest temperature.
    pub fn highest(&self) -> (f64, f64) {
        self.highest
    }

    /// How deep it reached `level`, from `face`, the front or the back of the part.
    pub fn melt_depth(&self, level: f64, face: f64) -> MeltDepth {
        self.peaks().melt_depth(level, face)
    }

    fn peaks(&self) -> Peaks<'_> {
        Peaks {
            depth: &self.depth,
            peak: &self.peak,
            highest: self.highest.1,
        }
    }

    /// The most damaged place of the part, given the damage integral of its nodes.
    ///
    /// Between nodes the logarithm is followed; where a neighbour has no damage at all it has no
    /// logarithm, and the most damaged node itself is taken.
    pub fn worst(&self, integral: &[f64]) -> Worst {
        let top = (0..integral.len())
            .max_by(|&a, &b| integral[a].total_cmp(&integral[b]))
            .unwrap_or(0);
        let around = top.saturating_sub(2)..(top + 3).min(integral.len());
        if integral[around].contains(&0.0) {
            return Worst {
                integral: integral[top],
                depth: self.depth[top],
                peak: self.at(self.depth[top]),
            };
        }
        let log: Vec<f64> = integral.iter().map(|it| it.max(1e-300).ln()).collect();
        let (depth, highest) = summit(&self.depth, &log);
        Worst {
            integral: highest.exp(),
            depth,
            peak: self.at(depth),
        }
    }
}

/// Place and value of the maximum of a curve through points: of the polynomial through the highest
/// and two on either side of it.
fn summit(x: &[f64], y: &[f64]) -> (f64, f64) {
    let mut top = 0;
    for i in 1..y.len() {
        if y[top] < y[i] {
            top = i;
        }
    }
    if top == 0 || top + 1 == y.len() {
        return (x[top], y[top]);
    }
    let around = top.saturating_sub(2)..(top + 3).min(y.len());
    let curve = Newton::through(&x[around.clone()], &y[around]);
    // Golden section between the neighbours of the highest point.
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let (mut low, mut high) = (x[top - 1], x[top + 1]);
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_left, mut at_right) = (curve.at(left).0, curve.at(right).0);
    for _ in 0..24 {
        if at_left < at_right {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = curve.at(right).0;
        } else {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = curve.at(left).0;
        }
    }
    let at = 0.5 * (low + high);
    let value = curve.at(at).0;
    // Noise in the points could bend the polynomial away: the highest point is a lower bound.
    if y[top] <= value {
        (at, value)
    } else {
        (x[top], y[top])
    }
}
