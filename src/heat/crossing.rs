//! When, within one step, both sides of the interface flow.
//!
//! Checked in: `tests/heat/extremes.rs`.

use crate::numerics::root::Cubic;
use crate::numerics::root::bisect;

/// How far both sides of the interface are above the enthalpies at which they flow during a step;
/// only the sign is used.
pub struct Margin {
    /// Enthalpy of either side over the step, J/m³.
    pub sides: [Cubic; 2],
    /// Enthalpy at which either side flows, J/m³.
    pub flow: [f64; 2],
}

impl Margin {
    fn at(&self, s: f64) -> f64 {
        (self.sides[0].at(s) - self.flow[0]).min(self.sides[1].at(s) - self.flow[1])
    }

    /// The stretch of the step (0 to 1) in which both sides flow, if there is one.
    pub fn stretch_above(&self) -> Option<(f64, f64)> {
        let beyond = |number: fn(&Cubic) -> f64| {
            (number(&self.sides[0]) - self.flow[0]).min(number(&self.sides[1]) - self.flow[1])
        };
        let (start, end) = (beyond(|it| it.start), beyond(|it| it.end));
        let crossing = |low: f64, high: f64| bisect(&|s| self.at(s), low, high);
        match (0.0 <= start, 0.0 <= end) {
            (true, true) => Some((0.0, 1.0)),
            (true, false) => Some((0.0, crossing(0.0, 1.0))),
            (false, true) => Some((crossing(0.0, 1.0), 1.0)),
            (false, false) => {
                let top = self
                    .sides
                    .iter()
                    .filter_map(Cubic::turning)
                    .max_by(|a, b| self.at(*a).total_cmp(&self.at(*b)))?;
                (0.0 <= self.at(top)).then(|| (crossing(0.0, top), crossing(top, 1.0)))
            }
        }
    }
}
