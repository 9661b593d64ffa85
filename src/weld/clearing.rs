//! Melting changes scattering: light and molten depth found together.
//!
//! Spherulites scatter and the melt has none, so the molten zone of the upper part, next to the
//! interface, lets more light through. The scattering of that zone is multiplied by a stated factor
//! and its depth is a fixed point:
//!
//! ```text
//! m(0) = 0
//! M(k)   = ∫ m(t; light through solid d − m(k) and melt m(k)) dE / ∫ dE        E: light received
//! m(k+1) = m(k) + (M(k) − m(k)) / max(1, k − 2)
//! until the interface peak of two rounds differs by less than 0.5 K or 0.2 % of its rise
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | m | `molten_depth_m` | molten depth of the upper part above the interface | m |
//! | d | – | thickness of the upper part | m |
//! | factor | `factor` | µs of the melt / µs of the solid | – |
//!
//! The share by which the depth moves falls from the fifth round on, so that what the coarse time
//! steps of a very hot run do to M is averaged and does not keep the search from ending; usual welds
//! settle before.
//!
//! The depth is the mean over the light, since what is molten after the light has gone changes
//! nothing. Light is thus too weak late in the pass and too strong early on, by equal shares.
//!
//! Holds for: melt that begins at the interface; absorption and index as in the solid. Does not hold
//! for: fillers, which scatter in the melt as before or more (state a factor near 1); the widening of
//! the spot, which is taken as without clearing (a little too wide). No factor is published for a
//! welded polymer: the option shows how much it could matter, and is off unless asked for.
//!
//! Source: the model is our own; that scattering drops when spherulites melt is common knowledge of
//! the trade without a number. Checked in: `tests/weld/clearing.rs`.

use rayon::prelude::*;

use crate::error::{Error, OpticsProblem, WeldProblem};
use crate::heat::Record;
use crate::optics::{self, Absorbed, DepthProfile, Lighting, Method, Slab, Stack};
use crate::units::{UM, celsius};
use crate::weld::joint::Joint;
use crate::weld::light::{Case, Followed, Light, lights_of, stack_of};
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate_lit};

/// Change of the interface peak from round to round below which light and melt have settled, K: far
/// below what any factor is known to.
pub const PEAK_TOLERANCE_K: f64 = 0.5;

/// The same as a share of the rise of the interface, for runs far above any window.
pub const PEAK_TOLERANCE_SHARE: f64 = 2e-3;

/// Rounds in which the depth moves all the way.
const WHOLE_ROUNDS: usize = 4;

/// Rounds after which the search is given up; three to five are usual.
pub const MOST_ROUNDS: usize = 15;

/// Molten depth that is taken as none, m: a tenth of a wavelength.
const NO_DEPTH_M: f64 = 0.1 * UM;

/// How a factor on the scattering of the melt came to be, for reports.
pub const FACTOR_STATUS: &str = "stated; no measurement is published";

/// One round of the search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// Molten depth that the light of this round passed, m.
    pub molten_depth_m: f64,
    /// Share of the light delivered to the interface.
    pub delivered: f64,
    /// Highest temperature that both sides of the interface reach, K.
    pub interface_peak_k: f64,
}

impl Round {
    fn of(molten_depth_m: f64, outcome: &Outcome) -> Self {
        let history = &outcome.history;
        Round {
            molten_depth_m,
            delivered: outcome.light.delivered_to_interface(),
            interface_peak_k: history
                .interface_peak_upper_k
                .min(history.interface_peak_lower_k),
        }
    }
}

/// A joint whose melt is clearer than its solid.
#[derive(Clone, Debug)]
pub struct Cleared {
    /// Factor on the scattering of the melt.
    pub factor: f64,
    /// Every round; the first is the joint without clearing.
    pub rounds: Vec<Round>,
    /// What becomes of the joint.
    pub outcome: Outcome,
}

impl Cleared {
    /// The joint without clearing.
    pub fn before(&self) -> &Round {
        &self.rounds[0]
    }

    /// The joint as it settled.
    pub fn after(&self) -> &Round {
        &self.rounds[self.rounds.len() - 1]
    }
}

/// True where clearing changes anything: a factor is stated, the upper part scatters, and the
/// method follows scattering.
pub fn matters(joint: &Joint) -> bool {
    joint.melt_clearing.is_some()
        && stack_of(joint).is_ok_and(|stack| {
            let method = joint.method.unwrap_or(Method::default_for(&stack));
            method != Method::BeerLambert && stack.slabs[stack.upper].scatters()
        })
}

/// Simulates every joint with its factor; joints without one, or for which it does not matter, have
/// one round. The results stand in the order of `joints`.
pub fn simulate_cleared(joints: &[Joint], settings: &Settings) -> Vec<Result<Cleared, Error>> {
    simulate_cleared_within(MOST_ROUNDS, joints, settings)
}

/// The same with another limit to the rounds.
pub fn simulate_cleared_within(
    most_rounds: usize,
    joints: &[Joint],
    settings: &Settings,
) -> Vec<Result<Cleared, Error>> {
    let recording = settings.recording();
    let lights = lights_of(joints, &settings.memory);
    let mut states: Vec<Result<Cleared, Error>> = joints
        .iter()
        .zip(simulate_lit(joints, lights.clone(), &recording))
        .map(|(joint, outcome)| {
            outcome.map(|outcome| Cleared {
                factor: joint.melt_clearing.unwrap_or(1.0),
                rounds: vec![Round::of(0.0, &outcome)],
                outcome,
            })
        })
        .collect();
    let mut open: Vec<usize> = (0..joints.len())
        .filter(|&i| states[i].is_ok() && matters(&joints[i]))
        .collect();
    for round in 0..most_rounds {
        let share = 1.0 / (round + 2).saturating_sub(WHOLE_ROUNDS).max(1) as f64;
        // Depths reached with the light of the round before; what did not melt has settled.
        let depths: Vec<(usize, f64)> = open
            .iter()
            .filter_map(|&i| {
                Some((
                    i,
                    molten_depth_m(&joints[i], &states[i].as_ref().ok()?.outcome),
                ))
            })
            .filter_map(|(i, found_m)| {
                let before_m = states[i].as_ref().ok()?.after().molten_depth_m;
                let next_m = before_m + share * (found_m - before_m);
                (NO_DEPTH_M < next_m || NO_DEPTH_M < before_m).then_some((i, next_m))
            })
            .collect();
        if depths.is_empty() {
            return states;
        }
        let cases: Vec<Joint> = depths.iter().map(|(i, _)| joints[*i].clone()).collect();
        let lit: Vec<Result<Light, Error>> = depths
            .par_iter()
            .map(|&(i, depth_m)| light_through(&joints[i], lights[i].as_ref(), depth_m))
            .collect();
        open.clear();
        for ((i, depth_m), found) in depths
            .into_iter()
            .zip(simulate_lit(&cases, lit, &recording))
        {
            match (&mut states[i], found) {
                (Ok(state), Ok(outcome)) => {
                    let round = Round::of(depth_m, &outcome);
                    let change_k = round.interface_peak_k - state.after().interface_peak_k;
                    state.rounds.push(round);
                    state.outcome = outcome;
                    let rise_k = round.interface_peak_k - joints[i].surroundings.ambient_k;
                    let tolerance_k = PEAK_TOLERANCE_K.max(PEAK_TOLERANCE_SHARE * rise_k);
                    if tolerance_k <= change_k.abs() {
                        open.push(i);
                    }
                }
                (state, Err(error)) => *state = Err(error),
                (Err(_), Ok(_)) => {}
            }
        }
    }
    for i in open {
        if let Ok(state) = &states[i] {
            states[i] = Err(not_settled(state, most_rounds));
        }
    }
    states
}

fn not_settled(state: &Cleared, rounds: usize) -> Error {
    let iterates: Vec<String> = state
        .rounds
        .iter()
        .map(|it| {
            format!(
                "{:.1} µm, {:.1} °C",
                it.molten_depth_m / UM,
                celsius(it.interface_peak_k)
            )
        })
        .collect();
    Error::new(WeldProblem::ClearingDoesNotSettle {
        rounds,
        iterates: iterates.join("; "),
    })
    .cure("lower the power, raise the speed, or state a melt_clearing nearer to 1")
}

/// The light of a joint whose upper part is molten to a depth above the interface.
fn light_through(
    joint: &Joint,
    solid: Result<&Light, &Error>,
    molten_m: f64,
) -> Result<Light, Error> {
    let solid = solid.map_err(Clone::clone)?;
    let case = Case::of(joint)?;
    let factor = joint.melt_clearing.unwrap_or(1.0);
    let through = |stack: &Stack| absorbed_through(stack, case.lighting, factor, molten_m);
    let Followed { absorbed, wetted } = Followed::through(&case, through)?;
    Ok(Light {
        absorbed,
        wetted,
        ..solid.clone()
    })
}

/// Where light goes in `stack` when the last `molten_m` of its upper part scatter `factor` times as
/// much as the rest. The layers are those of `stack`: both zones of the upper part are one.
///
/// # Errors
/// The light cannot be followed.
pub fn absorbed_through(
    stack: &Stack,
    lighting: Lighting,
    factor: f64,
    molten_m: f64,
) -> Result<Absorbed, Error> {
    if molten_m <= NO_DEPTH_M {
        return optics::absorb_lit(stack, lighting);
    }
    let at = stack.upper;
    let part = stack.slabs[at];
    let mut constants = part.constants;
    constants.mu_s_per_m *= factor;
    let mut slabs = stack.slabs.clone();
    if part.thickness_m - NO_DEPTH_M <= molten_m {
        slabs[at].constants = constants;
        return optics::absorb_lit(
            &Stack {
                slabs,
                ..stack.clone()
            },
            lighting,
        );
    }
    let solid_m = part.thickness_m - molten_m;
    slabs[at].thickness_m = solid_m;
    slabs.insert(
        at + 1,
        Slab {
            thickness_m: molten_m,
            constants,
        },
    );
    let mut absorbed = optics::absorb_lit(
        &Stack {
            slabs,
            upper: at,
            lower: stack.lower + 1,
        },
        lighting,
    )?;
    let melt = absorbed.layers.remove(at + 1);
    absorbed.layers[at] = DepthProfile::joined((&absorbed.layers[at], solid_m), (&melt, molten_m))
        .map_err(|fault| {
            Error::new(OpticsProblem::MethodDoesNotApply {
                method: lighting.method.name().into(),
                reason: format!("the light in the melt is not finite ({fault:?})"),
            })
        })?;
    absorbed.lower = stack.lower;
    Ok(absorbed)
}

/// Molten depth of the upper part above the interface, mean over the light received, m.
fn molten_depth_m(joint: &Joint, outcome: &Outcome) -> f64 {
    let Some(record) = &outcome.history.record else {
        return 0.0;
    };
    let exposure = joint.exposure(&outcome.beam);
    let flow_k = joint.upper.material.thermal.flow_temperature_k.value;
    let depth_at = |row: usize| molten_above(record, row, joint.upper.thickness_m, flow_k);
    let (mut sum, mut received) = (0.0, 0.0);
    let (mut before_s, mut before_m) = (0.0, 0.0);
    for (row, &time_s) in record.time_s.iter().enumerate() {
        let fluence = exposure.fluence_until_j_per_m2(time_s);
        let share =
            (fluence - exposure.fluence_until_j_per_m2(before_s)) / exposure.fluence_j_per_m2();
        let depth_m = depth_at(row);
        sum += share * 0.5 * (depth_m + before_m);
        received += share;
        (before_s, before_m) = (time_s, depth_m);
        if exposure.heating_s() <= time_s {
            break;
        }
    }
    if 0.0 < received { sum / received } else { 0.0 }
}

/// Depth from the interface up to which the upper part is at or above `flow_k` in one row.
fn molten_above(record: &Record, row: usize, interface_m: f64, flow_k: f64) -> f64 {
    let (depths_m, temperatures_k) = (&record.depth_m, &record.temperature_k[row]);
    // The interface stands twice in the record; the first is its upper side.
    let Some(face) = depths_m
        .iter()
        .position(|&it| interface_m * (1.0 - 1e-9) <= it)
    else {
        return 0.0;
    };
    if temperatures_k[face] < flow_k {
        return 0.0;
    }
    for i in (0..face).rev() {
        if depths_m[i] < 0.0 {
            break;
        }
        if temperatures_k[i] < flow_k {
            let share =
                (temperatures_k[i + 1] - flow_k) / (temperatures_k[i + 1] - temperatures_k[i]);
            return interface_m - depths_m[i + 1] + share * (depths_m[i + 1] - depths_m[i]);
        }
    }
    interface_m
}
