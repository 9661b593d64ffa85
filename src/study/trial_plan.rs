//! A plan of weld trials around a setpoint: few runs, in blocks, in random order.
//!
//! The setpoint is welded several times, then the corners of the tolerance box, then points on the
//! axes. The axis points in power lie a tenth beyond the boundaries the model expects, since a trial
//! that fails says where a boundary is and one that holds only says where it is not.
//!
//! ```text
//! block 1   2 centres, 4 corners     (P r^±1, v r^±1)
//! block 2   2 centres, 4 axis points (P_low / 1.1, v), (1.1 P_high, v), (P, v r^±√2)
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | P, v | `centre` | power, and feed rate, passes, turns or time, in the middle |
//! | r | `ratio` | ratio of the tolerance box, at least 1.05 |
//!
//! Powers and settings have three digits, those of corners rounded towards the centre, so that none
//! leaves the box.
//!
//! Holds for the analysis in `calibration`, which needs no orthogonal plan. Source: a central
//! composite design in two blocks, NIST/SEMATECH e-Handbook of Statistical Methods, sec. 5.3.3.6
//! (from memory); the shift of the axis points in power is our own. Checked in:
//! `tests/study/trials.rs`.

use crate::numerics::random::Stream;
use crate::study::window::Window;
use crate::weld::joint::{Joint, Machine};
use crate::weld::setpoint::Lever;

/// How far beyond an expected boundary the axis points in power lie, as a ratio.
const BEYOND: f64 = 1.1;

/// Least ratio of the corners, so that runs differ by more than a machine repeats.
const LEAST_RATIO: f64 = 1.05;

/// Ratio of the corners where the window is shut.
const RATIO_WHERE_SHUT: f64 = 1.25;

/// Ratio of the axis points in power where the model expects no boundary.
const REACH: f64 = 1.6;

/// What a run is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// The setpoint: repeats show the scatter.
    Centre,
    /// A corner of the tolerance box.
    Corner,
    /// Below the lowest sound power expected.
    BelowWindow,
    /// Above the highest sound power expected.
    AboveWindow,
    /// Less or more of what is set beside the power.
    OtherSetting,
}

impl Purpose {
    /// The purpose in words.
    pub fn words(self) -> &'static str {
        match self {
            Purpose::Centre => "setpoint, repeated",
            Purpose::Corner => "corner of the tolerance box",
            Purpose::BelowWindow => "below the lowest sound power expected",
            Purpose::AboveWindow => "above the highest sound power expected",
            Purpose::OtherSetting => "other feed rate, passes or time",
        }
    }
}

/// One weld to be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// Block, from 1: welded in one go, with one set-up and one lot of parts.
    pub block: usize,
    /// Power, W.
    pub power_w: f64,
    /// What is set beside the power, SI: feed rate, passes, turns or time.
    pub setting: f64,
    /// What it is for.
    pub purpose: Purpose,
}

/// A plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The runs in the order in which to weld them.
    pub runs: Vec<Run>,
    /// Power in W and setting (SI) in the middle.
    pub centre: (f64, f64),
    /// What is set beside the power.
    pub lever: Lever,
    /// False where no power is sound and the plan stands around the setpoint of the joint file.
    pub inside_window: bool,
    /// True where the machine's limits moved some run.
    pub cut_to_machine: bool,
    /// Seed of the order.
    pub seed: u64,
}

/// Purpose of the random numbers drawn here, so that they are shared with nothing else.
const PURPOSE: u64 = 0x7472_6961_6c73;

/// Makes a plan for a joint from its window; every run `repeats` times in each block it stands in.
pub fn trial_plan(joint: &Joint, window: &Window, repeats: usize, seed: u64) -> Plan {
    let lever = joint.motion.lever();
    let (power_w, setting, ratio) = match &window.setpoint {
        Some(it) => (it.power_w, it.setting, it.ratio.max(LEAST_RATIO)),
        None => (joint.beam.power_w, joint.motion.setting(), RATIO_WHERE_SHUT),
    };
    let settable = |setting: f64, rounded: fn(f64) -> f64| {
        if lever.is_whole() {
            lever.rounded(rounded(setting))
        } else {
            three_digits(setting, rounded)
        }
    };
    // A corner is rounded into its box.
    let corner = |power: f64, other: f64| {
        let side = |factor: f64| if 1.0 < factor { f64::floor } else { f64::ceil };
        Run {
            block: 1,
            power_w: three_digits(power_w * power, side(power)),
            setting: settable(setting * other, side(other)),
            purpose: Purpose::Corner,
        }
    };
    let (less, more) = (1.0 / ratio, ratio);
    let corners = [(more, more), (more, less), (less, more), (less, less)]
        .map(|(power, other)| corner(power, other));

    let centre = (
        three_digits(power_w, f64::round),
        settable(setting, f64::round),
    );
    let ends = window.setpoint.and_then(|_| window.limits_at(centre.1));
    let (below, above) = match ends {
        Some((low, high)) => (low / BEYOND, high * BEYOND),
        None => (centre.0 / REACH, centre.0 * REACH),
    };
    let far = ratio.powf(std::f64::consts::SQRT_2);
    let run = |block: usize, power_w: f64, setting: f64, purpose: Purpose| Run {
        block,
        power_w: three_digits(power_w, f64::round),
        setting: settable(setting, f64::round),
        purpose,
    };
    let (power_w, setting) = centre;
    let first = [
        run(1, power_w, setting, Purpose::Centre),
        run(1, power_w, setting, Purpose::Centre),
        corners[0],
        corners[1],
        corners[2],
        corners[3],
    ];
    let second = [
        run(2, power_w, setting, Purpose::Centre),
        run(2, power_w, setting, Purpose::Centre),
        run(2, below, setting, Purpose::BelowWindow),
        run(2, above, setting, Purpose::AboveWindow),
        run(2, power_w, setting * far, Purpose::OtherSetting),
        run(2, power_w, setting / far, Purpose::OtherSetting),
    ];
    let mut cut_to_machine = false;
    let mut runs = Vec::new();
    for (number, block) in [first, second].into_iter().enumerate() {
        let mut block: Vec<Run> = std::iter::repeat_n(block, repeats.max(1))
            .flatten()
            .map(|it| within(it, joint.machine.as_ref(), &mut cut_to_machine))
            .collect();
        shuffle(&mut block, seed, number as u64);
        runs.extend(block);
    }
    Plan {
        runs,
        centre,
        lever,
        inside_window: window.setpoint.is_some(),
        cut_to_machine,
        seed,
    }
}

/// A value of three digits, as a machine can be set.
fn three_digits(value: f64, rounded: fn(f64) -> f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    let exponent = 2 - value.log10().floor() as i32;
    // Scaling by powers of ten with positive exponents keeps decimals exact.
    let scale = |value: f64, exponent: i32| {
        if 0 <= exponent {
            value * 10.0f64.powi(exponent)
        } else {
            value / 10.0f64.powi(-exponent)
        }
    };
    scale(rounded(scale(value, exponent)), -exponent)
}

/// The run with power and setting the machine can deliver.
fn within(run: Run, machine: Option<&Machine>, cut: &mut bool) -> Run {
    let Some(machine) = machine else {
        return run;
    };
    let moved = Run {
        power_w: run.power_w.clamp(machine.power_w.0, machine.power_w.1),
        setting: run.setting.clamp(machine.setting.0, machine.setting.1),
        ..run
    };
    *cut |= moved != run;
    moved
}

/// Puts runs into an order drawn at random (Fisher and Yates).
fn shuffle(runs: &mut [Run], seed: u64, block: u64) {
    let mut stream = Stream::new(seed, PURPOSE, block);
    for last in (1..runs.len()).rev() {
        let other = (stream.uniform() * (last + 1) as f64) as usize;
        runs.swap(last, other.min(last));
    }
}
