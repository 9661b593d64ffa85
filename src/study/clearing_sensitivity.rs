//! How far the sound powers move when the melt is clearer than the solid.
//!
//! Both ends are sought twice at one speed: with the scattering of the solid throughout, and with
//! the stated factor on the scattering of the melt, light and molten depth settled at every power.
//!
//! Checked in: `tests/weld/clearing.rs`.

use crate::error::Error;
use crate::study::power_limits::{PowerLimits, power_limits, power_limits_by};
use crate::study::progress::Progress;
use crate::study::window::ranges;
use crate::weld::clearing::simulate_cleared;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

/// How far beyond the powers found without clearing those with clearing are sought, as a ratio: a
/// fully clear melt brings at most a few times as much light.
const BEYOND: f64 = 4.0;

/// Sound powers at the speed of a joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearingSensitivity {
    /// With the scattering of the solid throughout.
    pub without: PowerLimits,
    /// With the stated factor in the melt.
    pub with: PowerLimits,
}

/// Seeks the sound powers of a joint with and without its clearing.
///
/// # Errors
/// Its light or heat cannot be followed, or light and melt do not settle.
pub fn clearing_sensitivity(
    joint: &Joint,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<ClearingSensitivity, Error> {
    let (range_w, _) = ranges(joint);
    let joints = std::slice::from_ref(joint);
    let without = power_limits(joints, range_w, settings, progress).remove(0)?;
    // Far above the window the part melts through and nothing is learnt from it.
    let near_w = match (without.low.power_w(), without.high.power_w()) {
        (Some(low), Some(high)) => (
            (low.min(high) / BEYOND).max(range_w.0),
            (1.1 * low.max(high)).min(range_w.1),
        ),
        _ => range_w,
    };
    let outcomes = |cases: &[Joint]| {
        simulate_cleared(cases, settings)
            .into_iter()
            .map(|it| it.map(|cleared| cleared.outcome))
            .collect()
    };
    let with = power_limits_by(&outcomes, joints, near_w, progress).remove(0)?;
    Ok(ClearingSensitivity { without, with })
}
