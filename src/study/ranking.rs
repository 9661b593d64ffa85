//! Many grades as the upper part of one joint, the most forgiving first.
//!
//! Grades are ranked by the drift of power they allow at the joint's speed with the laser at hand,
//! since power can be set anew for each grade; the verdict at the joint's own power is beside it.
//!
//! Checked in: `tests/cli/answers.rs`.

use crate::error::Error;
use crate::study::power_limits::{PowerLimits, power_limits};
use crate::study::progress::Progress;
use crate::study::requirement::{drift_of, transmittance_of};
use crate::study::window::ranges;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate};
use crate::weld::verdict::Verdict;

/// One grade in the joint.
#[derive(Clone, Debug)]
pub struct Graded {
    /// Name of the grade: its file.
    pub name: String,
    /// The joint with the grade as upper part.
    pub joint: Joint,
    /// What becomes of it at the joint's setpoint.
    pub outcome: Outcome,
    /// Its sound powers at the joint's speed.
    pub limits: PowerLimits,
    /// Highest over lowest power inside the laser's; none where there is none.
    pub latitude: Option<f64>,
    /// Total transmittance in air at the thickness of the part.
    pub transmittance: f64,
}

impl Graded {
    /// Sound at the setpoint of the joint.
    pub fn is_sound(&self) -> bool {
        self.outcome.verdict == Verdict::Sound
    }

    /// Share by which the power may drift either way; none where no power of the laser is sound.
    pub fn drift(&self) -> Option<f64> {
        self.latitude.map(drift_of).filter(|it| 0.0 <= *it)
    }
}

/// Judges every grade; those sound at the setpoint of the joint first, among them the most forgiving
/// first, grades without sound power by their margin. A grade
/// that cannot be followed comes back with its name and error and does not stop the others.
pub fn rank(
    grades: Vec<(String, Joint)>,
    settings: &Settings,
    progress: &dyn Progress,
) -> (Vec<Graded>, Vec<(String, Error)>) {
    let joints: Vec<Joint> = grades.iter().map(|it| it.1.clone()).collect();
    let Some(first) = joints.first() else {
        return (Vec::new(), Vec::new());
    };
    let (power_w, _) = ranges(first);
    let outcomes = simulate(&joints, settings);
    let limits = power_limits(&joints, power_w, settings, progress);
    let (mut ranked, mut failed) = (Vec::new(), Vec::new());
    for (((name, joint), outcome), limits) in grades.into_iter().zip(outcomes).zip(limits) {
        let graded = outcome.and_then(|outcome| {
            let limits = limits?;
            let laser_w = joint.machine.map_or(power_w, |it| it.power_w);
            Ok(Graded {
                name: name.clone(),
                latitude: limits.latitude_within(laser_w),
                transmittance: transmittance_of(&joint)?,
                outcome,
                limits,
                joint,
            })
        });
        match graded {
            Ok(graded) => ranked.push(graded),
            Err(error) => failed.push((name, error)),
        }
    }
    let worth = |it: &Graded| (it.drift().unwrap_or(-1.0), it.outcome.governing.margin);
    ranked.sort_by(|a, b| {
        let sound_first = b.is_sound().cmp(&a.is_sound());
        let (a, b) = (worth(a), worth(b));
        sound_first
            .then(b.0.total_cmp(&a.0))
            .then(b.1.total_cmp(&a.1))
    });
    (ranked, failed)
}
