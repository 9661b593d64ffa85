//! Inputs that scatter from part to part or are known only so well, and joints drawn from them.
//!
//! Every input is multiplied by a factor of its own, distributed as a lognormal whose middle is the
//! value in the files and whose spread is the stated relative standard uncertainty r:
//!
//! ```text
//! factor = exp(σ z),      σ = √ln(1 + r²),      z standard normal
//! ```
//!
//! Factors on conductivity (a) and specific heat (b) of all bodies need no new property table. From
//! b ρc ∂T/∂t = ∂(a k ∂T/∂z)/∂z + q, temperatures are the same as with the tables of the cards when
//!
//! ```text
//! power, convection and conductances / a;   speed · b/a;   times · a/b
//! ```
//!
//! so the joint that is simulated has that power and speed, and limits on time and damage to match:
//! margins and verdict are those of the joint that is meant (its times are not).
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | r | `Scattered::relative` | standard uncertainty over value |
//! | a, b | – | factors on conductivity, on specific heat with latent heat |
//!
//! Holds for: independent inputs above zero. A clamp plate's conductivity and specific heat are
//! scaled with those of the parts. Does not hold for: inputs that move together, lots with two
//! peaks.
//!
//! Checked in: `tests/study/scatter.rs`.

use std::sync::Arc;

use crate::error::Error;
use crate::material::absorber::CARBON_RELATIVE_UNCERTAINTY;
use crate::material::optical::OpticalConstants;
use crate::material::{Absorber, Optical, Sourced, Spectrum, Status};
use crate::numerics::normal::normal_quantile;
use crate::study::band::{THERMAL_RELATIVE_UNCERTAINTY, known_to};
use crate::weld::joint::{Interface, Joint, Motion};
use crate::weld::setpoint::Lever;

/// An input that scatters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Absorption and scattering of the upper part together.
    UpperOptics,
    /// Absorption of the upper part.
    UpperAbsorption,
    /// Scattering of the upper part.
    UpperScattering,
    /// Thickness of the upper part.
    UpperThickness,
    /// Absorption of the lower part: its absorber, or its own where it has none.
    Absorber,
    /// Laser power at the part.
    Power,
    /// Feed rate.
    Speed,
    /// Time of a simultaneous shot.
    Time,
    /// Spot length and width.
    Spot,
    /// Gap or contact conductance.
    Contact,
    /// Conductivity.
    Conductivity,
    /// Specific heat, latent heat included.
    SpecificHeat,
}

impl Quantity {
    /// All inputs with the words used for them, and their keys in JSON.
    pub const WORDS: [(Quantity, &'static str, &'static str); 12] = [
        (
            Quantity::UpperOptics,
            "upper part, absorption and scattering",
            "upper_optics",
        ),
        (
            Quantity::UpperAbsorption,
            "upper part, absorption",
            "upper_absorption",
        ),
        (
            Quantity::UpperScattering,
            "upper part, scattering",
            "upper_scattering",
        ),
        (
            Quantity::UpperThickness,
            "upper part, thickness",
            "upper_thickness",
        ),
        (Quantity::Absorber, "lower part, absorption", "absorber"),
        (Quantity::Power, "power", "power"),
        (Quantity::Speed, "speed", "speed"),
        (Quantity::Time, "time", "time"),
        (Quantity::Spot, "spot size", "spot"),
        (Quantity::Contact, "gap or contact", "contact"),
        (Quantity::Conductivity, "conductivity", "conductivity"),
        (Quantity::SpecificHeat, "specific heat", "specific_heat"),
    ];

    fn row(self) -> (&'static str, &'static str) {
        Quantity::WORDS
            .iter()
            .find_map(|(it, words, key)| (*it == self).then_some((*words, *key)))
            .unwrap_or(("input", "input"))
    }

    /// The words used for the input.
    pub fn words(self) -> &'static str {
        self.row().0
    }

    /// Its key in JSON.
    pub fn key(self) -> &'static str {
        self.row().1
    }
}

/// An input with its spread and who says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Scattered {
    /// Which input.
    pub quantity: Quantity,
    /// Standard uncertainty divided by the value, above zero.
    pub relative: f64,
    /// Who says so.
    pub source: String,
}

impl Scattered {
    /// Standard deviation of the logarithm of the factor.
    pub fn sigma(&self) -> f64 {
        self.relative.powi(2).ln_1p().sqrt()
    }

    /// Factor at a number between 0 and 1 (its distribution function).
    pub fn factor(&self, uniform: f64) -> f64 {
        (self.sigma() * normal_quantile(uniform)).exp()
    }
}

/// What scatters in a joint, and what is taken as exact: because nobody states how well it is known, or
/// because that is stated to be zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Scatter {
    /// Inputs that scatter, in the order of [`Quantity::WORDS`].
    pub inputs: Vec<Scattered>,
    /// Inputs taken as exact, that could scatter.
    pub exact: Vec<Quantity>,
}

/// The joint file's uncertainties; where it is silent the cards' and spectra's, and the default for
/// carbon black by content and for thermal values.
pub fn scatter_of(joint: &Joint) -> Scatter {
    let stated = &joint.uncertainty;
    let card = |it: &Option<Sourced<Spectrum>>| {
        it.as_ref()
            .and_then(|it| Some((known_to(&it.value, joint.wavelength_m)?, it.source.clone())))
    };
    let optical = &joint.upper.optical;
    let (absorption, scattering) = match stated.upper_optics {
        Some(_) => (None, None),
        None => (card(&optical.absorption), card(&optical.scattering)),
    };
    let file = |it: Option<f64>| it.map(|it| (it, "joint file".to_string()));
    let thermal = file(stated.thermal).or_else(|| {
        let source = "FDS validation guide, polymers: ±15 %";
        Some((THERMAL_RELATIVE_UNCERTAINTY, source.to_string()))
    });
    let split = absorption.is_some() || scattering.is_some();
    let contact = match joint.interface {
        // Perfect contact has no value that could scatter.
        Interface::Contact {
            conductance_w_per_m2_k: None,
        } => None,
        _ => Some(file(stated.contact)),
    };
    let shot = joint.motion.lever() == Lever::Time;
    let rows = [
        (
            Quantity::UpperOptics,
            (!split).then(|| file(stated.upper_optics)),
        ),
        (Quantity::UpperAbsorption, split.then_some(absorption)),
        (
            Quantity::UpperScattering,
            (split && optical.scatters()).then_some(scattering),
        ),
        (Quantity::UpperThickness, Some(file(stated.upper_thickness))),
        (
            Quantity::Absorber,
            Some(file(stated.absorber).or_else(|| absorber_default(joint))),
        ),
        (Quantity::Power, Some(file(stated.power))),
        (Quantity::Speed, (!shot).then(|| file(stated.speed))),
        (Quantity::Time, shot.then(|| file(stated.time))),
        (Quantity::Spot, Some(file(stated.spot))),
        (Quantity::Contact, contact),
        (Quantity::Conductivity, Some(thermal.clone())),
        (Quantity::SpecificHeat, Some(thermal)),
    ];
    let mut scatter = Scatter {
        inputs: Vec::new(),
        exact: Vec::new(),
    };
    for (quantity, known) in rows {
        match known {
            Some(Some((relative, source))) if 0.0 < relative => scatter.inputs.push(Scattered {
                quantity,
                relative,
                source,
            }),
            Some(_) => scatter.exact.push(quantity),
            None => {}
        }
    }
    scatter
}

fn absorber_default(joint: &Joint) -> Option<(f64, String)> {
    let lower = &joint.lower;
    let known = |it: &Sourced<Spectrum>| {
        Some((known_to(&it.value, joint.wavelength_m)?, it.source.clone()))
    };
    match &lower.absorber {
        Some(Absorber::CarbonBlack {
            mass_absorption_m2_per_kg: it,
            ..
        }) if !matches!(it.status, Status::Stated | Status::Measured) => Some((
            CARBON_RELATIVE_UNCERTAINTY,
            "default slope of carbon black".into(),
        )),
        Some(Absorber::CarbonBlack { .. }) => None,
        Some(Absorber::Added(it)) => known(it),
        None => known(lower.optical.absorption.as_ref()?),
    }
}

/// What does not change from one drawn joint to the next, worked out once.
#[derive(Clone, Debug)]
pub struct Draw {
    joint: Joint,
    upper: OpticalConstants,
    lower: OpticalConstants,
    /// Absorption of the lower part that the absorber brings, 1/m.
    added_per_m: f64,
}

impl Draw {
    /// Draws around a joint.
    ///
    /// # Errors
    /// A spectrum does not reach the wavelength, or a part has no absorption.
    pub fn around(joint: &Joint) -> Result<Self, Error> {
        let (upper, lower) = (
            joint.upper.optical_at(joint.wavelength_m)?,
            joint.lower.optical_at(joint.wavelength_m)?,
        );
        let added_per_m = match &joint.lower.absorber {
            Some(_) => {
                let mut plain = joint.lower.clone();
                plain.absorber = None;
                // Where nobody measured the polymer's own absorption the absorber is all there is.
                let own = plain.optical_at(joint.wavelength_m);
                lower.mu_a_per_m - own.map_or(0.0, |it| it.mu_a_per_m)
            }
            None => lower.mu_a_per_m,
        };
        let mut joint = joint.clone();
        for part in [&mut joint.upper, &mut joint.lower] {
            part.absorber = None;
            part.moisture = None;
        }
        Ok(Draw {
            joint,
            upper,
            lower,
            added_per_m,
        })
    }

    /// The joint in the middle, with its constants at the wavelength in place of spectra.
    pub fn middle(&self) -> Joint {
        self.at(&[], &[]).joint
    }

    /// The joint with `factors` on `quantities` (of one length).
    pub fn at(&self, quantities: &[Quantity], factors: &[f64]) -> Drawn {
        let of = |wanted: Quantity| {
            quantities
                .iter()
                .zip(factors)
                .filter(|(it, _)| **it == wanted)
                .map(|(_, factor)| *factor)
                .product::<f64>()
        };
        let mut joint = self.joint.clone();
        let (mut upper, mut lower) = (self.upper, self.lower);
        let optics = of(Quantity::UpperOptics);
        upper.mu_a_per_m *= optics * of(Quantity::UpperAbsorption);
        upper.mu_s_per_m *= optics * of(Quantity::UpperScattering);
        lower.mu_a_per_m += self.added_per_m * (of(Quantity::Absorber) - 1.0);
        joint.upper.optical = Arc::new(constant(upper));
        joint.lower.optical = Arc::new(constant(lower));
        joint.upper.thickness_m *= of(Quantity::UpperThickness);
        joint.beam.length_m *= of(Quantity::Spot);
        joint.beam.width_m *= of(Quantity::Spot);
        let (a, b) = (of(Quantity::Conductivity), of(Quantity::SpecificHeat));
        let contact = of(Quantity::Contact);
        joint.interface = thermal_contact(joint.interface, contact, a);
        if let Some(clamp) = &mut joint.clamp
            && let Some(conductance) = &mut clamp.conductance_w_per_m2_k
        {
            *conductance /= a;
        }
        joint.surroundings.convection_w_per_m2_k /= a;
        if a != b {
            rescale_times(&mut joint, a / b);
        }
        let mut drawn = Drawn {
            motion: joint.motion,
            joint,
            power: of(Quantity::Power) / a,
            speed: of(Quantity::Speed) / of(Quantity::Time) * b / a,
        };
        drawn.joint = drawn.set_to(self.joint.beam.power_w, self.joint.motion.setting());
        drawn
    }
}

/// A drawn joint, and how its power and speed follow from what the machine is set to.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// The joint to simulate, at the setpoint of the one in the middle.
    pub joint: Joint,
    /// How the light moves where nothing is scaled.
    motion: Motion,
    /// Power to simulate over power set.
    pub power: f64,
    /// Speeds to simulate over speeds set; the time of a shot is divided by it.
    pub speed: f64,
}

impl Drawn {
    /// The joint to simulate when the machine is set to a power (W) and what goes with it (SI).
    pub fn set_to(&self, power_w: f64, setting: f64) -> Joint {
        let mut joint = self.joint.clone();
        joint.motion = self.motion.at_setting(setting).faster(self.speed);
        if let Motion::Simultaneous { time_s } = &mut joint.motion {
            *time_s /= self.speed;
        }
        joint.beam.power_w = power_w * self.power;
        joint
    }
}

/// A contact with its conductance (or gap) scaled, all conductances over `a`.
fn thermal_contact(interface: Interface, factor: f64, a: f64) -> Interface {
    match interface {
        Interface::Contact {
            conductance_w_per_m2_k,
        } => Interface::Contact {
            conductance_w_per_m2_k: conductance_w_per_m2_k.map(|it| it * factor / a),
        },
        Interface::Gap {
            gap_m,
            conductance_w_per_m2_k: Some(it),
            closes,
            film_factor,
        } => Interface::Gap {
            gap_m,
            conductance_w_per_m2_k: Some(it * factor / a),
            closes,
            film_factor,
        },
        Interface::Gap {
            gap_m,
            conductance_w_per_m2_k: None,
            closes,
            film_factor,
        } => Interface::Gap {
            gap_m: gap_m * factor,
            conductance_w_per_m2_k: None,
            closes,
            film_factor: film_factor / a,
        },
    }
}

/// Limits on times and on integrals over time, multiplied by `factor`.
fn rescale_times(joint: &mut Joint, factor: f64) {
    let mut limits = (*joint.limits).clone();
    if let Some(it) = &mut limits.time_above_flow_s {
        it.value *= factor;
    }
    // 1 − exp(−I) of an integral that is `factor` times as large.
    limits.damage.value = -(factor * (-limits.damage.value).ln_1p()).exp_m1();
    joint.limits = Arc::new(limits);
}

fn constant(at: OpticalConstants) -> Optical {
    let fixed = |value: f64| Sourced::new(Spectrum::constant(value), "", Status::Computed);
    let scatters = 0.0 < at.mu_s_per_m;
    Optical {
        refractive_index: fixed(at.n),
        absorption: Some(fixed(at.mu_a_per_m)),
        scattering: scatters.then(|| fixed(at.mu_s_per_m)),
        anisotropy: scatters.then(|| fixed(at.g)),
        reading: crate::material::optical::Reading::Coefficients,
    }
}
