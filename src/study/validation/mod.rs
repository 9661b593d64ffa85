//! What lightseam is checked against, computed anew: every stage by closed forms, published tables,
//! other programs, and measurements.
//!
//! A [`Check`] holds the largest deviation found and the limit that it may not pass. A [`Finding`] is
//! a disagreement that stands: what others say, what is found here, and why neither was bent.
//!
//! Reference numbers are those of `tests/published/`, built into the program; each file names its
//! source. The tests hold the same numbers to the same limits.

use std::sync::Arc;

use crate::error::Error;
use crate::material::{Damage, Spectrum};
use crate::study::progress::Progress;
use crate::weld::Joint;

mod exact_heat;
mod faces;
mod heat_reference;
mod light;
mod melting;
pub mod sideways;
mod spectra;
mod table;
mod weld;

/// A step of the chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Reflection, absorption and scattering.
    Light,
    /// Light that scattering spreads sideways.
    Sideways,
    /// From spectra to coefficients.
    Spectra,
    /// Conduction and melting.
    Heat,
    /// From temperatures to a verdict.
    Weld,
}

impl Stage {
    /// All stages in the order of the chain.
    pub const ALL: [Stage; 5] = [
        Stage::Light,
        Stage::Sideways,
        Stage::Spectra,
        Stage::Heat,
        Stage::Weld,
    ];

    /// Name for headings.
    pub fn name(self) -> &'static str {
        match self {
            Stage::Light => "light",
            Stage::Sideways => "light sideways",
            Stage::Spectra => "spectra",
            Stage::Heat => "heat",
            Stage::Weld => "weld",
        }
    }
}

/// What kind of authority a check appeals to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A formula that is exact for the case.
    ClosedForm,
    /// Numbers printed by others.
    Published,
    /// Numbers computed by an independent program.
    OtherProgram,
    /// Numbers of the program itself, more finely resolved.
    Finer,
    /// Measurements, as plausibility.
    Experiment,
}

impl Kind {
    /// Words for tables.
    pub fn words(self) -> &'static str {
        match self {
            Kind::ClosedForm => "closed form",
            Kind::Published => "published table",
            Kind::OtherProgram => "other program",
            Kind::Finer => "itself, finer",
            Kind::Experiment => "measurement",
        }
    }
}

/// One comparison with its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Step of the chain.
    pub stage: Stage,
    /// What is compared, in a few words.
    pub what: &'static str,
    /// Kind of authority.
    pub kind: Kind,
    /// The authority.
    pub source: &'static str,
    /// Values compared.
    pub values: usize,
    /// Largest deviation of them.
    pub deviation: f64,
    /// Largest deviation allowed.
    pub limit: f64,
    /// Unit of both; "relative" for shares of the expected value.
    pub unit: &'static str,
}

impl Check {
    /// Deviation as a share of its limit.
    pub fn share(&self) -> f64 {
        self.deviation / self.limit
    }

    /// Whether the deviation is a number within its limit.
    pub fn holds(&self) -> bool {
        self.deviation <= self.limit
    }
}

/// A disagreement that is left standing.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Step of the chain.
    pub stage: Stage,
    /// What is in question.
    pub what: &'static str,
    /// What others say, and who.
    pub theirs: &'static str,
    /// What is found here.
    pub ours: String,
    /// What to make of it.
    pub remark: &'static str,
}

/// Data of the library that checks need and a pure study cannot read.
#[derive(Clone, Debug)]
pub struct Given {
    /// Absorption of liquid water, 1/m.
    pub water: Arc<Spectrum>,
    /// Kinetics of damage by name of the card.
    pub damage: Vec<(String, Damage)>,
    /// Clear polycarbonate on polycarbonate with 0.1 % carbon black, 980 nm, contour.
    pub polycarbonate: Joint,
}

/// All checks and findings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Validation {
    /// Comparisons, in the order of the chain.
    pub checks: Vec<Check>,
    /// Disagreements, in the order of the chain.
    pub findings: Vec<Finding>,
}

impl Validation {
    /// Whether every check holds.
    pub fn holds(&self) -> bool {
        self.checks.iter().all(Check::holds)
    }

    fn extend(&mut self, other: Validation) {
        self.checks.extend(other.checks);
        self.findings.extend(other.findings);
    }
}

/// Runs every check.
///
/// # Errors
/// A case of a check is refused: a fault of the program.
pub fn validate(given: &Given, progress: &dyn Progress) -> Result<Validation, Error> {
    let mut all = Validation::default();
    let steps: [&dyn Fn() -> Result<Validation, Error>; 8] = [
        &|| Ok(faces::checks()),
        &light::checks,
        &sideways::checks,
        &|| spectra::checks(given),
        &exact_heat::checks,
        &heat_reference::checks,
        &melting::checks,
        &|| weld::checks(given),
    ];
    for (done, step) in steps.iter().enumerate() {
        progress.at(done, steps.len());
        all.extend(step()?);
    }
    progress.at(steps.len(), steps.len());
    Ok(all)
}
