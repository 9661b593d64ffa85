//! The inverse question: what must hold of the parts so that the weld forgives as much as is asked.
//!
//! Asked is that the power may drift by ±s at the joint's speed, with the laser at hand:
//!
//! ```text
//! g(x) = ln( min(highest, P_max) / max(lowest, P_min) )  −  ln( (1 + s) / (1 − s) )  ≥ 0
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | s | `Ask::drift` | share by which the power may drift either way |
//! | x | `factor` | multiplies one input of the joint: extinction, thickness, absorber |
//! | lowest, highest | `PowerLimits` | sound powers, each a root of real simulations |
//! | P_min, P_max | `Machine::power_w` | what the laser delivers |
//!
//! g is looked at from the joint outwards in steps of x, until it is negative and gets worse twice
//! in a row or the range ends; the run of x with g ≥ 0 that holds the joint itself (or, if the
//! joint does not comply, the longest) is kept and its ends are roots of g in ln x. The end given
//! is the side that complies.
//!
//! How dark a part may be depends on why it is dark, since an absorbing lid heats itself and a
//! scattering one does not; so the least transmittance is sought three times: by absorption and
//! scattering in the proportion of the grade at hand, by absorption alone, by scattering alone.
//!
//! Checked in: `tests/study/requirement.rs`: latitude and verdict a hair either side of each limit.

use crate::error::Error;
use crate::optics::{self, Method, Slab, Stack};
use crate::study::power_limits::PowerLimits;
use crate::study::progress::Progress;
use crate::study::requirement_search::Search;
use crate::study::scatter::{Draw, Quantity};
use crate::study::window::ranges;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

/// Relative width to which the ends of a range are found.
pub const EDGE_TOLERANCE: f64 = 5e-4;

/// How far beyond the stated power to look, as a ratio.
const BEYOND: f64 = 16.0;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    /// Share by which the power may drift either way, 0 to 1.
    pub drift: f64,
}

impl Ask {
    /// Ratio of highest to lowest usable power that is needed.
    pub fn ratio(self) -> f64 {
        (1.0 + self.drift) / (1.0 - self.drift)
    }
}

/// Share by which power may drift either way in the middle of a latitude; below zero where shut.
pub fn drift_of(latitude: f64) -> f64 {
    (latitude - 1.0) / (latitude + 1.0)
}

/// What is varied.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Vary {
    /// Absorption and scattering of the upper part in proportion.
    Extinction,
    /// Absorption of the upper part alone.
    Absorption,
    /// Scattering of the upper part alone.
    Scattering,
    /// Thickness of the upper part.
    Thickness,
    /// Absorber in the lower part.
    Absorber,
}

impl Vary {
    /// All, in the order of the report.
    pub const ALL: [Vary; 5] = [
        Vary::Extinction,
        Vary::Absorption,
        Vary::Scattering,
        Vary::Thickness,
        Vary::Absorber,
    ];

    /// The words used for it, and its key in JSON.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Vary::Extinction => ("darker as this grade is", "extinction"),
            Vary::Absorption => ("darker by absorption", "absorption"),
            Vary::Scattering => ("darker by scattering", "scattering"),
            Vary::Thickness => ("thickness of the upper part", "thickness"),
            Vary::Absorber => ("absorber in the lower part", "absorber"),
        }
    }

    pub(super) fn quantity(self) -> Quantity {
        match self {
            Vary::Extinction => Quantity::UpperOptics,
            Vary::Absorption => Quantity::UpperAbsorption,
            Vary::Scattering => Quantity::UpperScattering,
            Vary::Thickness => Quantity::UpperThickness,
            Vary::Absorber => Quantity::Absorber,
        }
    }
}

/// A joint with one input multiplied, and what it is worth.
#[derive(Clone, Debug)]
pub struct Point {
    /// Factor on the input.
    pub factor: f64,
    /// The joint.
    pub joint: Joint,
    /// Total transmittance of the upper part in air.
    pub transmittance: f64,
    /// Share of the light delivered to the interface.
    pub delivered: f64,
    /// Its sound powers.
    pub limits: PowerLimits,
    /// Highest over lowest power inside the laser's; none where there is none.
    pub latitude: Option<f64>,
}

/// One end of the factors that comply.
#[derive(Clone, Debug)]
pub enum End {
    /// Beyond this point the latitude is too small; the point itself complies.
    At(Box<Point>),
    /// Complies as far as was looked.
    Beyond(Box<Point>),
}

impl End {
    /// The last point that complies.
    pub fn point(&self) -> &Point {
        match self {
            End::At(point) | End::Beyond(point) => point,
        }
    }

    /// True where the end was found.
    pub fn is_limit(&self) -> bool {
        matches!(self, End::At(_))
    }
}

/// Why nothing complies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// A rule that wants heat is met at no power looked at.
    NeverHot {
        /// The rule.
        rule: Rule,
    },
    /// A rule that must stay cool is broken at every power looked at.
    NeverCool {
        /// The rule.
        rule: Rule,
    },
    /// It would do with a stronger laser.
    LaserTooWeak {
        /// Power that would be needed at the most favourable factor, W.
        needs_w: f64,
        /// What the laser delivers, W.
        has_w: f64,
    },
    /// It would do with a laser that can be turned down further.
    LaserTooStrong {
        /// Power that would be needed at the most favourable factor, W.
        needs_w: f64,
        /// Least power of the laser, W.
        has_w: f64,
    },
    /// The highest sound power is too near the lowest.
    TooNarrow {
        /// Largest latitude found.
        latitude: f64,
        /// Rule that sets the lowest power there.
        low: Option<Rule>,
        /// Rule that sets the highest power there.
        high: Option<Rule>,
    },
}

/// The answer about one input.
#[derive(Clone, Debug)]
pub enum Range {
    /// Factors that comply, from the least to the greatest.
    Found(End, End),
    /// None complies; the most favourable factor looked at, and why.
    Nowhere(Box<Point>, Why),
}

/// What must hold of the parts.
#[derive(Clone, Debug)]
pub struct Requirement {
    /// What was asked.
    pub ask: Ask,
    /// The joint as it stands.
    pub own: Point,
    /// Powers of the laser, W; those looked at where the joint names no machine.
    pub laser_w: (f64, f64),
    /// Powers looked at, W.
    pub power_w: (f64, f64),
    /// Answers, with the grid that was looked at: factor, transmittance, latitude.
    pub answers: Vec<(Vary, Range, Vec<Point>)>,
}

impl Requirement {
    /// True where the joint as it stands has the latitude asked.
    pub fn complies(&self) -> bool {
        0.0 <= score(&self.own, self.ask)
    }

    /// The answer about one input; none where it cannot be varied.
    pub fn range(&self, vary: Vary) -> Option<&Range> {
        self.answers
            .iter()
            .find_map(|it| (it.0 == vary).then_some(&it.1))
    }

    /// The strictest least transmittance, and what sets it; none where none is found.
    pub fn least_transmittance(&self) -> Option<(Vary, &Point)> {
        [Vary::Extinction, Vary::Absorption, Vary::Scattering]
            .into_iter()
            .filter_map(|vary| match self.range(vary)? {
                Range::Found(_, end) => Some((vary, end)),
                Range::Nowhere(..) => None,
            })
            .filter(|it| it.1.is_limit())
            .map(|(vary, end)| (vary, end.point()))
            .max_by(|a, b| a.1.transmittance.total_cmp(&b.1.transmittance))
    }
}

/// g of the head of this file; minus infinity where no power is sound.
pub fn score(point: &Point, ask: Ask) -> f64 {
    match point.latitude {
        Some(latitude) if 0.0 < latitude => (latitude / ask.ratio()).ln(),
        _ => f64::NEG_INFINITY,
    }
}

/// Total transmittance in air of the upper part of a joint, as a sphere reads it: normal incidence,
/// both faces, all light that comes through.
///
/// # Errors
/// A spectrum does not reach the wavelength, or the light cannot be followed.
pub fn transmittance_of(joint: &Joint) -> Result<f64, Error> {
    let stack = Stack::alone(Slab {
        thickness_m: joint.upper.thickness_m,
        constants: joint.upper.optical_at(joint.wavelength_m)?,
    });
    Ok(optics::absorb(&stack, Method::default_for(&stack))?.transmitted)
}

/// Finds what must hold of the parts of a joint.
///
/// # Errors
/// The light or heat of a joint on the way cannot be followed.
pub fn requirement(
    joint: &Joint,
    ask: Ask,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Requirement, Error> {
    let draw = Draw::around(joint)?;
    let (range_w, _) = ranges(joint);
    let laser_w = joint.machine.map_or(range_w, |it| it.power_w);
    // Far beyond a weak laser too, so that the power it lacks can be named.
    let power_w = (range_w.0, range_w.1.max(BEYOND * joint.beam.power_w));
    let search = Search {
        draw,
        power_w,
        laser_w,
        settings,
    };
    let own = search.points(&[(Vary::Extinction, 1.0)])?.remove(0);
    let grids = search.walk(&own, ask, progress)?;
    let ranges = search.ends(&grids, ask)?;
    Ok(Requirement {
        ask,
        own,
        laser_w,
        power_w,
        answers: grids
            .into_iter()
            .zip(ranges)
            .map(|((vary, grid), range)| (vary, range, grid))
            .collect(),
    })
}
