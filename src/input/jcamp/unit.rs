//! Units of abscissa, ordinate and thickness.

use crate::error::{Error, JcampProblem};
use crate::input::jcamp::Lines;
use crate::input::jcamp::record::Block;
use crate::units::{MM, NM, UM};

/// What a spectrum shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Share of the light that passes.
    Transmittance,
    /// Share of the light that comes back.
    Reflectance,
    /// Decadic absorbance −lg T.
    Absorbance,
}

/// Unit of the abscissa.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Abscissa {
    /// Wavelength in nm.
    Nanometre,
    /// Wavelength in µm.
    Micrometre,
    /// Wavenumber in 1/cm.
    PerCentimetre,
}

impl Abscissa {
    /// The wavelength of an abscissa, m; none where it is not above zero.
    pub fn wavelength_m(self, x: f64) -> Option<f64> {
        let wavelength_m = match self {
            Abscissa::Nanometre => x * NM,
            Abscissa::Micrometre => x * UM,
            Abscissa::PerCentimetre => 1e-2 / x,
        };
        (0.0 < wavelength_m && wavelength_m.is_finite()).then_some(wavelength_m)
    }

    /// The unit as it is written.
    pub fn name(self) -> &'static str {
        match self {
            Abscissa::Nanometre => "nm",
            Abscissa::Micrometre => "µm",
            Abscissa::PerCentimetre => "1/cm",
        }
    }
}

/// Unit of X from ##XUNITS=.
///
/// # Errors
/// The record is missing or its unit is none of a spectrum of light.
pub fn abscissa(block: &Block, lines: &Lines) -> Result<Abscissa, Error> {
    let record = block.required("XUNITS", lines)?;
    // "Wavelength (nm)" means nm.
    let whole = compact(&record.value);
    let inside = whole
        .strip_suffix(')')
        .and_then(|it| it.split_once('('))
        .filter(|(before, _)| before.starts_with("WAVE"))
        .map_or(whole.as_str(), |(_, unit)| unit);
    match inside {
        "NM" | "NANOMETERS" | "NANOMETRES" | "NANOMETER" | "NANOMETRE" => Ok(Abscissa::Nanometre),
        "UM" | "ΜM" | "MICROMETERS" | "MICROMETRES" | "MICROMETER" | "MICROMETRE" | "MICRONS"
        | "MICRON" => Ok(Abscissa::Micrometre),
        "1/CM" | "CM-1" | "CM^-1" | "CM**-1" | "/CM" | "WAVENUMBER" | "WAVENUMBERS" => {
            Ok(Abscissa::PerCentimetre)
        }
        _ => Err(lines.error(
            record.line,
            JcampProblem::UnknownUnit {
                label: record.label.clone(),
                value: record.value.clone(),
                known: "NANOMETERS, MICROMETERS, 1/CM".to_owned(),
            },
            "export the spectrum against wavelength or wavenumber",
        )),
    }
}

/// Quantity of Y from ##YUNITS=, and whether it is in per cent.
///
/// # Errors
/// The record is missing or its quantity is none of the three.
pub fn ordinate(block: &Block, lines: &Lines) -> Result<(Quantity, bool), Error> {
    let record = block.required("YUNITS", lines)?;
    let whole = compact(&record.value);
    let bare = whole.replace("PERCENT", "%");
    let per_cent = bare.contains('%');
    let bare = bare.replace(['%', '(', ')'], "");
    let quantity = match bare.as_str() {
        "TRANSMITTANCE" | "TRANSMISSION" | "T" => Quantity::Transmittance,
        "REFLECTANCE" | "REFLECTION" | "R" => Quantity::Reflectance,
        "ABSORBANCE" | "ABS" | "A" if !per_cent => Quantity::Absorbance,
        _ => {
            return Err(lines.error(
                record.line,
                JcampProblem::UnknownUnit {
                    label: record.label.clone(),
                    value: record.value.clone(),
                    known: "TRANSMITTANCE, %T, REFLECTANCE, %R, ABSORBANCE".to_owned(),
                },
                "export the spectrum as transmittance, reflectance or absorbance",
            ));
        }
    };
    Ok((quantity, per_cent))
}

/// Thickness of the sample, m, from ##PATHLENGTH= (cm where no unit is given, as the standard
/// says) or a thickness record of the instrument's own (which needs a unit).
pub fn thickness_m(block: &Block, notes: &mut Vec<String>) -> Option<f64> {
    let own = [
        "THICKNESS",
        "$THICKNESS",
        "$SAMPLETHICKNESS",
        "SAMPLETHICKNESS",
    ];
    let own = own.iter().find_map(|label| block.record(label));
    let (record, default_m) = match (own, block.record("PATHLENGTH")) {
        (Some(record), _) => (record, None),
        (None, Some(record)) => (record, Some(1e-2)),
        (None, None) => return None,
    };
    let text = record.value.trim();
    let end = text
        .find(|c: char| c.is_alphabetic() && c != 'e' && c != 'E')
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let unit_m = match compact(unit).as_str() {
        "" => default_m,
        "M" => Some(1.0),
        "CM" => Some(1e-2),
        "MM" => Some(MM),
        "UM" | "ΜM" | "MICRONS" | "MICRON" => Some(UM),
        _ => None,
    };
    let value = number.trim().parse::<f64>().ok();
    let thickness_m = value.zip(unit_m).map(|(value, unit)| value * unit);
    let usable = thickness_m.filter(|it| it.is_finite() && 0.0 < *it);
    if usable.is_none() && !text.is_empty() {
        notes.push(format!(
            "line {}: ##{}= {text} is not a thickness with a unit (mm, cm, µm) and was not used",
            record.line, record.label
        ));
    }
    usable
}

/// Capitals without spaces and full stops; the micro sign becomes the Greek capital M.
fn compact(text: &str) -> String {
    text.chars()
        .filter(|it| !it.is_whitespace() && *it != '.')
        .flat_map(char::to_uppercase)
        .collect()
}
