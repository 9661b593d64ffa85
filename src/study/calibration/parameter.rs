//! What is fitted to trials, what was believed before, and the joint that results.

use crate::study::band::{Input, uncertain_inputs};
use crate::weld::joint::{Interface, Joint};

/// A quantity that trials can correct.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Parameter {
    /// Power that reaches the part, divided by the power the machine was set to.
    Coupling,
    /// Absorption of the lower part, divided by that of the joint file.
    Absorber,
    /// Conductance between the parts: W/(m² K) where the joint has perfect contact, else divided by
    /// that of the joint file.
    Contact,
}

impl Parameter {
    /// All parameters.
    pub const ALL: [Parameter; 3] = [Parameter::Coupling, Parameter::Absorber, Parameter::Contact];

    /// The parameter in words.
    pub fn words(self) -> &'static str {
        match self {
            Parameter::Coupling => "power at the part, over power set",
            Parameter::Absorber => "absorption of the lower part, over joint file",
            Parameter::Contact => "conductance between the parts",
        }
    }

    /// Name on the command line and in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Parameter::Coupling => "coupling",
            Parameter::Absorber => "absorber",
            Parameter::Contact => "contact",
        }
    }
}

/// What was believed before the trials: normal in the logarithm of the parameter, with bounds.
#[derive(Clone, Debug, PartialEq)]
pub struct Prior {
    /// Which parameter.
    pub parameter: Parameter,
    /// Mean of the logarithm.
    pub mean: f64,
    /// Standard deviation of the logarithm.
    pub deviation: f64,
    /// Unit of the parameter; empty for a ratio.
    pub unit: &'static str,
    /// Who says so.
    pub source: &'static str,
}

/// Standard deviations either side of the mean at which a prior is cut off.
pub const REACH: f64 = 3.0;

impl Prior {
    /// Least and greatest logarithm.
    pub fn bounds(&self) -> (f64, f64) {
        (
            self.mean - REACH * self.deviation,
            self.mean + REACH * self.deviation,
        )
    }
}

/// Relative uncertainty of the power at the part over the power set. The joint's own uncertainty of
/// power is how well it repeats, which is another thing.
pub const COUPLING_DEFAULT: f64 = 0.1;

/// Relative uncertainty of an absorption where neither joint nor card states one.
pub const ABSORBER_DEFAULT: f64 = 0.3;

/// Median and spread (a ratio) of the conductance of a clamped contact that is taken as perfect.
pub const CONTACT_DEFAULT_W_PER_M2_K: (f64, f64) = (2e4, 4.0);

/// Uncertainty as a ratio of a stated conductance or gap where the joint states none.
pub const CONTACT_RATIO_DEFAULT: f64 = 1.5;

/// What is believed of each parameter before the trials.
pub fn priors(joint: &Joint, parameters: &[Parameter]) -> Vec<Prior> {
    let known = uncertain_inputs(joint);
    let stated = |input: Input| {
        known
            .iter()
            .find(|it| it.input == input)
            .map(|it| (it.relative.ln_1p(), it.source))
    };
    parameters
        .iter()
        .map(|&parameter| {
            let ours = "assumption of ours";
            let (mean, (deviation, source), unit) = match parameter {
                Parameter::Coupling => (0.0, (COUPLING_DEFAULT.ln_1p(), ours), ""),
                Parameter::Absorber => (
                    0.0,
                    stated(Input::Absorber).unwrap_or((ABSORBER_DEFAULT.ln_1p(), ours)),
                    "",
                ),
                Parameter::Contact if is_perfect(joint) => {
                    let (median, ratio) = CONTACT_DEFAULT_W_PER_M2_K;
                    (median.ln(), (ratio.ln(), ours), "W/(m² K)")
                }
                Parameter::Contact => (
                    0.0,
                    stated(Input::Contact).unwrap_or((CONTACT_RATIO_DEFAULT.ln(), ours)),
                    "",
                ),
            };
            Prior {
                parameter,
                mean,
                deviation,
                unit,
                source,
            }
        })
        .collect()
}

fn is_perfect(joint: &Joint) -> bool {
    matches!(
        joint.interface,
        Interface::Contact {
            conductance_w_per_m2_k: None
        }
    )
}

/// The joint with absorber and contact at these values (natural logarithms, one a prior), its power
/// untouched; and the coupling.
pub fn applied(joint: &Joint, priors: &[Prior], logarithms: &[f64]) -> (Joint, f64) {
    let mut changed = joint.clone();
    let mut coupling = 1.0;
    for (prior, logarithm) in priors.iter().zip(logarithms) {
        let value = logarithm.exp();
        match prior.parameter {
            Parameter::Coupling => coupling = value,
            Parameter::Absorber => changed = Input::Absorber.scaled(&changed, value),
            Parameter::Contact if is_perfect(joint) => {
                changed.interface = Interface::Contact {
                    conductance_w_per_m2_k: Some(value),
                };
            }
            Parameter::Contact => changed = conducting(changed, value),
        }
    }
    (changed, coupling)
}

/// The joint with `factor` times the conductance between its parts.
fn conducting(joint: Joint, factor: f64) -> Joint {
    // A gap conducts as its width inverted.
    let factor = match joint.interface {
        Interface::Gap {
            conductance_w_per_m2_k: None,
            ..
        } => factor.recip(),
        _ => factor,
    };
    Input::Contact.scaled(&joint, factor)
}
