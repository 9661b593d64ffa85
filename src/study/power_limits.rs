//! Lowest and highest sound power of many joints, each with the rule that sets it.
//!
//! At fixed speed every rule is monotone in power: more power melts deeper and damages more. So
//! the smallest margin of the rules that want heat rises through zero at the lowest sound power,
//! and the smallest margin of the rules that must stay cool falls through zero at the highest.
//! Both roots of all joints are sought side by side; each round of evaluations is one batch.
//!
//! ```text
//! latitude = highest sound power / lowest sound power        (sound only where it exceeds one)
//! ```
//!
//! Checked in: `tests/study/window.rs`.

use crate::error::{Error, WeldProblem};
use crate::numerics::bracket::Bracket;
use crate::study::progress::Progress;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate};

/// Relative width to which the powers of a window are bracketed.
pub const POWER_TOLERANCE: f64 = 2e-4;

/// The same for maps, which are read to a percent.
pub const MAP_TOLERANCE: f64 = 5e-3;

/// Rounds after which the bracket reached is taken as it is; far above what is ever needed.
const MOST_ROUNDS: usize = 60;

/// Where in the range the search starts, as a share of its logarithm: cool rather than hot, since
/// hot runs cost more steps.
const START: f64 = 0.35;

/// Largest ratio between one power and the next while a root is not yet bracketed.
const LEAP: f64 = 12.0;

/// By how much a step towards a root is lengthened to end beyond it: as a share of the step, and
/// at most, in the logarithm of the power.
const LENGTHENED: (f64, f64) = (0.15, 0.02);

/// Rise of a margin with the logarithm of the power that is believed when two points tell it.
const BELIEVED_SLOPE: (f64, f64) = (0.2, 20.0);

/// Powers near which the lowest and the highest sound power are expected, W; none where unknown.
pub type Guess = [Option<f64>; 2];

/// Where to look for sound powers, and how closely.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scope {
    /// Least and greatest power looked at, W, above zero.
    pub power_w: (f64, f64),
    /// Relative width to which a power is bracketed.
    pub tolerance: f64,
}

impl Scope {
    /// For a map: a cell is read to a percent.
    pub fn of_map(power_w: (f64, f64)) -> Self {
        Scope {
            power_w,
            tolerance: MAP_TOLERANCE,
        }
    }
}

impl From<(f64, f64)> for Scope {
    /// For a window: boundaries drawn as lines.
    fn from(power_w: (f64, f64)) -> Self {
        Scope {
            power_w,
            tolerance: POWER_TOLERANCE,
        }
    }
}

/// One end of the sound powers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PowerLimit {
    /// The rule turns at this power.
    At {
        /// Power, W.
        power_w: f64,
        /// The rule that sets it.
        rule: Rule,
    },
    /// The rules hold down to the lowest, or up to the highest, power looked at.
    Beyond {
        /// End of the range looked at, W.
        power_w: f64,
    },
    /// The rules hold nowhere in the range looked at.
    Never {
        /// The rule that is never met.
        rule: Rule,
    },
}

impl PowerLimit {
    /// The power, W; none where the rules never hold.
    pub fn power_w(&self) -> Option<f64> {
        match self {
            PowerLimit::At { power_w, .. } | PowerLimit::Beyond { power_w } => Some(*power_w),
            PowerLimit::Never { .. } => None,
        }
    }

    /// The rule that sets the limit.
    pub fn rule(&self) -> Option<Rule> {
        match self {
            PowerLimit::At { rule, .. } | PowerLimit::Never { rule } => Some(*rule),
            PowerLimit::Beyond { .. } => None,
        }
    }
}

/// Lowest and highest sound power of one joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerLimits {
    /// Below it the weld is unfused or weak.
    pub low: PowerLimit,
    /// Above it the weld is degraded or marked.
    pub high: PowerLimit,
}

impl PowerLimits {
    /// Highest over lowest power; below one where no power is sound, none where an end is missing.
    pub fn latitude(&self) -> Option<f64> {
        Some(self.high.power_w()? / self.low.power_w()?)
    }

    /// Latitude that a machine can use, with its least and greatest power in W.
    pub fn latitude_within(&self, power_w: (f64, f64)) -> Option<f64> {
        let low = self.low.power_w()?.max(power_w.0);
        let high = self.high.power_w()?.min(power_w.1);
        Some(high / low)
    }

    /// The limits that were found, W, as a guess for a joint like this one.
    pub fn found_w(&self) -> Guess {
        [self.low, self.high].map(|it| match it {
            PowerLimit::At { power_w, .. } => Some(power_w),
            PowerLimit::Beyond { .. } | PowerLimit::Never { .. } => None,
        })
    }

    /// True where some power is sound.
    pub fn is_open(&self) -> bool {
        self.latitude().is_some_and(|it| 1.0 < it)
    }
}

/// A guess between two others, `share` of the way; the other one where one is missing.
pub fn along(from: Guess, to: Guess, share: f64) -> Guess {
    [0, 1].map(|side| match (from[side], to[side]) {
        (Some(a), Some(b)) => Some(a * (b / a).powf(share)),
        (a, b) => a.or(b),
    })
}

/// Margin of the rules on one side, signed so that it rises with power, and the rule that sets it.
fn rising(outcome: &Outcome, side: Side) -> (f64, Rule) {
    match (outcome.tightest(side == Side::Low), side) {
        (Some(it), Side::Low) => (it.margin, it.rule),
        (Some(it), Side::High) => (-it.margin, it.rule),
        (None, _) => (-1.0, outcome.governing.rule),
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Low,
    High,
}

/// One root being sought.
///
/// Temperature rises in proportion to power until melting and damage bend it, so from a margin f
/// at power P the root lies near P / (1 + f); from a second point on, the slope is taken from both.
/// That step, lengthened a little to end on the other side, brackets the root; the bracket then
/// closes on it.
struct Search {
    joint: usize,
    side: Side,
    state: State,
    /// The last power looked at and the value there.
    last: (f64, f64),
}

enum State {
    /// All points so far lie on one side of the root: the nearest of them.
    OneSided {
        power_w: f64,
        value: f64,
        rule: Rule,
        /// Rise of the value with the logarithm of the power, where two points tell it.
        slope: Option<f64>,
    },
    /// The root is between two points.
    Bracketed { bracket: Bracket, rule: Rule },
    /// The answer.
    Done(PowerLimit),
}

impl Search {
    /// A search that starts from what was found at one power.
    fn start(joint: usize, side: Side, at: (f64, &Outcome), scope: Scope) -> Self {
        let (power_w, outcome) = at;
        let (value, rule) = rising(outcome, side);
        let mut search = Search {
            joint,
            side,
            last: (power_w, value),
            state: State::OneSided {
                power_w,
                value,
                rule,
                slope: None,
            },
        };
        if value.abs() < 0.4 * scope.tolerance {
            let power_w = power_w / (1.0 + value);
            search.state = State::Done(PowerLimit::At { power_w, rule });
        }
        search.stop_at_ends(scope);
        search
    }

    /// The next power to look at; none where the search is over.
    fn proposal(&self, scope: Scope) -> Option<f64> {
        match &self.state {
            State::OneSided {
                power_w,
                value,
                slope,
                ..
            } => {
                let step = match slope {
                    Some(slope) => -value / slope,
                    None => -(1.0 + value).max(1e-6).ln(),
                };
                let beyond = (LENGTHENED.0 * step.abs())
                    .max(0.5 * scope.tolerance)
                    .min(LENGTHENED.1);
                let leap = (step.abs() + beyond).min(LEAP.ln()).copysign(-value);
                let proposed = power_w * leap.exp();
                Some(proposed.clamp(scope.power_w.0, scope.power_w.1))
            }
            State::Bracketed { bracket, .. } => Some(bracket.proposal()),
            State::Done(_) => None,
        }
    }

    /// Takes what was found at the proposed power.
    fn update(&mut self, power_w: f64, outcome: &Outcome, scope: Scope) {
        let (value, rule) = rising(outcome, self.side);
        // The rule that fails is the one that sets the limit.
        let fails = (value < 0.0) == (self.side == Side::Low);
        match &mut self.state {
            State::OneSided {
                power_w: before_w,
                value: before,
                rule: known,
                ..
            } => {
                let points = [(*before_w, *before), (power_w, value)];
                let bracket = match *before < 0.0 {
                    true => Bracket::new(points[0], points[1]),
                    false => Bracket::new(points[1], points[0]),
                };
                self.state = match bracket {
                    Some(bracket) => State::Bracketed {
                        bracket,
                        rule: if fails { rule } else { *known },
                    },
                    None => State::OneSided {
                        power_w,
                        value,
                        rule,
                        slope: slope_between(points[0], points[1]),
                    },
                };
            }
            State::Bracketed {
                bracket,
                rule: known,
            } => {
                bracket.update(power_w, value);
                if fails {
                    *known = rule;
                }
            }
            State::Done(_) => {}
        }
        let last = std::mem::replace(&mut self.last, (power_w, value));
        if value.abs() < 0.4 * scope.tolerance {
            // What is left of the way, by the slope between the last two points.
            let step = slope_between(last, self.last).map_or(0.0, |slope| -value / slope);
            let power_w = power_w * step.clamp(-scope.tolerance, scope.tolerance).exp();
            self.state = State::Done(PowerLimit::At { power_w, rule });
            return;
        }
        if let State::Bracketed { bracket, rule } = &self.state {
            let (low, high) = bracket.interval();
            if high - low <= scope.tolerance * high {
                self.state = State::Done(PowerLimit::At {
                    power_w: bracket.root(),
                    rule: *rule,
                });
            }
        }
        self.stop_at_ends(scope);
    }

    /// The limit found, or as near as the rounds came.
    fn limit(&self) -> PowerLimit {
        match &self.state {
            State::Done(limit) => *limit,
            State::Bracketed { bracket, rule } => PowerLimit::At {
                power_w: bracket.root(),
                rule: *rule,
            },
            State::OneSided { power_w, rule, .. } => PowerLimit::At {
                power_w: *power_w,
                rule: *rule,
            },
        }
    }

    /// Ends the search where an end of the range is still on the wrong side.
    fn stop_at_ends(&mut self, scope: Scope) {
        let State::OneSided {
            power_w,
            value,
            rule,
            ..
        } = self.state
        else {
            return;
        };
        let limit = match self.side {
            Side::Low if value < 0.0 && scope.power_w.1 <= power_w => PowerLimit::Never { rule },
            Side::Low if 0.0 <= value && power_w <= scope.power_w.0 => {
                PowerLimit::Beyond { power_w }
            }
            Side::High if value < 0.0 && scope.power_w.1 <= power_w => {
                PowerLimit::Beyond { power_w }
            }
            Side::High if 0.0 <= value && power_w <= scope.power_w.0 => PowerLimit::Never { rule },
            _ => return,
        };
        self.state = State::Done(limit);
    }
}

/// Rise of a value with the logarithm of the power between two points, where it is believed.
fn slope_between(a: (f64, f64), b: (f64, f64)) -> Option<f64> {
    let slope = (b.1 - a.1) / (b.0 / a.0).ln();
    (BELIEVED_SLOPE.0 < slope && slope < BELIEVED_SLOPE.1).then_some(slope)
}

/// The joint at another power.
pub fn at_power(joint: &Joint, power_w: f64) -> Joint {
    let mut joint = joint.clone();
    joint.beam.power_w = power_w;
    joint
}

/// Lowest and highest sound power of every joint in `scope`; a joint whose light or heat cannot be followed has its error in its place.
pub fn power_limits(
    joints: &[Joint],
    scope: impl Into<Scope>,
    settings: &Settings,
    progress: &dyn Progress,
) -> Vec<Result<PowerLimits, Error>> {
    power_limits_by(&|cases| simulate(cases, settings), joints, scope, progress)
}

/// The same from powers near which the limits are expected, one guess for each joint: a good guess
/// saves half of the work and changes no limit by more than the tolerance.
pub fn power_limits_near(
    joints: &[Joint],
    guesses: &[Guess],
    scope: impl Into<Scope>,
    settings: &Settings,
    progress: &dyn Progress,
) -> Vec<Result<PowerLimits, Error>> {
    let simulated = |cases: &[Joint]| simulate(cases, settings);
    search(&simulated, joints, guesses, scope.into(), progress)
}

/// What becomes of joints: a simulation, or one that does more.
pub type OutcomesOf<'f> = dyn Fn(&[Joint]) -> Vec<Result<Outcome, Error>> + 'f;

/// The same with another way to an outcome than [`simulate`], which must keep the order of joints.
pub fn power_limits_by(
    outcomes_of: &OutcomesOf<'_>,
    joints: &[Joint],
    scope: impl Into<Scope>,
    progress: &dyn Progress,
) -> Vec<Result<PowerLimits, Error>> {
    search(outcomes_of, joints, &[], scope.into(), progress)
}

/// Where the searches of each joint start: one power for both sides, or one for each.
fn starts(count: usize, guesses: &[Guess], scope: Scope) -> Vec<(usize, f64, Vec<Side>)> {
    let first_w = scope.power_w.0 * (scope.power_w.1 / scope.power_w.0).powf(START);
    let mut starts = Vec::with_capacity(2 * count);
    for joint in 0..count {
        let guess = guesses.get(joint).copied().unwrap_or_default();
        let [low, high] = guess.map(|it| match it {
            Some(power_w) if power_w.is_finite() => power_w.clamp(scope.power_w.0, scope.power_w.1),
            _ => first_w,
        });
        if low == high {
            starts.push((joint, low, vec![Side::Low, Side::High]));
        } else {
            starts.push((joint, low, vec![Side::Low]));
            starts.push((joint, high, vec![Side::High]));
        }
    }
    starts
}

fn search(
    outcomes_of: &OutcomesOf<'_>,
    joints: &[Joint],
    guesses: &[Guess],
    scope: Scope,
    progress: &dyn Progress,
) -> Vec<Result<PowerLimits, Error>> {
    let starts = starts(joints.len(), guesses, scope);
    let cases: Vec<Joint> = starts
        .iter()
        .map(|(joint, power_w, _)| at_power(&joints[*joint], *power_w))
        .collect();
    progress.at(0, joints.len());
    let mut failed: Vec<Option<Error>> = vec![None; joints.len()];
    let mut searches = Vec::with_capacity(2 * joints.len());
    for ((joint, power_w, sides), outcome) in starts.into_iter().zip(outcomes_of(&cases)) {
        match outcome {
            Ok(outcome) => searches.extend(
                sides
                    .into_iter()
                    .map(|side| Search::start(joint, side, (power_w, &outcome), scope)),
            ),
            Err(error) => failed[joint] = Some(error),
        }
    }

    for _ in 0..MOST_ROUNDS {
        let open: Vec<(usize, f64)> = searches
            .iter()
            .enumerate()
            .filter(|(_, it)| failed[it.joint].is_none())
            .filter_map(|(i, it)| Some((i, it.proposal(scope)?)))
            .collect();
        progress.at(
            joints.len().saturating_sub(open.len().div_ceil(2)),
            joints.len(),
        );
        if open.is_empty() {
            break;
        }
        let cases: Vec<Joint> = open
            .iter()
            .map(|&(i, power_w)| at_power(&joints[searches[i].joint], power_w))
            .collect();
        for ((i, power_w), outcome) in open.into_iter().zip(outcomes_of(&cases)) {
            let search = &mut searches[i];
            match outcome {
                Ok(outcome) => search.update(power_w, &outcome, scope),
                Err(error) => failed[search.joint] = Some(error),
            }
        }
    }
    progress.at(joints.len(), joints.len());
    let mut found: Vec<[Option<PowerLimit>; 2]> = vec![[None; 2]; joints.len()];
    for search in &searches {
        found[search.joint][search.side as usize] = Some(search.limit());
    }
    failed
        .into_iter()
        .zip(found)
        .map(|(failed, found)| match (failed, found) {
            (None, [Some(low), Some(high)]) => Ok(PowerLimits { low, high }),
            (Some(error), _) => Err(error),
            // Every joint that did not fail started both searches.
            (None, _) => Err(Error::new(WeldProblem::NoPowers)),
        })
        .collect()
}
