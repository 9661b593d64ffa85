//! How deep a part melted, read off the highest temperatures of its nodes, and how far that reading is
//! in doubt.
//!
//! A part that just reaches its flow temperature, or a melt front on which it falls slowly, turns a small
//! error of the temperature into a large one of the depth: dz = dT / |dT/dz|. A front that bends within
//! one cell is read wrongly even where the nodes are right. Both show in the answer itself, and so the few
//! cases in doubt can be solved again with finer settings (`batch`), while all others cost nothing more.
//!
//! Checked in: `tests/heat/melt_depth.rs`.

use std::ops::Range;

use crate::numerics::root::Newton;

/// Error to be expected of a highest temperature at the standard settings, K: nine of ten at the interface
/// of random joints are off by less.
const EXPECTED_ERROR_K: f64 = 0.1;

/// Share of the difference between the parabolas on either side that counts as error of the cubic. Larger
/// shares find more depths that are off, but also half of all joints like the reference joint A1,
/// which are not.
const BETWEEN_PARABOLAS: f64 = 1.0 / 3.0;

/// A melt depth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeltDepth {
    /// Greatest distance from the interface that reached the flow temperature, m.
    pub depth_m: f64,
    /// By how much of itself it may be off, as far as can be told from the nodes; 1 where a part that
    /// stayed solid may have melted.
    pub doubt: f64,
}

/// Highest temperatures of the nodes of a part.
#[derive(Clone, Copy)]
pub struct Peaks<'a> {
    /// Depths of the nodes, m, from the laser side.
    pub depth: &'a [f64],
    /// Highest temperatures, K.
    pub peak: &'a [f64],
    /// The highest of all, at a node or between, K.
    pub highest: f64,
}

impl Peaks<'_> {
    /// Up to four nodes around the interval that ends at node `right`.
    fn around(&self, right: usize) -> Range<usize> {
        right.saturating_sub(2)..(right + 2).min(self.depth.len())
    }

    /// The curve through these.
    pub fn curve(&self, right: usize) -> Newton {
        let around = self.around(right);
        Newton::through(&self.depth[around.clone()], &self.peak[around])
    }

    /// How deep the part reached the temperature `level`, from `face`, its front or its back.
    pub fn melt_depth(&self, level: f64, face: f64) -> MeltDepth {
        let last = self.depth.len() - 1;
        let from_back = face == self.depth[last];
        let farthest = |level: f64| {
            let reached = |i: &usize| level <= self.peak[*i];
            if from_back {
                (0..=last).find(reached)
            } else {
                (0..=last).rev().find(reached)
            }
        };
        let distance = |depth: f64| (depth - face).abs();
        // The farthest node that would have melted, had all been a little hotter.
        let nearly = farthest(level - EXPECTED_ERROR_K);
        let Some(i) = farthest(level) else {
            let may = nearly.is_some() || level - EXPECTED_ERROR_K < self.highest;
            return MeltDepth {
                depth_m: 0.0,
                doubt: f64::from(u8::from(may)),
            };
        };
        let colder = if from_back {
            i.checked_sub(1)
        } else {
            Some(i + 1).filter(|j| *j <= last)
        };
        let Some(j) = colder else {
            // Molten throughout, if only just.
            let just = self.peak[i] < level + EXPECTED_ERROR_K;
            return MeltDepth {
                depth_m: distance(self.depth[i]),
                doubt: f64::from(u8::from(just)),
            };
        };
        let (from, to) = (i.min(j), i.max(j));
        let points = &self.depth[self.around(to)];
        let curve = self.curve(to);
        let depth = curve.reaches(level, self.depth[i], self.depth[j]);
        // By how much the curve differs from those through one point less: of three points, the line; of
        // four, either parabola from the other.
        let reach = match points.len() {
            4 => BETWEEN_PARABOLAS * (points[3] - points[0]),
            _ => 1.0,
        };
        let bend = curve.leading(points.len()).abs()
            * (depth - self.depth[from])
            * (self.depth[to] - depth)
            * reach;
        let chord = (self.peak[i] - self.peak[j]) / (self.depth[to] - self.depth[from]);
        // A curve that turns at the level has no slope there, yet falls to the next node.
        let slope = curve.at(depth).1.abs().max(0.1 * chord);
        let depth_m = distance(depth);
        let off_m = (EXPECTED_ERROR_K.max(bend) / slope)
            .max(nearly.map_or(0.0, |j| distance(self.depth[j]) - depth_m));
        MeltDepth {
            depth_m,
            doubt: (off_m / depth_m.max(f64::MIN_POSITIVE)).min(1.0),
        }
    }
}
