//! Whether the limits that batches must keep to can be judged: a limit of what nobody knows is kept
//! by no batch, and broken by none.
//!
//! Checked in: `tests/cli/batches.rs`.

use crate::colour::Observer;
use crate::error::{ColourProblem, Error};
use crate::study::colour_batches::{Batch, BatchQuestion};
use crate::study::specification::{Characteristic, Specified};
use crate::units::NM;

impl Batch {
    /// Limits that the batch breaks; a value that is not known breaks none. A batch that welds at no
    /// power breaks any limit of its latitude.
    pub fn broken(&self, specification: &[Specified], observer: Observer) -> Vec<Characteristic> {
        specification
            .iter()
            .map(|it| (it.characteristic, it.limits))
            .filter(|(of, limits)| match self.value(*of, observer) {
                // Below one no power is sound.
                Some(latitude) if *of == Characteristic::Latitude => {
                    latitude < 1.0 || !limits.hold(latitude)
                }
                Some(value) => !limits.hold(value),
                None => *of == Characteristic::Latitude && self.weld.is_some(),
            })
            .map(|it| it.0)
            .collect()
    }

    /// Limits that the batch neither keeps nor breaks, since its value is not known.
    pub fn unjudged(&self, specification: &[Specified], observer: Observer) -> Vec<Characteristic> {
        let broken = self.broken(specification, observer);
        specification
            .iter()
            .map(|it| it.characteristic)
            .filter(|it| self.value(*it, observer).is_none() && !broken.contains(it))
            .collect()
    }
}

/// What was given beside the batches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beside {
    /// The colour aimed at.
    pub standard: bool,
    /// The grade without colourant.
    pub natural: bool,
    /// The joint.
    pub joint: bool,
}

/// Refuses limits that need what is not given, before anything is computed.
///
/// # Errors
/// ΔE00 without a standard, latitude without a joint, or retained transmission without a natural
/// grade and without a joint.
pub fn possible(specification: &[Specified], beside: Beside) -> Result<(), Error> {
    for of in specification.iter().map(|it| it.characteristic) {
        let (missing, cure) = match of {
            Characteristic::Difference if !beside.standard => (
                "there is no standard to differ from",
                "dE00 needs --standard FILE: a plaque of the colour aimed at",
            ),
            Characteristic::Latitude if !beside.joint => (
                "there is no joint to weld",
                "latitude needs --joint JOINT: the joint file whose upper part the batches take the \
                 place of",
            ),
            Characteristic::Retained if !beside.natural && !beside.joint => (
                "there is no natural grade to compare with",
                "retained needs --natural FILE: a plaque of the same polymer without colourant; or \
                 --joint JOINT, whose upper part counts as natural",
            ),
            _ => continue,
        };
        return Err(unknown(of, missing.into()).cure(format!("{cure}; or leave the limit out")));
    }
    Ok(())
}

/// Refuses a limit, of those that are [`possible`], of what no batch shows.
///
/// # Errors
/// No batch was measured so that the limit can be judged.
pub(crate) fn judged(batches: &[Batch], asked: &BatchQuestion<'_>) -> Result<(), Error> {
    for specified in asked.specification {
        let of = specified.characteristic;
        let one = std::slice::from_ref(specified);
        let told = |it: &Batch| it.unjudged(one, asked.observer).is_empty();
        if batches.iter().any(told) {
            continue;
        }
        let line_nm = asked.laser.line_m / NM;
        let (missing, cure) = match of {
            Characteristic::Opacity => (
                "no plaque was measured over black and over white".into(),
                "opacity needs two columns in every file, \"R over black [%]\" and \"R over white \
                 [%]\""
                    .into(),
            ),
            _ => (
                format!("no file tells how the plaque lets the laser through at {line_nm:.0} nm"),
                format!(
                    "{} needs total transmittance up to the laser line in every file; or name a line \
                     inside the spectra with --line",
                    of.key()
                ),
            ),
        };
        return Err(unknown(of, missing).cure(format!("{cure}; or leave the limit out")));
    }
    Ok(())
}

fn unknown(of: Characteristic, missing: String) -> Error {
    Error::new(ColourProblem::LimitNotJudged {
        limit: of.key().into(),
        missing,
    })
}
