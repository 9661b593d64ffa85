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
use crate::numerics::bracket::Bracket;
use crate::optics::{self, Method, Slab, Stack};
use crate::study::power_limits::{PowerLimits, Scope, power_limits};
use crate::study::progress::{Progress, Silent};
use crate::study::scatter::{Draw, Quantity};
use crate::study::window::ranges;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::light::lights_of;
use crate::weld::settings::Settings;

/// Ratio of neighbouring factors on the extinction and the thickness.
const STEP: f64 = 1.25;

/// Ratio of neighbouring factors on the absorber.
const ABSORBER_STEP: f64 = 1.4;

/// Factors looked at on either side between two decisions to go on.
const STRIDE: usize = 3;

/// Relative width to which the ends of a range are found.
pub const EDGE_TOLERANCE: f64 = 5e-4;

/// Rounds of refinement after which the bracket reached is taken.
const MOST_ROUNDS: usize = 40;

/// Least transmittance looked at: below it no grade is welded in practice (common practice).
const LEAST_TRANSMITTANCE: f64 = 0.02;

/// Thinnest and thickest part looked at, m.
const THICKNESS_M: (f64, f64) = (50e-6, 20e-3);

/// Range of factors on the absorber.
const ABSORBER: (f64, f64) = (0.01, 100.0);

/// Greatest absorption of a lower part looked at, 1/m.
const BLACKEST_PER_M: f64 = 3e5;

/// Range of factors on the extinction; the upper end is cut where no light comes through.
const EXTINCTION: (f64, f64) = (0.1, 1e4);

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

    fn quantity(self) -> Quantity {
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
    let (power_w, _) = ranges(joint);
    let laser_w = joint.machine.map_or(power_w, |it| it.power_w);
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

struct Search<'s> {
    draw: Draw,
    power_w: (f64, f64),
    laser_w: (f64, f64),
    settings: &'s Settings,
}

impl Search<'_> {
    fn joint(&self, vary: Vary, factor: f64) -> Joint {
        self.draw.at(&[vary.quantity()], &[factor]).joint
    }

    /// Factors to look at; none where the joint has nothing to vary.
    fn span(&self, vary: Vary) -> Result<Option<(f64, f64)>, Error> {
        let own = self.joint(vary, 1.0);
        let constants = own.upper.optical_at(own.wavelength_m)?;
        Ok(match vary {
            Vary::Scattering if constants.mu_s_per_m <= 0.0 => None,
            // Without scattering, darker as the grade is means darker by absorption.
            Vary::Extinction if constants.mu_s_per_m <= 0.0 => None,
            Vary::Absorption if constants.mu_a_per_m <= 0.0 => None,
            Vary::Extinction | Vary::Absorption | Vary::Scattering => {
                let mut to: f64 = 1.0;
                while to < EXTINCTION.1
                    && LEAST_TRANSMITTANCE < transmittance_of(&self.joint(vary, to))?
                {
                    to *= 1.5;
                }
                Some((EXTINCTION.0, to.max(1.5)))
            }
            Vary::Thickness => {
                let d = own.upper.thickness_m;
                let thinnest = THICKNESS_M
                    .0
                    .max(1.05 * own.limits.upper_melt_depth_m.value);
                Some(((thinnest / d).min(0.9), (THICKNESS_M.1 / d).max(1.5)))
            }
            Vary::Absorber => {
                let lower = own.lower.optical_at(own.wavelength_m)?;
                let most = ABSORBER.1.min(BLACKEST_PER_M / lower.mu_a_per_m).max(1.5);
                (0.0 < lower.mu_a_per_m).then_some((ABSORBER.0, most))
            }
        })
    }

    /// Points from the joint outwards for everything that can be varied, factors ascending.
    fn walk(
        &self,
        own: &Point,
        ask: Ask,
        progress: &dyn Progress,
    ) -> Result<Vec<(Vary, Vec<Point>)>, Error> {
        let mut walks: Vec<Walk> = Vec::new();
        let mut varied: Vec<Vary> = Vec::new();
        for vary in Vary::ALL {
            let Some((from, to)) = self.span(vary)? else {
                continue;
            };
            varied.push(vary);
            let step = match vary {
                Vary::Absorber => ABSORBER_STEP,
                _ => STEP,
            };
            walks.extend([1.0, -1.0].map(|sign| Walk::new(vary, sign, (from, to), step)));
        }
        loop {
            let open: Vec<(usize, f64)> = walks
                .iter()
                .enumerate()
                .flat_map(|(i, walk)| walk.next().into_iter().map(move |factor| (i, factor)))
                .collect();
            let done: usize = walks.iter().map(|it| it.points.len()).sum();
            progress.at(done, done + 2 * open.len());
            if open.is_empty() {
                break;
            }
            let wanted: Vec<(Vary, f64)> = open
                .iter()
                .map(|&(i, factor)| (walks[i].vary, factor))
                .collect();
            for ((i, _), point) in open.into_iter().zip(self.points(&wanted)?) {
                walks[i].points.push(point);
            }
            for walk in &mut walks {
                walk.decide(own, ask);
            }
        }
        Ok(varied
            .into_iter()
            .map(|vary| {
                let mut points: Vec<Point> = walks
                    .iter()
                    .filter(|it| it.vary == vary)
                    .flat_map(|it| it.points.iter().cloned())
                    .chain([own.clone()])
                    .collect();
                points.sort_by(|a, b| a.factor.total_cmp(&b.factor));
                (vary, points)
            })
            .collect())
    }

    /// Sound powers of many points, in one search.
    fn points(&self, wanted: &[(Vary, f64)]) -> Result<Vec<Point>, Error> {
        let joints: Vec<Joint> = wanted.iter().map(|it| self.joint(it.0, it.1)).collect();
        let scope = Scope::from(self.power_w);
        let limits = power_limits(&joints, scope, self.settings, &Silent);
        let lights = lights_of(&joints, &self.settings.memory);
        wanted
            .iter()
            .zip(joints)
            .zip(limits)
            .zip(lights)
            .map(|(((&(_, factor), joint), limits), light)| {
                let limits = limits?;
                Ok(Point {
                    factor,
                    transmittance: transmittance_of(&joint)?,
                    delivered: light?.absorbed.delivered_to_interface(),
                    latitude: limits.latitude_within(self.laser_w),
                    limits,
                    joint,
                })
            })
            .collect()
    }

    /// The ends of what complies on every grid, all sought side by side.
    fn ends(&self, grids: &[(Vary, Vec<Point>)], ask: Ask) -> Result<Vec<Range>, Error> {
        let runs: Vec<Option<(usize, usize)>> =
            grids.iter().map(|(_, grid)| run_of(grid, ask)).collect();
        let mut edges: Vec<Edge> = Vec::new();
        for (at, ((_, grid), run)) in grids.iter().zip(&runs).enumerate() {
            let Some((first, last)) = *run else { continue };
            if 0 < first {
                edges.extend(Edge::between(at, 1.0, &grid[first - 1], &grid[first], ask));
            }
            if last + 1 < grid.len() {
                edges.extend(Edge::between(at, -1.0, &grid[last + 1], &grid[last], ask));
            }
        }
        for _ in 0..MOST_ROUNDS {
            let open: Vec<usize> = (0..edges.len()).filter(|&i| edges[i].is_open()).collect();
            if open.is_empty() {
                break;
            }
            let wanted: Vec<(Vary, f64)> = open
                .iter()
                .map(|&i| (grids[edges[i].grid].0, edges[i].proposal()))
                .collect();
            let points = self.points(&wanted)?;
            for (i, point) in open.into_iter().zip(points) {
                edges[i].update(point, ask);
            }
        }
        Ok(grids
            .iter()
            .zip(runs)
            .enumerate()
            .map(|(at, ((_, grid), run))| match run {
                Some((first, last)) => {
                    let end = |sign: f64, index: usize| {
                        let edge = edges.iter().find(|it| it.grid == at && it.sign == sign);
                        match edge {
                            Some(edge) => End::At(Box::new(edge.inside.clone())),
                            None => End::Beyond(Box::new(grid[index].clone())),
                        }
                    };
                    Range::Found(end(1.0, first), end(-1.0, last))
                }
                None => self.nowhere(grid, ask),
            })
            .collect())
    }

    fn nowhere(&self, grid: &[Point], ask: Ask) -> Range {
        // Most favourable: the widest for this laser, else the widest for any.
        let worth = |it: &Point| {
            (
                score(it, ask).max(-1e3),
                it.limits.latitude().unwrap_or(0.0),
            )
        };
        let best = grid
            .iter()
            .max_by(|a, b| {
                let (a, b) = (worth(a), worth(b));
                a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
            })
            .unwrap_or(&grid[0]);
        Range::Nowhere(Box::new(best.clone()), self.why(best, grid, ask))
    }

    /// Why the most favourable point does not comply.
    fn why(&self, best: &Point, grid: &[Point], ask: Ask) -> Why {
        let limits = &best.limits;
        let (Some(low_w), Some(high_w)) = (limits.low.power_w(), limits.high.power_w()) else {
            return match (limits.low.power_w(), limits.low.rule(), limits.high.rule()) {
                (None, Some(rule), _) => Why::NeverHot { rule },
                (_, _, Some(rule)) => Why::NeverCool { rule },
                _ => Why::TooNarrow {
                    latitude: 0.0,
                    low: limits.low.rule(),
                    high: limits.high.rule(),
                },
            };
        };
        // With a free laser, does any point comply?
        let free = grid
            .iter()
            .filter(|it| it.limits.latitude().is_some_and(|it| ask.ratio() <= it))
            .min_by(|a, b| {
                let need = |it: &Point| it.limits.low.power_w().unwrap_or(f64::INFINITY);
                need(a).total_cmp(&need(b))
            });
        if let Some(free) = free {
            let low_w = free.limits.low.power_w().unwrap_or(low_w);
            let high_w = free.limits.high.power_w().unwrap_or(high_w);
            if self.laser_w.1 < low_w * ask.ratio() {
                return Why::LaserTooWeak {
                    needs_w: low_w * ask.ratio(),
                    has_w: self.laser_w.1,
                };
            }
            if high_w < self.laser_w.0 * ask.ratio() {
                return Why::LaserTooStrong {
                    needs_w: high_w / ask.ratio(),
                    has_w: self.laser_w.0,
                };
            }
        }
        Why::TooNarrow {
            latitude: limits.latitude().unwrap_or(0.0),
            low: limits.low.rule(),
            high: limits.high.rule(),
        }
    }
}

/// Points to one side of the joint.
struct Walk {
    vary: Vary,
    /// Factors still to be looked at, the next one last.
    left: Vec<f64>,
    points: Vec<Point>,
    over: bool,
}

impl Walk {
    fn new(vary: Vary, sign: f64, (from, to): (f64, f64), step: f64) -> Self {
        let end = if sign < 0.0 { from } else { to };
        let count = (sign * end.ln() / step.ln()).max(0.0).floor() as i32;
        let mut left: Vec<f64> = (1..=count)
            .map(|k| step.powf(sign * f64::from(k)))
            .collect();
        if left
            .last()
            .is_none_or(|last| 1.01 < (end / last).powf(sign))
        {
            left.push(end);
        }
        left.reverse();
        Walk {
            vary,
            left,
            points: Vec::new(),
            over: false,
        }
    }

    fn next(&self) -> Vec<f64> {
        if self.over {
            return Vec::new();
        }
        self.left.iter().rev().take(STRIDE).copied().collect()
    }

    /// Goes on unless the last two points do not comply and the last is no better.
    fn decide(&mut self, own: &Point, ask: Ask) {
        let taken = self.next().len();
        self.left.truncate(self.left.len() - taken);
        let scores: Vec<f64> = [own]
            .into_iter()
            .chain(&self.points)
            .map(|it| score(it, ask))
            .collect();
        let [.., before, last] = scores[..] else {
            return;
        };
        self.over = before < 0.0 && last <= before;
    }
}

/// First and last index of the run that complies: the one that holds the joint itself, else the
/// longest; none where none complies.
fn run_of(grid: &[Point], ask: Ask) -> Option<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (i, point) in grid.iter().enumerate() {
        if score(point, ask) < 0.0 {
            continue;
        }
        match runs.last_mut() {
            Some(run) if run.1 + 1 == i => run.1 = i,
            _ => runs.push((i, i)),
        }
    }
    let own = grid.iter().position(|it| it.factor == 1.0);
    runs.iter()
        .find(|run| own.is_some_and(|own| run.0 <= own && own <= run.1))
        .or_else(|| runs.iter().max_by_key(|run| run.1 - run.0))
        .copied()
}

/// One end being sought: g rises with `sign` ln x.
struct Edge {
    grid: usize,
    sign: f64,
    bracket: Bracket,
    inside: Point,
}

impl Edge {
    fn between(grid: usize, sign: f64, outside: &Point, inside: &Point, ask: Ask) -> Option<Self> {
        let at = |it: &Point| (sign * it.factor.ln(), score(it, ask));
        Some(Edge {
            grid,
            sign,
            bracket: Bracket::new(at(outside), at(inside))?,
            inside: inside.clone(),
        })
    }

    fn is_open(&self) -> bool {
        let (from, to) = self.bracket.interval();
        EDGE_TOLERANCE < to - from
    }

    fn proposal(&self) -> f64 {
        (self.sign * self.bracket.proposal()).exp()
    }

    fn update(&mut self, point: Point, ask: Ask) {
        let value = score(&point, ask);
        self.bracket.update(self.sign * point.factor.ln(), value);
        if 0.0 <= value {
            self.inside = point;
        }
    }
}
