//! The search behind `requirement`: walks outwards from the joint, then closes on the ends.

use crate::error::Error;
use crate::numerics::bracket::Bracket;
use crate::study::power_limits::{Scope, power_limits};
use crate::study::progress::{Progress, Silent};
use crate::study::requirement::{
    Ask, EDGE_TOLERANCE, End, Point, Range, Vary, Why, score, transmittance_of,
};
use crate::study::scatter::Draw;
use crate::weld::joint::Joint;
use crate::weld::light::lights_of;
use crate::weld::settings::Settings;

/// Ratio of neighbouring factors on the extinction and the thickness.
const STEP: f64 = 1.25;

/// Ratio of neighbouring factors on the absorber.
const ABSORBER_STEP: f64 = 1.4;

/// Factors looked at on either side between two decisions to go on.
const STRIDE: usize = 3;

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

/// What a search needs.
pub(super) struct Search<'s> {
    /// Draws joints.
    pub draw: Draw,
    /// Powers looked at, W.
    pub power_w: (f64, f64),
    /// Powers of the laser, W.
    pub laser_w: (f64, f64),
    /// Numerical settings.
    pub settings: &'s Settings,
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
                let room = own.thickest_upper_m() / d;
                let most = (THICKNESS_M.1 / d).max(1.5).min(room.max(1.0));
                Some(((thinnest / d).min(0.9), most))
            }
            Vary::Absorber => {
                let lower = own.lower.optical_at(own.wavelength_m)?;
                let most = ABSORBER.1.min(BLACKEST_PER_M / lower.mu_a_per_m).max(1.5);
                (0.0 < lower.mu_a_per_m).then_some((ABSORBER.0, most))
            }
        })
    }

    /// Points from the joint outwards for everything that can be varied, factors ascending.
    pub(super) fn walk(
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
    pub(super) fn points(&self, wanted: &[(Vary, f64)]) -> Result<Vec<Point>, Error> {
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
    pub(super) fn ends(&self, grids: &[(Vary, Vec<Point>)], ask: Ask) -> Result<Vec<Range>, Error> {
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
