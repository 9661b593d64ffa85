//! The process modes: what lights a point of the seam, for how long, and what an operator sets.
//!
//! ```text
//! contour             one passage of the spot                   dwell l / v
//! quasi-simultaneous  n passages, one every L / v               n, or the time n L / v
//! simultaneous        one shot on the whole seam                E = P / (l w), time t
//! mask                one passage of a line over an opening     E = P / (l b), dwell l / v
//! radial              n passages, one every turn                v = π (D − 2 h) / t_turn
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | l, w | `length_m`, `width_m` of the beam | spot, seam or line: along the travel, across it | m |
//! | b | `width_m` of the beam | length of a line source, across its travel | m |
//! | v | `speed_m_per_s` | feed rate of spot or line | m/s |
//! | L | `path_m` | length of the closed path of the spot | m |
//! | n | `passes`, `turns` | how often the light returns | – |
//! | D, h | `diameter_m`, `thickness_m` | outer diameter and wall of the upper part | m |
//!
//! Holds for: a straight or gently curved seam, every point of which sees the same. Radial: the wall
//! is taken as plane with the feed rate at the joint's own radius, so that the energy on the joint
//! is right to first order; heat and the width of the spot are plane, which holds for walls thin
//! against the radius ([`PLANE_WALL`]). Overlapping passages (a spot as long as the path) are one
//! long shot of their mean.
//!
//! Does not hold for: corners and the ends of an open path, where a scanner is slower and the light
//! returns after another time than a period.
//!
//! Checked in: `tests/weld/modes.rs`.

use std::f64::consts::PI;

use crate::optics::Exposure;
use crate::optics::beam::{Beam, Shape};
use crate::weld::joint::{Joint, Motion};

/// Wall of the upper part over its outer radius above which a radial weld is warned about: the
/// light then converges by as much, and heat spreads in a ring in place of a plane.
pub const PLANE_WALL: f64 = 0.1;

/// A closed path shorter than this many spots is lit nearly all the time.
pub const SHORTEST_PATH: f64 = 2.0;

/// Least diameter inside the upper part of a round joint, m: room for both walls of the lower part, and
/// for [`SHORTEST_PATH`] spots around.
pub fn least_inner_m(lower_thickness_m: f64, beam: &Beam) -> f64 {
    (2.0 * lower_thickness_m).max(SHORTEST_PATH * beam.length_m / PI)
}

/// What an operator sets beside the power.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lever {
    /// Feed rate of a spot or line that passes once, m/s.
    Speed,
    /// Number of passes of quasi-simultaneous welding.
    Passes,
    /// Number of turns of radial welding.
    Turns,
    /// Time of a simultaneous shot, s.
    Time,
}

impl Lever {
    /// True where only whole numbers can be set.
    pub fn is_whole(self) -> bool {
        matches!(self, Lever::Passes | Lever::Turns)
    }

    /// Name in JSON, with the unit.
    pub fn key(self) -> &'static str {
        match self {
            Lever::Speed => "speed_m_per_s",
            Lever::Passes => "passes",
            Lever::Turns => "turns",
            Lever::Time => "time_s",
        }
    }

    /// The nearest value that can be set, at least one where only whole numbers can.
    pub fn rounded(self, value: f64) -> f64 {
        if self.is_whole() {
            value.round().max(1.0)
        } else {
            value
        }
    }
}

impl Motion {
    /// What is set beside the power.
    pub fn lever(&self) -> Lever {
        match self {
            Motion::Contour { .. } | Motion::Mask { .. } => Lever::Speed,
            Motion::QuasiSimultaneous { .. } => Lever::Passes,
            Motion::Radial { .. } => Lever::Turns,
            Motion::Simultaneous { .. } => Lever::Time,
        }
    }

    /// Its value, SI.
    pub fn setting(&self) -> f64 {
        match *self {
            Motion::Contour { speed_m_per_s } | Motion::Mask { speed_m_per_s, .. } => speed_m_per_s,
            Motion::QuasiSimultaneous { passes, .. } => f64::from(passes),
            Motion::Radial { turns, .. } => f64::from(turns),
            Motion::Simultaneous { time_s } => time_s,
        }
    }

    /// The same with the lever at another value, SI; whole numbers are rounded.
    pub fn at_setting(&self, value: f64) -> Motion {
        let mut changed = *self;
        let whole = Lever::Passes.rounded(value).min(f64::from(u32::MAX)) as u32;
        match &mut changed {
            Motion::Contour { speed_m_per_s } | Motion::Mask { speed_m_per_s, .. } => {
                *speed_m_per_s = value;
            }
            Motion::QuasiSimultaneous { passes, .. } => *passes = whole,
            Motion::Radial { turns, .. } => *turns = whole,
            Motion::Simultaneous { time_s } => *time_s = value,
        }
        changed
    }

    /// The same with every speed multiplied by a factor: feed rate, scan speed, rotation. A shot
    /// has no speed.
    pub fn faster(&self, factor: f64) -> Motion {
        let mut changed = *self;
        match &mut changed {
            Motion::Contour { speed_m_per_s }
            | Motion::Mask { speed_m_per_s, .. }
            | Motion::QuasiSimultaneous { speed_m_per_s, .. } => *speed_m_per_s *= factor,
            Motion::Radial { turn_s, .. } => *turn_s /= factor,
            Motion::Simultaneous { .. } => {}
        }
        changed
    }

    /// True where the whole seam is molten at once, so that the parts come together.
    pub fn collapses(&self) -> bool {
        matches!(
            self,
            Motion::QuasiSimultaneous { .. } | Motion::Simultaneous { .. }
        )
    }

    /// How often the light comes to a point of the seam.
    pub fn passes(&self) -> u32 {
        match *self {
            Motion::Contour { .. } | Motion::Simultaneous { .. } | Motion::Mask { .. } => 1,
            Motion::QuasiSimultaneous { passes, .. } => passes,
            Motion::Radial { turns, .. } => turns,
        }
    }

    /// Time from one passage to the next, s; none where the light comes once.
    pub fn period_s(&self) -> Option<f64> {
        match *self {
            Motion::Contour { .. } | Motion::Simultaneous { .. } | Motion::Mask { .. } => None,
            Motion::QuasiSimultaneous {
                path_m,
                speed_m_per_s,
                ..
            } => Some(path_m / speed_m_per_s),
            Motion::Radial { turn_s, .. } => Some(turn_s),
        }
    }
}

impl Joint {
    /// The joint with what is set beside the power at another value, SI.
    pub fn at_setting(&self, value: f64) -> Joint {
        Joint {
            motion: self.motion.at_setting(value),
            ..self.clone()
        }
    }

    /// Speed of the light over the joint, m/s; none for a shot.
    pub fn speed_m_per_s(&self) -> Option<f64> {
        match self.motion {
            Motion::Contour { speed_m_per_s }
            | Motion::Mask { speed_m_per_s, .. }
            | Motion::QuasiSimultaneous { speed_m_per_s, .. } => Some(speed_m_per_s),
            Motion::Radial {
                diameter_m, turn_s, ..
            } => Some(PI * (diameter_m - 2.0 * self.upper.thickness_m) / turn_s),
            Motion::Simultaneous { .. } => None,
        }
    }

    /// Greatest thickness of the upper part that the process has room for, m: what a round part leaves,
    /// elsewhere without limit.
    pub fn thickest_upper_m(&self) -> f64 {
        match self.motion {
            Motion::Radial { diameter_m, .. } => {
                0.5 * (diameter_m - least_inner_m(self.lower.thickness_m, &self.beam))
            }
            _ => f64::INFINITY,
        }
    }

    /// The part of the beam that reaches the seam: all of it, or what a mask lets through.
    pub fn spot(&self) -> Beam {
        match self.motion {
            Motion::Mask { opening_m, .. } => Beam {
                width_m: opening_m,
                power_w: self.beam.power_w * opening_m / self.beam.width_m,
                ..self.beam
            },
            _ => self.beam,
        }
    }

    /// Area over which the power is spread at once, m²: for a shot that of the whole seam.
    pub fn lit_area_m2(&self) -> f64 {
        self.beam.length_m * self.beam.width_m
    }

    /// Irradiance against time at a point of the seam under `beam`, the spot as the joint sees it.
    pub fn exposure(&self, beam: &Beam) -> Exposure {
        let Some(speed_m_per_s) = self.speed_m_per_s() else {
            return Exposure {
                pulse: Shape::TopHat,
                irradiance_w_per_m2: beam.peak_irradiance_w_per_m2(),
                dwell_s: self.motion.setting(),
                passes: 1,
                period_s: 0.0,
            };
        };
        let once = beam.passage(speed_m_per_s);
        let (passes, Some(period_s)) = (self.motion.passes(), self.motion.period_s()) else {
            return once;
        };
        if passes <= 1 {
            return once;
        }
        if period_s <= once.pulse_s() {
            return Exposure {
                pulse: Shape::TopHat,
                irradiance_w_per_m2: once.pulse_fluence_j_per_m2() / period_s,
                dwell_s: f64::from(passes) * period_s,
                passes: 1,
                period_s: 0.0,
            };
        }
        Exposure {
            passes,
            period_s,
            ..once
        }
    }

    /// Time from the first light to the last on the part itself, s.
    pub fn process_s(&self) -> f64 {
        match (self.motion.period_s(), self.motion) {
            (Some(period_s), _) => f64::from(self.motion.passes()) * period_s,
            (None, Motion::Simultaneous { time_s }) => time_s,
            (None, _) => self.exposure(&self.spot()).heating_s(),
        }
    }

    /// Energy the light brings by the mode's own measure.
    pub fn energy(&self) -> Energy {
        let power_w = self.beam.power_w;
        match (self.motion, self.speed_m_per_s()) {
            (Motion::Mask { speed_m_per_s, .. }, _) => {
                Energy::PerArea(power_w / (self.beam.width_m * speed_m_per_s))
            }
            (_, Some(speed)) => {
                Energy::PerLength(power_w * f64::from(self.motion.passes()) / speed)
            }
            (_, None) => Energy::PerArea(power_w / self.lit_area_m2() * self.motion.setting()),
        }
    }
}

/// Energy by the measure of a process mode.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Energy {
    /// Of all passages, J/m of seam.
    PerLength(f64),
    /// J/m² of seam.
    PerArea(f64),
}
