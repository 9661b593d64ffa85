//! The window before and after trials, on the power the machine is set to.

use crate::error::Error;
use crate::numerics::statistics::BatchMeans;
use crate::study::band::Band;
use crate::study::calibration::Calibration;
use crate::study::calibration::parameter::applied;
use crate::study::calibration::response::Expected;
use crate::study::calibration::trial::Trial;
use crate::study::power_limits::{PowerLimit, at_power, power_limits};
use crate::study::progress::{Progress, Silent};
use crate::study::window::{Window, window};
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::simulate;

/// Points of the sample whose boundaries make the band.
const POINTS: usize = 24;

/// Settings of the band.
const SETTINGS: usize = 9;

/// The window after trials.
#[derive(Clone, Debug)]
pub struct Redrawn {
    /// The window of the corrected joint over the power set.
    pub window: Window,
    /// Standard deviations of its boundaries over the sample.
    pub band: Band,
    /// The corrected joint at its recommended setpoint, power at the part.
    pub joint: Joint,
    /// Power at the part over power set.
    pub coupling: f64,
}

/// What the joint file says of trials, simulated.
///
/// # Errors
/// Light or heat cannot be followed.
pub fn expected(
    joint: &Joint,
    trials: &[Trial],
    settings: &Settings,
) -> Result<Vec<Expected>, Error> {
    let cases: Vec<Joint> = trials
        .iter()
        .map(|it| at_power(&joint.at_setting(it.setting), it.power_w))
        .collect();
    simulate(&cases, settings)
        .into_iter()
        .map(|it| Ok(Expected::of(&it?)))
        .collect()
}

/// Traces the window of the joint as calibrated.
///
/// # Errors
/// Light or heat cannot be followed.
pub fn redrawn(
    joint: &Joint,
    calibration: &Calibration,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Redrawn, Error> {
    let priors = calibration.priors();
    let (mut corrected, coupling) = applied(joint, &priors, &calibration.best);
    if let Some(machine) = &mut corrected.machine {
        machine.power_w = (machine.power_w.0 * coupling, machine.power_w.1 * coupling);
    }
    let traced = window(&corrected, settings, progress)?;
    let corrected = crate::study::window::at_setpoint(&corrected, &traced);
    let set = over_power_set(traced, coupling);
    let shown = set.thinned(SETTINGS);
    let stride = (calibration.sample.len() / POINTS).max(1);
    let points: Vec<(Joint, f64)> = calibration
        .sample
        .iter()
        .step_by(stride)
        .take(POINTS)
        .map(|it| applied(joint, &priors, it))
        .collect();
    let cases: Vec<Joint> = points
        .iter()
        .flat_map(|(joint, _)| shown.iter().map(|&it| joint.at_setting(it)))
        .collect();
    let limits = power_limits(&cases, set.power_w, settings, &Silent)
        .into_iter()
        .collect::<Result<Vec<_>, Error>>()?;
    let spread = |s: usize, of: &dyn Fn(usize) -> Option<f64>| {
        let mut means = BatchMeans::new(1);
        for (i, (_, coupling)) in points.iter().enumerate() {
            means.push(&[(of(i * shown.len() + s)? / coupling).ln()]);
        }
        Some(means.estimate(0).standard_error * (points.len() as f64).sqrt())
    };
    let low = (0..shown.len())
        .map(|s| spread(s, &|i| limits[i].low.power_w()))
        .collect();
    let high = (0..shown.len())
        .map(|s| spread(s, &|i| limits[i].high.power_w()))
        .collect();
    Ok(Redrawn {
        band: Band {
            inputs: Vec::new(),
            setting: shown,
            low,
            high,
            low_share: Vec::new(),
        },
        window: set,
        joint: corrected,
        coupling,
    })
}

/// The window of a joint over the power the machine is set to.
fn over_power_set(mut window: Window, coupling: f64) -> Window {
    let scaled = |limit: PowerLimit| match limit {
        PowerLimit::At { power_w, rule } => PowerLimit::At {
            power_w: power_w / coupling,
            rule,
        },
        PowerLimit::Beyond { power_w } => PowerLimit::Beyond {
            power_w: power_w / coupling,
        },
        never @ PowerLimit::Never { .. } => never,
    };
    for line in &mut window.lines {
        line.limits.low = scaled(line.limits.low);
        line.limits.high = scaled(line.limits.high);
    }
    window.power_w = (window.power_w.0 / coupling, window.power_w.1 / coupling);
    if let Some(machine) = &mut window.machine {
        machine.power_w = (machine.power_w.0 / coupling, machine.power_w.1 / coupling);
    }
    if let Some(setpoint) = &mut window.setpoint {
        setpoint.power_w /= coupling;
    }
    window
}
