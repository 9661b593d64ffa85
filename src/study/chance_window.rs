//! Chance of a sound weld over power and what is set beside it: the window as contours of probability.
//!
//! At each speed the lowest and the highest sound power of every drawn joint are sought side by
//! side, as for a window; then
//!
//! ```text
//! chance at power P  =  share of drawn joints with  lowest ≤ P ≤ highest
//! ```
//!
//! at every power at once. One set of scrambled points serves all settings, so contours are smooth.
//! The standard error of a chance p is at most √(p (1 − p)/n) for n joints.
//!
//! Checked in: `tests/study/tolerance.rs` against single setpoints.

use crate::error::Error;
use crate::numerics::sobol::Sobol;
use crate::study::power_limits::{Scope, power_limits_by};
use crate::study::progress::Progress;
use crate::study::scatter::{Drawn, Quantity, scatter_of};
use crate::study::survey::spaced;
use crate::study::tolerance::{Plan, Sampler};
use crate::study::window::ranges;
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;
use crate::weld::settings::Settings;

/// Speeds looked at.
const SETTINGS: usize = 15;

/// Speeds shown for each speed looked at.
const FINER: usize = 4;

/// Powers of the map.
const POWERS: usize = 60;

/// Relative width to which a sound power is bracketed: far below what the scatter does.
const TOLERANCE: f64 = 1e-2;

/// One drawn joint costs as many welds as this at all settings together, roughly.
const WELDS_A_DRAW: usize = SETTINGS * 14;

/// Fewest and most joints drawn.
const DRAWS: (usize, usize) = (64, 4096);

/// Lowest and highest sound power, W.
type Powers = (f64, f64);

/// Chance of a sound weld over power and what is set beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct ChanceWindow {
    /// Speeds, m/s, ascending.
    pub setting: Vec<f64>,
    /// What is set beside the power.
    pub lever: Lever,
    /// Powers, W, ascending.
    pub power_w: Vec<f64>,
    /// Chance, one row a power, one column a speed.
    pub chance: Vec<Vec<f64>>,
    /// Joints drawn.
    pub draws: usize,
    /// Setpoint of greatest chance: power in W, setting (SI), chance.
    pub best: Option<(f64, f64, f64)>,
}

/// Draws joints and finds their sound powers over the settings of the machine.
///
/// # Errors
/// The light or heat of a drawn joint cannot be followed.
pub fn chance_window(
    joint: &Joint,
    plan: &Plan,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<ChanceWindow, Error> {
    let inputs = scatter_of(joint).inputs;
    let quantities: Vec<Quantity> = inputs.iter().map(|it| it.quantity).collect();
    let sampler = Sampler::around(joint, settings)?;
    let draws = 1usize
        << (plan.samples / WELDS_A_DRAW)
            .clamp(DRAWS.0, DRAWS.1)
            .ilog2();
    let sobol = Sobol::scrambled(inputs.len(), plan.seed, MAP_REPLICATE);
    let drawn: Vec<Drawn> = (0..draws as u32)
        .map(|i| {
            let factors: Vec<f64> = inputs
                .iter()
                .zip(sobol.point(i))
                .map(|(it, uniform)| it.factor(uniform))
                .collect();
            sampler.draw.at(&quantities, &factors)
        })
        .collect();
    let (power_w, setting_range) = ranges(joint);
    let lever = joint.motion.lever();
    let mut settings: Vec<f64> = spaced(setting_range.0, setting_range.1, SETTINGS, true)
        .into_iter()
        .map(|it| lever.rounded(it))
        .collect();
    settings.dedup();
    // What is simulated differs from what is set by a factor of its own for each joint.
    let widest = drawn.iter().fold((1.0f64, 1.0f64), |it, drawn| {
        (it.0.min(drawn.power), it.1.max(drawn.power))
    });
    let scope = Scope {
        power_w: (power_w.0 * widest.0, power_w.1 * widest.1),
        tolerance: TOLERANCE,
    };
    let joints: Vec<Joint> = settings
        .iter()
        .flat_map(|&setting| drawn.iter().map(move |it| it.set_to(1.0, setting)))
        .collect();
    let limits = power_limits_by(&|joints| sampler.simulate(joints), &joints, scope, progress);
    // Rows: traced settings; entries: one a joint, none where an end is missing.
    let mut traced: Vec<Vec<Option<Powers>>> = Vec::with_capacity(SETTINGS);
    for limits in limits.chunks(draws) {
        let mut at_setting = Vec::with_capacity(draws);
        for (it, drawn) in limits.iter().zip(&drawn) {
            let it = it.as_ref().map_err(Clone::clone)?;
            let ends = it.low.power_w().zip(it.high.power_w());
            at_setting.push(ends.map(|(low, high)| (low / drawn.power, high / drawn.power)));
        }
        traced.push(at_setting);
    }
    let (settings, sound) = between(lever, &settings, &traced);
    let (least, most) = shown_powers(joint, &sound, power_w);
    let powers = spaced(least, most, POWERS, true);
    let chance: Vec<Vec<f64>> = powers
        .iter()
        .map(|&power| {
            sound
                .iter()
                .map(|all| share_at(all, power, draws))
                .collect()
        })
        .collect();
    let best = best_of(joint, &powers, &settings, &chance);
    Ok(ChanceWindow {
        setting: settings,
        lever,
        power_w: powers,
        chance,
        draws,
        best,
    })
}

/// Powers of every joint at more settings: the logarithm of each boundary is nearly straight in the
/// logarithm of speed, while contours on few settings would break into islands.
fn between(
    lever: Lever,
    settings: &[f64],
    traced: &[Vec<Option<Powers>>],
) -> (Vec<f64>, Vec<Vec<Powers>>) {
    let mut fine = Vec::new();
    let mut sound = Vec::new();
    for i in 0..settings.len() {
        for k in 0..FINER {
            if i + 1 == settings.len() && 0 < k {
                break;
            }
            let next = (i + 1).min(settings.len() - 1);
            let (from, to) = (settings[i], settings[next]);
            let setting = lever.rounded(from * (to / from).powf(k as f64 / FINER as f64));
            // Where only whole numbers can be set, some fall on one another.
            if fine.last() == Some(&setting) || (0 < k && setting == to) {
                continue;
            }
            let share = if from < to {
                (setting / from).ln() / (to / from).ln()
            } else {
                0.0
            };
            let mix = |a: f64, b: f64| a * (b / a).powf(share);
            fine.push(setting);
            let joints = traced[i].iter().zip(&traced[next]);
            sound.push(
                joints
                    .filter_map(|(a, b)| {
                        let (a, b) = ((*a)?, (*b)?);
                        Some((mix(a.0, b.0), mix(a.1, b.1)))
                    })
                    .filter(|it| it.0 <= it.1)
                    .collect(),
            );
        }
    }
    (fine, sound)
}

/// Number of the scramble of the map, apart from those of the sensitivities.
const MAP_REPLICATE: u64 = 1 << 32;

fn share_at(sound: &[(f64, f64)], power_w: f64, draws: usize) -> f64 {
    let hits = sound
        .iter()
        .filter(|it| it.0 <= power_w && power_w <= it.1)
        .count();
    hits as f64 / draws as f64
}

/// Powers worth showing: those at which some drawn joint is sound, and the setpoint's.
fn shown_powers(joint: &Joint, sound: &[Vec<(f64, f64)>], looked_at: (f64, f64)) -> (f64, f64) {
    let own = joint.beam.power_w;
    let start = if 0.0 < own {
        (own, own)
    } else {
        (f64::INFINITY, 0.0)
    };
    let (low, high) = sound
        .iter()
        .flatten()
        .fold(start, |it, (low, high)| (it.0.min(*low), it.1.max(*high)));
    let most = joint.machine.map_or(looked_at.1, |it| 1.2 * it.power_w.1);
    let (least, most) = ((low / 1.2).max(looked_at.0), (high * 1.2).min(most));
    if least < most {
        (least, most)
    } else {
        looked_at
    }
}

/// The setpoint of greatest chance inside the machine; among equals the one nearest to the middle
/// of its equals in the logarithm of power and speed.
fn best_of(
    joint: &Joint,
    powers: &[f64],
    settings: &[f64],
    chance: &[Vec<f64>],
) -> Option<(f64, f64, f64)> {
    let allowed = |power: f64, setting: f64| {
        joint.machine.is_none_or(|it| {
            (it.power_w.0..=it.power_w.1).contains(&power)
                && (it.setting.0 * 0.999..=it.setting.1 * 1.001).contains(&setting)
        })
    };
    let cells: Vec<(f64, f64, f64)> = powers
        .iter()
        .zip(chance)
        .flat_map(|(&power, row)| {
            settings
                .iter()
                .zip(row)
                .map(move |(&setting, &chance)| (power, setting, chance))
        })
        .filter(|it| allowed(it.0, it.1))
        .collect();
    let most = cells.iter().map(|it| it.2).fold(0.0, f64::max);
    if most <= 0.0 {
        return None;
    }
    let equals: Vec<(f64, f64, f64)> = cells.into_iter().filter(|it| it.2 == most).collect();
    let count = equals.len() as f64;
    let middle = equals.iter().fold((0.0, 0.0), |it, cell| {
        (it.0 + cell.0.ln() / count, it.1 + cell.1.ln() / count)
    });
    let far = |it: &(f64, f64, f64)| (it.0.ln() - middle.0).hypot(it.1.ln() - middle.1);
    equals.into_iter().min_by(|a, b| far(a).total_cmp(&far(b)))
}

impl ChanceWindow {
    /// Chance at the setpoint of a joint by interpolation in the map; none outside it.
    pub fn at(&self, joint: &Joint) -> Option<f64> {
        let place = |all: &[f64], value: f64| {
            let i = all
                .windows(2)
                .position(|w| w[0] <= value && value <= w[1])?;
            Some((i, (value / all[i]).ln() / (all[i + 1] / all[i]).ln()))
        };
        let (row, up) = place(&self.power_w, joint.beam.power_w)?;
        let (column, across) = place(&self.setting, joint.motion.setting())?;
        let mix = |row: usize| {
            let it = &self.chance[row];
            it[column] + across * (it[column + 1] - it[column])
        };
        Some(mix(row) + up * (mix(row + 1) - mix(row)))
    }
}
