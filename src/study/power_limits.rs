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

use crate::error::Error;
use crate::numerics::bracket::Bracket;
use crate::study::progress::Progress;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate};

/// Relative width to which a power is bracketed.
pub const POWER_TOLERANCE: f64 = 2e-4;

/// Rounds after which the bracket reached is taken as it is; far above what is ever needed.
const MOST_ROUNDS: usize = 60;

/// Powers looked at first, spread evenly on a logarithmic scale over the range.
const FIRST_POWERS: usize = 4;

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

    /// True where some power is sound.
    pub fn is_open(&self) -> bool {
        self.latitude().is_some_and(|it| 1.0 < it)
    }
}

/// Margin of the rules on one side, signed so that it rises with power, and the rule that sets it.
fn rising(outcome: &Outcome, side: Side) -> (f64, Rule) {
    let wants_heat = side == Side::Low;
    let smallest = outcome
        .criteria
        .iter()
        .filter(|it| it.rule.wants_heat() == wants_heat)
        .min_by(|a, b| a.margin.total_cmp(&b.margin));
    match (smallest, side) {
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
struct Search {
    joint: usize,
    side: Side,
    bracket: Bracket,
    rule: Rule,
    done: bool,
}

impl Search {
    fn finished(&self) -> bool {
        let (low, high) = self.bracket.interval();
        high - low <= POWER_TOLERANCE * high
    }
}

/// The joint at another power.
pub fn at_power(joint: &Joint, power_w: f64) -> Joint {
    let mut joint = joint.clone();
    joint.beam.power_w = power_w;
    joint
}

/// Lowest and highest sound power of every joint between `range_w.0` and `range_w.1` (W, above
/// zero); a joint whose light or heat cannot be followed has its error in its place.
pub fn power_limits(
    joints: &[Joint],
    range_w: (f64, f64),
    settings: &Settings,
    progress: &dyn Progress,
) -> Vec<Result<PowerLimits, Error>> {
    let ratio = range_w.1 / range_w.0;
    let powers: Vec<f64> = (0..FIRST_POWERS)
        .map(|i| range_w.0 * ratio.powf(i as f64 / (FIRST_POWERS - 1) as f64))
        .collect();
    let cases: Vec<Joint> = joints
        .iter()
        .flat_map(|joint| powers.iter().map(|&power| at_power(joint, power)))
        .collect();
    progress.at(0, joints.len());
    let first = simulate(&cases, settings);
    let mut results: Vec<Result<PowerLimits, Error>> = Vec::with_capacity(joints.len());
    let mut searches = Vec::new();
    for (joint, outcomes) in first.chunks(FIRST_POWERS).enumerate() {
        let outcomes: Result<Vec<&Outcome>, Error> = outcomes
            .iter()
            .map(|it| it.as_ref().map_err(Error::clone))
            .collect();
        results.push(outcomes.map(|outcomes| PowerLimits {
            low: start(joint, Side::Low, &powers, &outcomes, &mut searches),
            high: start(joint, Side::High, &powers, &outcomes, &mut searches),
        }));
    }

    for _ in 0..MOST_ROUNDS {
        let open: Vec<usize> = (0..searches.len()).filter(|&i| !searches[i].done).collect();
        progress.at(
            joints.len() - open.len().div_ceil(2).min(joints.len()),
            joints.len(),
        );
        if open.is_empty() {
            break;
        }
        let cases: Vec<Joint> = open
            .iter()
            .map(|&i| at_power(&joints[searches[i].joint], searches[i].bracket.proposal()))
            .collect();
        for (case, (&i, outcome)) in cases
            .iter()
            .zip(open.iter().zip(simulate(&cases, settings)))
        {
            let search = &mut searches[i];
            match outcome {
                Ok(outcome) => {
                    let (value, rule) = rising(&outcome, search.side);
                    search.bracket.update(case.beam.power_w, value);
                    // The rule of the failing side is the one that turns.
                    if (value < 0.0) == (search.side == Side::Low) {
                        search.rule = rule;
                    }
                    search.done = search.finished() || value.abs() < 0.2 * POWER_TOLERANCE;
                    if search.done && !search.finished() {
                        search.rule = rule;
                    }
                }
                Err(error) => {
                    search.done = true;
                    results[search.joint] = Err(error);
                }
            }
        }
    }
    for search in &searches {
        if let Ok(limits) = &mut results[search.joint] {
            let limit = PowerLimit::At {
                power_w: search.bracket.root(),
                rule: search.rule,
            };
            match search.side {
                Side::Low => limits.low = limit,
                Side::High => limits.high = limit,
            }
        }
    }
    progress.at(joints.len(), joints.len());
    results
}

/// Brackets one root between the first powers, or says why there is none.
fn start(
    joint: usize,
    side: Side,
    powers: &[f64],
    outcomes: &[&Outcome],
    searches: &mut Vec<Search>,
) -> PowerLimit {
    let values: Vec<(f64, Rule)> = outcomes.iter().map(|it| rising(it, side)).collect();
    let last = powers.len() - 1;
    // A point where the margin is not negative, with a negative one before it.
    let turn = (1..=last).find(|&i| values[i - 1].0 < 0.0 && 0.0 <= values[i].0);
    if let Some(i) = turn
        && let Some(bracket) =
            Bracket::new((powers[i - 1], values[i - 1].0), (powers[i], values[i].0))
    {
        let rule = match side {
            Side::Low => values[i - 1].1,
            Side::High => values[i].1,
        };
        searches.push(Search {
            joint,
            side,
            bracket,
            rule,
            done: false,
        });
        // Replaced by the root when the search ends.
        return PowerLimit::Never { rule };
    }
    let starts_met = 0.0 <= values[0].0;
    match (side, starts_met) {
        (Side::Low, true) => PowerLimit::Beyond { power_w: powers[0] },
        (Side::Low, false) => PowerLimit::Never {
            rule: values[last].1,
        },
        (Side::High, true) => PowerLimit::Never { rule: values[0].1 },
        (Side::High, false) => PowerLimit::Beyond {
            power_w: powers[last],
        },
    }
}
