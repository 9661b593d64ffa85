//! Power against feed rate, passes, turns or time: where the joint welds, and the setpoint that forgives most.
//!
//! The boundary is traced, not sampled from a raster: at each setting the lowest and the highest
//! sound power are roots (`power_limits`), and settings are added where the governing rule changes,
//! where the boundary bends, and where the window closes.
//!
//! The recommended setpoint is the centre of the largest tolerance box inside: the power and the
//! setting may both drift by the same ratio, up or down, before any rule is broken or the machine's
//! limits are met. What is set beside the power depends on the process mode (`weld::setpoint`);
//! passes and turns are traced at whole numbers only.
//!
//! Checked in: `tests/study/window.rs`.

use crate::error::Error;
use crate::study::power_limits::{Guess, PowerLimits, along, at_power, power_limits_near};
use crate::study::progress::Progress;
use crate::study::window::largest_box::{largest_box, open_runs};
use crate::weld::joint::{Joint, Machine};
use crate::weld::setpoint::Lever;
use crate::weld::settings::Settings;

mod largest_box;

pub use largest_box::Setpoint;

/// Settings looked at first.
const FIRST_SETTINGS: usize = 25;

/// More settings than this are solved in two rounds, every sixth one first.
const MANY_SETTINGS: usize = 8;

/// See [`MANY_SETTINGS`].
const EVERY: usize = 6;

/// Ratio of neighbouring settings to which the closing of the window is traced.
const CLOSING_RATIO: f64 = 1.002;

/// Relative bend of the boundary between neighbours above which a setting is added between them.
const BEND: f64 = 0.004;

/// Rounds in which settings are added.
const MOST_ROUNDS: usize = 9;

/// How far beyond the machine the boundary is followed, as a ratio of power.
const BEYOND_MACHINE: f64 = 4.0;

/// Without a machine, how far from the stated power to look, as a ratio.
const AROUND_POWER: f64 = 16.0;

/// Without a machine, how far from the stated setting to look, as a ratio.
const AROUND_SETTING: f64 = 8.0;

/// The power limits at one setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SettingLine {
    /// What is set beside the power, SI.
    pub setting: f64,
    /// Lowest and highest sound power.
    pub limits: PowerLimits,
}

/// Power against setting for one joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    /// What is set beside the power.
    pub lever: Lever,
    /// Limits at each setting, ascending.
    pub lines: Vec<SettingLine>,
    /// Area over which the power is spread at once, m².
    pub lit_area_m2: f64,
    /// Least and greatest power looked at, W.
    pub power_w: (f64, f64),
    /// Least and greatest setting looked at, SI.
    pub setting: (f64, f64),
    /// What the machine can deliver.
    pub machine: Option<Machine>,
    /// Largest box inside; none where no power is sound at any setting looked at.
    pub setpoint: Option<Setpoint>,
}

/// True for the few settings of many that are solved before those between, which start near them.
pub(super) fn goes_first(index: usize, count: usize) -> bool {
    index.is_multiple_of(EVERY) || index + 1 == count
}

/// The joint at another speed of its light; a shot, which has none, as it stands.
pub fn at_speed(joint: &Joint, speed_m_per_s: f64) -> Joint {
    match joint.speed_m_per_s() {
        // Exact where the speed is the lever, which a factor would round.
        Some(_) if joint.motion.lever() == Lever::Speed => joint.at_setting(speed_m_per_s),
        Some(own) => Joint {
            motion: joint.motion.faster(speed_m_per_s / own),
            ..joint.clone()
        },
        None => joint.clone(),
    }
}

/// The joint at the recommended setpoint of its window, or as it stands where there is none.
pub fn at_setpoint(joint: &Joint, window: &Window) -> Joint {
    match &window.setpoint {
        Some(it) => at_power(&joint.at_setting(it.setting), it.power_w),
        None => joint.clone(),
    }
}

/// Powers to search and settings to show for a joint: the machine's, or around its setpoint.
pub fn ranges(joint: &Joint) -> ((f64, f64), (f64, f64)) {
    let (lever, own) = (joint.motion.lever(), joint.motion.setting());
    match joint.machine {
        Some(machine) => (
            (
                machine.power_w.0.max(machine.power_w.1 * 1e-3) / BEYOND_MACHINE,
                machine.power_w.1 * BEYOND_MACHINE,
            ),
            machine.setting,
        ),
        None => {
            let power = if 0.0 < joint.beam.power_w {
                joint.beam.power_w
            } else {
                1.0
            };
            (
                (power / AROUND_POWER, power * AROUND_POWER),
                (
                    lever.rounded(own / AROUND_SETTING),
                    lever.rounded(own * AROUND_SETTING),
                ),
            )
        }
    }
}

/// Traces the window of a joint.
///
/// # Errors
/// The light or the heat of the joint cannot be followed at some setting.
pub fn window(
    joint: &Joint,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Window, Error> {
    let (power_w, setting) = ranges(joint);
    let lever = joint.motion.lever();
    let mut lines: Vec<SettingLine> = Vec::new();
    let ratio = setting.1 / setting.0;
    let mut wanted: Vec<f64> = (0..FIRST_SETTINGS)
        .map(|i| setting.0 * ratio.powf(i as f64 / (FIRST_SETTINGS - 1) as f64))
        .map(|it| lever.rounded(it))
        .collect();
    wanted.dedup();
    // A few settings first, from nothing; all others start from what those suggest.
    let mut later: Vec<f64> = Vec::new();
    if MANY_SETTINGS < wanted.len() {
        let count = wanted.len();
        for (i, setting) in std::mem::take(&mut wanted).into_iter().enumerate() {
            if goes_first(i, count) {
                wanted.push(setting);
            } else {
                later.push(setting);
            }
        }
    }
    for _ in 0..=MOST_ROUNDS {
        let joints: Vec<Joint> = wanted.iter().map(|&it| joint.at_setting(it)).collect();
        let guesses: Vec<Guess> = wanted.iter().map(|&it| guess_at(&lines, it)).collect();
        let found = power_limits_near(&joints, &guesses, power_w, settings, progress);
        for (&setting, limits) in wanted.iter().zip(found) {
            lines.push(SettingLine {
                setting,
                limits: limits?,
            });
        }
        lines.sort_by(|a, b| a.setting.total_cmp(&b.setting));
        wanted = if later.is_empty() {
            settings_to_add(lever, &lines)
        } else {
            std::mem::take(&mut later)
        };
        if wanted.is_empty() {
            break;
        }
    }
    let setpoint = largest_box(lever, &lines, joint.machine.as_ref());
    Ok(Window {
        lever,
        lines,
        lit_area_m2: joint.lit_area_m2(),
        power_w,
        setting,
        machine: joint.machine,
        setpoint,
    })
}

/// The limits at a setting as the nearest ones on either side suggest them; `lines` ascend.
pub fn guess_at(lines: &[SettingLine], setting: f64) -> Guess {
    let right = lines.partition_point(|it| it.setting <= setting);
    let (Some(a), Some(b)) = (
        lines.get(right.saturating_sub(1)),
        lines.get(right.min(lines.len().saturating_sub(1))),
    ) else {
        return [None; 2];
    };
    let share = if a.setting < b.setting {
        (setting / a.setting).ln() / (b.setting / a.setting).ln()
    } else {
        0.0
    };
    along(a.limits.found_w(), b.limits.found_w(), share)
}

/// Middles of neighbours between which something happens.
fn settings_to_add(lever: Lever, lines: &[SettingLine]) -> Vec<f64> {
    let logs = |line: &SettingLine| {
        (
            line.limits.low.power_w().map(f64::ln),
            line.limits.high.power_w().map(f64::ln),
        )
    };
    let mut middles = Vec::new();
    for i in 1..lines.len() {
        let (a, b) = (&lines[i - 1], &lines[i]);
        let apart = b.setting / a.setting;
        let closes = a.limits.is_open() != b.limits.is_open();
        let changes = a.limits.low.rule() != b.limits.low.rule()
            || a.limits.high.rule() != b.limits.high.rule();
        let bends = [i.checked_sub(2), Some(i + 1)]
            .into_iter()
            .flatten()
            .filter_map(|other| lines.get(other))
            .any(|c| {
                let at = |line: &SettingLine| line.setting.ln();
                let bend = |a: Option<f64>, b: Option<f64>, other: Option<f64>| {
                    let (Some(a), Some(b), Some(other)) = (a, b, other) else {
                        return false;
                    };
                    // Second divided difference times a quarter of the squared interval is how far
                    // the middle lies from the chord.
                    let (xa, xb, xc) = (at(&lines[i - 1]), at(&lines[i]), at(c));
                    let first = (b - a) / (xb - xa);
                    let second = (other - a) / (xc - xa);
                    let curvature = (second - first) / (xc - xb);
                    BEND < (curvature * (xb - xa).powi(2) / 4.0).abs()
                };
                let (la, ha) = logs(a);
                let (lb, hb) = logs(b);
                let (lc, hc) = logs(c);
                bend(la, lb, lc) || bend(ha, hb, hc)
            });
        let fine = if closes { CLOSING_RATIO } else { 1.02 };
        if fine < apart && (closes || changes || bends) {
            let middle = lever.rounded((a.setting * b.setting).sqrt());
            if a.setting < middle && middle < b.setting {
                middles.push(middle);
            }
        }
    }
    middles
}

impl Window {
    /// About as many of the traced settings as asked for, evenly out of their list, first and last
    /// among them.
    pub fn thinned(&self, about: usize) -> Vec<f64> {
        let stride = self.lines.len().div_ceil(about).max(1);
        let mut settings: Vec<f64> = self
            .lines
            .iter()
            .step_by(stride)
            .map(|it| it.setting)
            .collect();
        if let Some(last) = self.lines.last()
            && settings.last() != Some(&last.setting)
        {
            settings.push(last.setting);
        }
        settings
    }

    /// Least and greatest setting looked at at which the machine has a sound power; none where it has
    /// none, and without a machine as [`Window::open_settings`].
    pub fn open_settings_of_machine(&self) -> Option<(f64, f64)> {
        let runs = open_runs(self.lever, &self.lines, self.machine.as_ref());
        let (first, last) = (runs.first()?.first()?, runs.last()?.last()?);
        Some((first.setting, last.setting))
    }

    /// Least and greatest setting looked at that have a sound power, whatever the machine can deliver;
    /// none where the window is shut.
    pub fn open_settings(&self) -> Option<(f64, f64)> {
        let mut open = self
            .lines
            .iter()
            .filter(|it| it.limits.is_open())
            .map(|it| it.setting);
        let first = open.next()?;
        Some((first, open.next_back().unwrap_or(first)))
    }

    /// Limits at a setting by interpolation between traced ones, as lowest and highest power in W;
    /// none outside the traced settings or where an end is missing.
    pub fn limits_at(&self, setting: f64) -> Option<(f64, f64)> {
        let i = self
            .lines
            .windows(2)
            .position(|w| w[0].setting <= setting && setting <= w[1].setting)?;
        let (a, b) = (&self.lines[i], &self.lines[i + 1]);
        let share = (setting / a.setting).ln() / (b.setting / a.setting).ln();
        let between = |a: Option<f64>, b: Option<f64>| {
            let (a, b) = (a?, b?);
            Some(a * (b / a).powf(share))
        };
        Some((
            between(a.limits.low.power_w(), b.limits.low.power_w())?,
            between(a.limits.high.power_w(), b.limits.high.power_w())?,
        ))
    }
}
