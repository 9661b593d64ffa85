//! When, within one step, both sides of the interface flow.
//!
//! Checked in: `tests/heat/extremes.rs`.

use crate::numerics::root::Cubic;
use crate::numerics::root::crossing;

/// How far both sides of the interface are above the enthalpies at which they flow during a step;
/// only the sign is used.
pub struct Margin<'a> {
    /// Enthalpy of either side over the step, J/m³.
    pub sides: &'a [Cubic; 2],
    /// Enthalpy at which either side flows, J/m³.
    pub flow: [f64; 2],
}

impl Margin<'_> {
    fn at(&self, s: f64) -> f64 {
        self.line_at(s).0
    }

    /// How far the side is above that is less so, and its slope.
    fn line_at(&self, s: f64) -> (f64, f64) {
        let [above, below] = self.sides;
        let (a, b) = (above.at(s) - self.flow[0], below.at(s) - self.flow[1]);
        if a < b {
            (a, above.slope(s))
        } else {
            (b, below.slope(s))
        }
    }

    /// The stretch of the step (0 to 1) in which both sides flow, if there is one.
    #[inline]
    pub fn stretch_above(&self) -> Option<(f64, f64)> {
        let [above, below] = self.sides;
        let beyond = |a: f64, b: f64| (a - self.flow[0]).min(b - self.flow[1]);
        let (start, end) = (
            beyond(above.start, below.start),
            beyond(above.end, below.end),
        );
        let place = |low: f64, high: f64| crossing(&|s| self.line_at(s), low, high);
        match (0.0 <= start, 0.0 <= end) {
            (true, true) => Some((0.0, 1.0)),
            (true, false) => Some((0.0, place(0.0, 1.0))),
            (false, true) => Some((place(0.0, 1.0), 1.0)),
            (false, false) => {
                let top = self
                    .sides
                    .iter()
                    .filter_map(Cubic::turning)
                    .max_by(|a, b| self.at(*a).total_cmp(&self.at(*b)))?;
                (0.0 <= self.at(top)).then(|| (place(0.0, top), place(top, 1.0)))
            }
        }
    }
}
