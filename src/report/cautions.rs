//! Safety text every page carries: what the program does not decide, and who does.
//!
//! Eyewear, continuous wave ("D"), in the manner of EN 207:2017 and ISO 19818:2021:
//!
//! ```text
//! 315 nm < λ ≤ 1400 nm     n = ⌈log10(E) − 1⌉
//! 1400 nm < λ ≤ 1 mm       n = ⌈log10(E) − 3⌉
//! ```
//!
//! | symbol | name in code           | meaning                                  | unit |
//! |--------|------------------------|------------------------------------------|------|
//! | λ      | `wavelength_m`         | wavelength                               | m    |
//! | E      | power over `area_m2`   | irradiance the filter would have to meet | W/m² |
//! | n      | [`scale_number`]       | scale number: transmittance below 10⁻ⁿ   | –    |
//!
//! Holds for: continuous light, a beam of about 1 mm; the standards correct for other beams.
//! Does not hold for: pulses, wavelengths up to 315 nm, any decision about a person or a machine.
//!
//! Source: the two rules are read from secondary texts on laser eyewear, not from the standards
//! themselves. Checked in: `tests/report/cautions.rs`.

use crate::report::number::engineering;
use crate::report::number::power;
use crate::report::number::wavelength;

/// One caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// What it is about.
    pub title: String,
    /// What to know.
    pub text: String,
    /// Where it comes from.
    pub source: String,
}

/// The laser a page speaks of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laser {
    /// Wavelength, m.
    pub wavelength_m: f64,
    /// Highest power of the machine, W; `None` if the page names none.
    pub power_w: Option<f64>,
    /// Area of the spot, m².
    pub area_m2: f64,
}

/// What a polymer may give off when overheated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fume {
    /// Polymer.
    pub polymer: String,
    /// Substances, in words.
    pub substances: String,
    /// Where it is published.
    pub source: String,
}

/// The name of the program's limits, for the foot of every page and figure.
pub const NOT_AN_ASSESSMENT: &str = "lightseam is a feasibility aid, not a safety assessment.";

/// Estimate of the least eyewear scale number in continuous light, 1 to 10.
///
/// `None` where the rule does not hold: wavelengths up to 315 nm or above 1 mm, more than LB10, or
/// values that are not positive.
///
/// # Example
///
/// 100 W in a spot of 2 mm diameter, 3.2·10⁷ W/m²:
///
/// ```
/// use lightseam::report::cautions::{Laser, scale_number};
///
/// let area_m2 = std::f64::consts::PI * 0.001f64.powi(2);
/// let at = |wavelength_m| Laser { wavelength_m, power_w: Some(100.0), area_m2 };
/// assert_eq!(scale_number(at(980e-9)), Some(7));
/// assert_eq!(scale_number(at(1940e-9)), Some(5));
/// ```
pub fn scale_number(laser: Laser) -> Option<u8> {
    let irradiance = irradiance_w_per_m2(laser)?;
    let off = match laser.wavelength_m {
        it if !(315e-9 < it && it <= 1e-3) => return None,
        it if it <= 1400e-9 => 1.0,
        _ => 3.0,
    };
    // A rounding error above a power of ten must not cost a whole step.
    let number = (irradiance.log10() - off - 1e-9).ceil().max(1.0);
    (number <= 10.0).then_some(number as u8)
}

/// The usual cautions for a page about `laser` and the polymers of `fumes`.
pub fn usual(laser: Laser, fumes: &[Fume]) -> Vec<Caution> {
    let mut cautions =
        vec![
        caution(
            "What this page is not",
            format!(
                "{NOT_AN_ASSESSMENT} It estimates whether a joint can be welded and how much can \
                 go wrong before it cannot. It does not release equipment, a cell or a person for \
                 work, and a predicted sound weld is no proof of strength or tightness."
            ),
            "",
        ),
        caution("Radiation", radiation(laser.wavelength_m), "IEC 60825-1 (classes)"),
        caution(
            "Enclosure before eyewear",
            "Enclose the process, with interlocks, so that no dangerous light leaves it even when \
             a part is missing or the clamp is open. Eyewear is the last measure, for setting up \
             and service."
                .to_string(),
            "ISO 11553-1 (hazards, measures, information for users)",
        ),
    ];
    cautions.extend(eyewear(laser));
    for fume in fumes {
        cautions.push(caution(
            &format!("Fume of {}", fume.polymer),
            format!(
                "When overheated: {}. Extract at the source. Where a predicted temperature passes \
                 the degradation limit, expect it. No exposure is computed here.",
                fume.substances.trim_end_matches('.')
            ),
            &fume.source,
        ));
    }
    cautions.push(caution(
        "Who decides",
        "Local codes and law, the laser safety officer and the licensed practice of those \
         responsible come before anything printed here."
            .to_string(),
        "",
    ));
    cautions
}

fn radiation(wavelength_m: f64) -> String {
    let seen = if (380e-9..700e-9).contains(&wavelength_m) {
        "visible"
    } else {
        "invisible; the eye neither sees nor shuns it"
    };
    format!(
        "Lasers that weld plastics are usually class 4. At {} the light is {seen}. The direct beam, \
         light reflected by a clamp or a part, and light scattered out of the joint can injure \
         eyes and skin at once and can set things on fire.",
        wavelength(wavelength_m)
    )
}

fn eyewear(laser: Laser) -> Option<Caution> {
    let irradiance = irradiance_w_per_m2(laser)?;
    let number = scale_number(laser)?;
    let text = format!(
        "An estimate, never a clearance: {} at {} on the area of the spot is {}, for which the \
         rule for continuous light gives a scale number of at least LB{number} (D). Assumed: \
         continuous light, the whole beam on the filter, a beam of about 1 mm. The laser safety \
         officer chooses the eyewear from the standard and the data of the machine.",
        power(laser.power_w?, 3),
        wavelength(laser.wavelength_m),
        engineering(irradiance, "W/m²", 2),
    );
    Some(caution(
        "Eyewear for the wavelength",
        text,
        "EN 207:2017, superseded by ISO 19818:2021; rule read from secondary texts",
    ))
}

fn irradiance_w_per_m2(laser: Laser) -> Option<f64> {
    let irradiance = laser.power_w? / laser.area_m2;
    (irradiance.is_finite() && 0.0 < irradiance).then_some(irradiance)
}

fn caution(title: &str, text: String, source: &str) -> Caution {
    Caution {
        title: title.to_string(),
        text,
        source: source.to_string(),
    }
}
