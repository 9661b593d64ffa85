//! How far the boundaries of a window move because inputs are uncertain: windows are bands.
//!
//! Each uncertain input is moved by one standard deviation either way, the boundary is traced
//! again, and the shifts of ln P of independent inputs are added in squares:
//!
//! ```text
//! σ²(ln P) = Σ_i ( ½ (ln P(x_i + σ_i) − ln P(x_i − σ_i)) )²
//! ```
//!
//! Of a part's coefficients the standard errors of its plaques at the wavelength of the joint count, or
//! what its card says, absorption and scattering each by itself (that the two errors are correlated is
//! left out), unless the joint states an uncertainty of its own.
//!
//! Source: JCGM 100:2008 (GUM), sec. 5.1.2 with its note on differences in place of derivatives
//! (from memory). Checked in: `tests/study/band.rs`.

use std::sync::Arc;

use crate::error::Error;
use crate::material::absorber::CARBON_RELATIVE_UNCERTAINTY;
use crate::material::{Absorber, Material, Optical, Sourced, Spectrum, Status};
use crate::study::power_limits::{Guess, PowerLimit, PowerLimits, Scope, power_limits_near};
use crate::study::progress::Silent;
use crate::study::window::{SettingLine, Window, goes_first, guess_at};
use crate::weld::joint::{Interface, Joint, Part};
use crate::weld::setpoint::Lever;
use crate::weld::settings::Settings;

/// Relative standard uncertainty given to conductivity and specific heat that the joint does not
/// state (FDS validation data give ±15 %, see the cards).
pub const THERMAL_RELATIVE_UNCERTAINTY: f64 = 0.15;

/// An input that is known only so well.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Input {
    /// Absorption and scattering of the upper part.
    UpperOptics,
    /// Absorption, or effective extinction, of the upper part alone.
    UpperAbsorption,
    /// Scattering of the upper part alone.
    UpperScattering,
    /// Thickness of the upper part.
    UpperThickness,
    /// Absorption of the lower part.
    Absorber,
    /// Laser power at the part.
    Power,
    /// Feed rate, scan speed or rotation.
    Speed,
    /// Time of a simultaneous shot.
    Time,
    /// Spot length and width.
    Spot,
    /// Gap or contact conductance.
    Contact,
    /// Conductivity and specific heat of both parts.
    Thermal,
}

impl Input {
    /// All inputs with the words used for them.
    pub const WORDS: [(Input, &'static str); 11] = [
        (Input::UpperOptics, "upper part, absorption and scattering"),
        (Input::UpperAbsorption, "upper part, absorption"),
        (Input::UpperScattering, "upper part, scattering"),
        (Input::UpperThickness, "upper part, thickness"),
        (Input::Absorber, "lower part, absorption"),
        (Input::Power, "power"),
        (Input::Speed, "speed"),
        (Input::Time, "time"),
        (Input::Spot, "spot size"),
        (Input::Contact, "gap or contact"),
        (Input::Thermal, "conductivity and specific heat"),
    ];

    /// The words used for the input.
    pub fn words(self) -> &'static str {
        Input::WORDS
            .iter()
            .find_map(|(input, words)| (*input == self).then_some(*words))
            .unwrap_or("input")
    }

    /// The joint with this input multiplied by a factor.
    pub fn scaled(self, joint: &Joint, factor: f64) -> Joint {
        let mut changed = joint.clone();
        match self {
            Input::UpperOptics => scale_optics(&mut changed.upper, [factor, factor]),
            Input::UpperAbsorption => scale_optics(&mut changed.upper, [factor, 1.0]),
            Input::UpperScattering => scale_optics(&mut changed.upper, [1.0, factor]),
            Input::UpperThickness => changed.upper.thickness_m *= factor,
            Input::Absorber => scale_absorber(&mut changed.lower, factor),
            Input::Power => changed.beam.power_w *= factor,
            Input::Speed => changed.motion = joint.motion.faster(factor),
            Input::Time => {
                if joint.motion.lever() == Lever::Time {
                    changed.motion = joint.motion.at_setting(joint.motion.setting() * factor);
                }
            }
            Input::Spot => {
                changed.beam.length_m *= factor;
                changed.beam.width_m *= factor;
            }
            Input::Contact => match &mut changed.interface {
                Interface::Contact {
                    conductance_w_per_m2_k: Some(it),
                }
                | Interface::Gap {
                    conductance_w_per_m2_k: Some(it),
                    ..
                } => *it *= factor,
                Interface::Gap { gap_m, .. } => *gap_m *= factor,
                Interface::Contact { .. } => {}
            },
            Input::Thermal => {
                changed.upper.material = scaled_material(&joint.upper.material, factor);
                changed.lower.material =
                    if Arc::ptr_eq(&joint.upper.material, &joint.lower.material) {
                        Arc::clone(&changed.upper.material)
                    } else {
                        scaled_material(&joint.lower.material, factor)
                    };
            }
        }
        changed
    }
}

/// Multiplies absorption and scattering by a factor each.
fn scale_optics(part: &mut Part, [absorption, scattering]: [f64; 2]) {
    let mut scaled = Optical::clone(&part.optical);
    for (it, factor) in [
        (&mut scaled.absorption, absorption),
        (&mut scaled.scattering, scattering),
    ] {
        if let Some(it) = it {
            it.value = it.value.scaled(factor);
        }
    }
    part.optical = Arc::new(scaled);
}

fn scale_absorber(part: &mut Part, factor: f64) {
    match &mut part.absorber {
        Some(Absorber::CarbonBlack {
            mass_absorption_m2_per_kg,
            ..
        }) => mass_absorption_m2_per_kg.value *= factor,
        Some(Absorber::Added(spectrum)) => spectrum.value = spectrum.value.scaled(factor),
        None => {
            let mut optical = Optical::clone(&part.optical);
            if let Some(it) = &mut optical.absorption {
                it.value = it.value.scaled(factor);
            }
            part.optical = Arc::new(optical);
        }
    }
}

fn scaled_material(material: &Arc<Material>, factor: f64) -> Arc<Material> {
    let mut scaled = Material::clone(material);
    let thermal = &mut scaled.thermal;
    thermal.conductivity_w_per_m_k.value = thermal.conductivity_w_per_m_k.value.scaled(factor);
    thermal.specific_heat_j_per_kg_k.value = thermal.specific_heat_j_per_kg_k.value.scaled(factor);
    if let Some(latent) = &mut thermal.latent_heat {
        latent.value.heat_j_per_kg *= factor;
    }
    Arc::new(scaled)
}

/// An input with its relative standard uncertainty and why it has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// Which input.
    pub input: Input,
    /// One standard deviation divided by the value.
    pub relative: f64,
    /// Who says so.
    pub source: &'static str,
}

/// Relative uncertainty above which a coefficient is lost in its noise; no more than this is used.
const LOST_IN_NOISE: f64 = 2.0;

const INVERTED: &str = "standard error of the spectra's inversion";
const EXTINCTION: &str = "misfit of one extinction to the spectra";
const ABSORBER: &str = "standard error of the absorber's spectra";
const CARD: &str = "uncertainty on the card";

/// Where the uncertainty of a part's coefficients comes from.
fn source_of(part: &Part) -> &'static str {
    match part.optical.scattering {
        _ if part.plaques.is_empty() => CARD,
        Some(_) => INVERTED,
        None => EXTINCTION,
    }
}

/// Relative standard uncertainty of a spectrum at a wavelength; none where nobody states it.
pub(super) fn known_to(spectrum: &Spectrum, wavelength_m: f64) -> Option<f64> {
    let relative = spectrum.relative_uncertainty_at(wavelength_m)?;
    Some(relative.min(LOST_IN_NOISE))
}

/// The same with who says so.
fn said_by(
    spectrum: &Sourced<Spectrum>,
    wavelength_m: f64,
    source: &'static str,
) -> Option<(f64, &'static str)> {
    Some((known_to(&spectrum.value, wavelength_m)?, source))
}

/// The uncertain inputs of a joint: those it states, and defaults for what a card cannot know.
pub fn uncertain_inputs(joint: &Joint) -> Vec<Uncertain> {
    let stated = &joint.uncertainty;
    let default_carbon = matches!(
        &joint.lower.absorber,
        Some(Absorber::CarbonBlack { mass_absorption_m2_per_kg, .. })
            if !matches!(mass_absorption_m2_per_kg.status, Status::Stated | Status::Measured)
    );
    // What the joint states of the upper part's optics stands in place of what plaques or card tell.
    let told = |of: &Option<Sourced<Spectrum>>| {
        of.as_ref()
            .filter(|_| stated.upper_optics.is_none())
            .and_then(|it| said_by(it, joint.wavelength_m, source_of(&joint.upper)))
    };
    let rows = [
        (Input::UpperOptics, stated.upper_optics, None),
        (
            Input::UpperAbsorption,
            None,
            told(&joint.upper.optical.absorption),
        ),
        (
            Input::UpperScattering,
            None,
            told(&joint.upper.optical.scattering),
        ),
        (Input::UpperThickness, stated.upper_thickness, None),
        (
            Input::Absorber,
            stated.absorber,
            match &joint.lower.absorber {
                Some(Absorber::CarbonBlack { .. }) => default_carbon
                    .then_some((CARBON_RELATIVE_UNCERTAINTY, "default slope of carbon black")),
                Some(Absorber::Added(it)) => said_by(it, joint.wavelength_m, ABSORBER),
                None => (joint.lower.optical.absorption.as_ref())
                    .and_then(|it| said_by(it, joint.wavelength_m, source_of(&joint.lower))),
            },
        ),
        (Input::Power, stated.power, None),
        (Input::Speed, stated.speed, None),
        (Input::Time, stated.time, None),
        (Input::Spot, stated.spot, None),
        (Input::Contact, stated.contact, None),
        (
            Input::Thermal,
            stated.thermal,
            Some((
                THERMAL_RELATIVE_UNCERTAINTY,
                "FDS validation guide, polymers: ±15 %",
            )),
        ),
    ];
    rows.into_iter()
        .filter_map(|(input, stated, default)| {
            let (relative, source) = match stated {
                Some(relative) => (relative, "joint file"),
                None => default?,
            };
            (0.0 < relative).then_some(Uncertain {
                input,
                relative,
                source,
            })
        })
        .collect()
}

/// Standard deviations of both boundaries at the settings of a window.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// The inputs taken as uncertain.
    pub inputs: Vec<Uncertain>,
    /// Settings, SI, ascending.
    pub setting: Vec<f64>,
    /// Standard deviation of ln(lowest sound power) at each setting; none where there is no limit.
    pub low: Vec<Option<f64>>,
    /// Standard deviation of ln(highest sound power) at each setting; none where there is no limit.
    pub high: Vec<Option<f64>>,
    /// Share of the variance of the lower boundary at the middle setting that each input brings.
    pub low_share: Vec<f64>,
}

/// Most settings at which the band is computed; between them it is smooth.
const SETTINGS: usize = 13;

/// A joint with one input moved.
struct Moved {
    joint: Joint,
    /// Factor on the settings at which it is looked at.
    drift: f64,
}

/// Limits of each joint at each setting, the settings of one joint together.
///
/// A few settings go first. What their limits have moved by is nearly what those between move by, so
/// that these are found with few steps.
fn limits_of(
    moved: &[Moved],
    traced: &[f64],
    window: &Window,
    settings: &Settings,
) -> Result<Vec<PowerLimits>, Error> {
    // Shifts are read to a percent, as maps are.
    let scope = Scope::of_map(window.power_w);
    let solved = |wanted: &[(usize, usize)], guesses: &[Guess]| {
        let joints: Vec<Joint> = wanted
            .iter()
            .map(|&(m, s)| moved[m].joint.at_setting(traced[s] * moved[m].drift))
            .collect();
        power_limits_near(&joints, guesses, scope, settings, &Silent)
            .into_iter()
            .collect::<Result<Vec<_>, Error>>()
    };
    let count = traced.len();
    let (first, later): (Vec<_>, Vec<_>) = (0..moved.len())
        .flat_map(|m| (0..count).map(move |s| (m, s)))
        .partition(|&(_, s)| goes_first(s, count));

    let unmoved = |s: usize| guess_at(&window.lines, traced[s]);
    let guesses: Vec<Guess> = first.iter().map(|&(_, s)| unmoved(s)).collect();
    let mut found = vec![None; moved.len() * count];
    let mut lines: Vec<Vec<SettingLine>> = vec![Vec::new(); moved.len()];
    for (&(m, s), limits) in first.iter().zip(solved(&first, &guesses)?) {
        found[m * count + s] = Some(limits);
        lines[m].push(SettingLine {
            setting: traced[s],
            limits,
        });
    }

    // The window itself at the first settings alone, so that both are bridged alike.
    let of_window = |setting: f64| window.lines.iter().find(|it| it.setting == setting);
    let plain: Vec<SettingLine> = (0..count)
        .filter(|&s| goes_first(s, count))
        .filter_map(|s| of_window(traced[s]).copied())
        .collect();
    let shifted = |&(m, s): &(usize, usize)| -> Guess {
        let [moved, plain] = [&lines[m], &plain].map(|it| guess_at(it, traced[s]));
        let unmoved = unmoved(s);
        [0, 1].map(|side| match (unmoved[side], moved[side], plain[side]) {
            (Some(power_w), Some(moved_w), Some(plain_w)) => Some(power_w * moved_w / plain_w),
            (power_w, ..) => power_w,
        })
    };
    let guesses: Vec<Guess> = later.iter().map(shifted).collect();
    for (&(m, s), limits) in later.iter().zip(solved(&later, &guesses)?) {
        found[m * count + s] = Some(limits);
    }
    Ok(found.into_iter().flatten().collect())
}

/// Traces how uncertain inputs move the boundaries of `window`.
///
/// # Errors
/// The light or heat of a moved joint cannot be followed.
pub fn band(joint: &Joint, window: &Window, settings: &Settings) -> Result<Band, Error> {
    let inputs = uncertain_inputs(joint);
    let traced = window.thinned(SETTINGS);
    let mut moved = Vec::with_capacity(2 * inputs.len());
    for it in inputs.iter().filter(|it| it.input != Input::Power) {
        for factor in [1.0 + it.relative, 1.0 - it.relative.min(0.95)] {
            // A setting that drifts is a boundary read at another setting.
            let drifts = match window.lever {
                Lever::Speed => it.input == Input::Speed,
                Lever::Time => it.input == Input::Time,
                Lever::Passes | Lever::Turns => false,
            };
            moved.push(Moved {
                joint: it.input.scaled(joint, factor),
                drift: if drifts { factor } else { 1.0 },
            });
        }
    }
    let limits = limits_of(&moved, &traced, window, settings)?;
    let count = traced.len();
    let mut low = vec![Some(0.0); count];
    let mut high = vec![Some(0.0); count];
    let mut low_share = Vec::with_capacity(inputs.len());
    // Those with the input more and those with it less.
    let mut pairs = limits.chunks_exact(2 * count);
    for it in &inputs {
        // Power itself does not move the boundary but where the operator stands on it.
        let moved = match it.input {
            Input::Power => None,
            _ => pairs.next().map(|pair| pair.split_at(count)),
        };
        for s in 0..count {
            let shift = |side: fn(&PowerLimits) -> &PowerLimit| {
                let Some((up, down)) = moved else {
                    return Some(it.relative);
                };
                Some(0.5 * (side(&up[s]).power_w()? / side(&down[s]).power_w()?).ln())
            };
            let square = |so_far: Option<f64>, shift: Option<f64>| Some(so_far? + shift?.powi(2));
            let low_shift = shift(|it| &it.low);
            low[s] = square(low[s], low_shift);
            high[s] = square(high[s], shift(|it| &it.high));
            if s == count / 2 {
                low_share.push(low_shift.map_or(0.0, |it| it * it));
            }
        }
    }
    let sum: f64 = low_share.iter().sum();
    if 0.0 < sum {
        low_share.iter_mut().for_each(|it| *it /= sum);
    }
    let root = |all: Vec<Option<f64>>| all.into_iter().map(|it| it.map(f64::sqrt)).collect();
    Ok(Band {
        inputs,
        setting: traced,
        low: root(low),
        high: root(high),
        low_share,
    })
}
