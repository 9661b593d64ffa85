//! Spectra of a JCAMP-DX file to plaques, with the checks that CSV files pass too.

use crate::error::input::SpectrumProblem;
use crate::error::{Error, InputProblem, Place};
use crate::input::jcamp::{self, JcampBlock, Quantity};
use crate::input::note::Note;
use crate::input::plaques::{PlaqueText, spectrum_error};
use crate::input::spectrum_file::columns::{backing_of, geometry_of, length_in};
use crate::input::spectrum_file::encoding::decode;
use crate::input::spectrum_file::percent::{self, Claim, NOISE};
use crate::input::spectrum_file::{LoneReflectance, ShareFile};
use crate::material::{Plaque, Spectrum};
use crate::units::NM;

/// Wavelengths kept, m: what spectrometers for plastics cover.
const RANGE_M: (f64, f64) = (300.0 * NM, 3000.0 * NM);

/// Thicknesses a plaque may have, m.
const THICKNESS_M: (f64, f64) = (1e-6, 50e-3);

/// Plaques and reflectances of a file.
///
/// # Errors
/// Not JCAMP-DX, a transmittance without thickness, or values no plaque can have.
pub(super) fn read(text: &PlaqueText<'_>) -> Result<ShareFile, Error> {
    let file = text.file;
    let found = jcamp::read(&decode(text.bytes), file)?;
    let at = |line: usize| Place {
        file: file.into(),
        line: Some(line),
        column: None,
    };
    let mut notes: Vec<Note> = found
        .notes
        .iter()
        .map(|it| Note::new(it.as_str(), at(1)))
        .collect();
    let mut shares = ShareFile {
        plaques: Vec::new(),
        reflectances: Vec::new(),
        sample: found.blocks.first().map(|it| it.title.clone()),
        notes: Vec::new(),
    };
    let (mut claims, mut without_specular) = (Vec::new(), false);
    for block in &found.blocks {
        let place = at(block.line);
        notes.extend(
            block
                .notes
                .iter()
                .map(|it| Note::new(it.as_str(), place.clone())),
        );
        let (spectrum, lines) = spectrum(block, &place, &mut notes)?;
        let thickness_m = block
            .thickness_m
            .or_else(|| length_in(&block.title.to_lowercase()))
            .or(text.thickness_m);
        if let Some(thickness_m) = thickness_m
            && !(THICKNESS_M.0..=THICKNESS_M.1).contains(&thickness_m)
        {
            return Err(Error::new(InputProblem::OutOfRange {
                what: format!("thickness of plaque \"{}\"", block.title),
                value: format!("{} mm", thickness_m * 1e3),
                least: "1 µm".into(),
                most: "50 mm".into(),
            })
            .at(place)
            .cure("##PATHLENGTH= counts in cm where it has no unit; write ##PATHLENGTH= 2 mm"));
        }
        let said = [&block.title, &block.data_type, &block.description]
            .map(|it| it.to_lowercase())
            .join(" ");
        let (geometry, says_diffuse) = geometry_of(&said);
        let reflectance = block.quantity == Quantity::Reflectance;
        without_specular |= percent::without_specular(&said);
        if block.per_cent {
            claims.extend(Claim::of(
                &block.title,
                place.clone(),
                reflectance,
                backing_of(&said).is_some(),
                spectrum.points().into_iter(),
            ));
        }
        if reflectance {
            shares.reflectances.push(LoneReflectance {
                name: block.title.clone(),
                thickness_m,
                lines,
                reflectance: spectrum,
                backing: backing_of(&said),
                place,
            });
            continue;
        }
        let Some(thickness_m) = thickness_m else {
            return Err(spectrum_error(SpectrumProblem::ThicknessMissing {
                plaque: block.title.clone(),
            })
            .at(place)
            .cure(
                "add ##PATHLENGTH= with its unit, such as 2 mm; or say it beside the file: \
                 --thickness \"2 mm\", in a joint file spectra = { file = \"…\", thickness = \
                 \"2 mm\" }",
            ));
        };
        if says_diffuse {
            notes.push(Note::new(
                format!(
                    "\"diffuse\" is read as total transmittance of \"{}\"; where a port let the \
                     direct light out, add it",
                    block.title
                ),
                place,
            ));
        }
        shares.plaques.push(Plaque {
            name: block.title.clone(),
            thickness_m,
            geometry,
            transmittance: spectrum,
            reflectance: None,
        });
    }
    notes.extend(percent::check(&claims, without_specular, percent::JCAMP)?);
    shares.notes = notes;
    Ok(shares)
}

/// Shares of light inside the range, noise clipped, and the line of each.
fn spectrum(
    block: &JcampBlock,
    place: &Place,
    notes: &mut Vec<Note>,
) -> Result<(Spectrum, Vec<usize>), Error> {
    let (quantity, values) = match block.transmittance() {
        Some(values) => ("transmittance", values),
        None => ("reflectance", block.values.clone()),
    };
    let (mut wavelength_m, mut kept, mut lines) = (Vec::new(), Vec::new(), Vec::new());
    let mut clipped = 0usize;
    let points = block.wavelength_m.iter().zip(&values).zip(&block.lines);
    for ((&at_m, &share), &line) in points {
        // A wavelength made of a wavenumber may miss the end by a rounding error.
        if at_m < RANGE_M.0 * (1.0 - 1e-9) || RANGE_M.1 * (1.0 + 1e-9) < at_m {
            continue;
        }
        let value = format!("{:.1} %", 100.0 * share);
        let problem = if 1.0 + NOISE < share {
            SpectrumProblem::AboveFull {
                quantity: quantity.into(),
                value,
                wavelength_nm: at_m / NM,
            }
        } else if share < -NOISE || !share.is_finite() {
            SpectrumProblem::BelowZero {
                quantity: quantity.into(),
                value,
                wavelength_nm: at_m / NM,
                noise: 100.0 * NOISE,
            }
        } else {
            clipped += usize::from(!(0.0..=1.0).contains(&share));
            wavelength_m.push(at_m);
            kept.push(share.clamp(0.0, 1.0));
            lines.push(line);
            continue;
        };
        return Err(spectrum_error(problem)
            .at(Place {
                line: Some(line),
                ..place.clone()
            })
            .cure(
                "check the instrument's 100 % line and dark line, or export the range where both \
                 hold",
            ));
    }
    let outside = values.len() - kept.len();
    if 0 < outside && 1 < kept.len() {
        notes.push(Note::new(
            format!("{outside} points outside 300 to 3000 nm are left out"),
            place.clone(),
        ));
    }
    if kept.len() < 2 {
        let wavelength_nm = block.wavelength_m.first().map_or(0.0, |it| it / NM);
        return Err(
            spectrum_error(SpectrumProblem::WavelengthOutside { wavelength_nm })
                .at(place.clone())
                .cure("check ##XUNITS=, or export the near infrared"),
        );
    }
    if 0 < clipped {
        notes.push(Note::new(
            format!(
                "{clipped} values of \"{}\" lie outside 0 to 100 % by less than the noise ({} %) and \
                 are clipped",
                block.title,
                100.0 * NOISE
            ),
            place.clone(),
        ));
    }
    let spectrum =
        Spectrum::table(quantity, wavelength_m, kept).map_err(|it| it.at(place.clone()))?;
    Ok((spectrum, lines))
}
