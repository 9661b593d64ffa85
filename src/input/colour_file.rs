//! A spectrometer file to one coloured sample: what it looks like, and how it lets light through.
//!
//! The file is read as by [`plaques`](crate::input::plaques). A reflectance whose name says
//! "over black" or "over white" tells colour and opacity only; a reflectance by itself needs no
//! transmittance here, and no thickness.

use crate::error::{ColourProblem, Error, Place};
use crate::input::note::Note;
use crate::input::plaques::{PlaqueText, Unpaired, read_one};
use crate::input::spectrum_file::LoneReflectance;
use crate::material::plaque::Backing;
use crate::study::colours::{Sample, Seen};

/// Reads one file as one sample, called by the name of the file without ending.
///
/// ```
/// use lightseam::input::colour_file::read;
/// use lightseam::input::plaques::PlaqueText;
///
/// let text = "nm;R over black [%];R over white [%]\n400;4;4.2\n550;4;4.1\n700;5;6\n";
/// let bytes = text.as_bytes();
/// let (sample, _notes) = read(&PlaqueText { file: "lots/k1.csv", bytes, thickness_m: None })?;
/// assert_eq!((sample.name.as_str(), sample.curves.len()), ("k1", 2));
/// # Ok::<(), lightseam::error::Error>(())
/// ```
///
/// # Errors
/// The file cannot be understood, holds no share of light, or a transmittance has no thickness.
pub fn read(text: &PlaqueText<'_>) -> Result<(Sample, Vec<Note>), Error> {
    let shares = read_one(text)?;
    let mut notes = shares.notes;
    let mut curves = Vec::new();
    let mut own: Vec<LoneReflectance> = Vec::new();
    for it in shares.reflectances {
        match it.backing {
            Some(Backing::Black) => curves.push((Seen::OverBlack, it.reflectance)),
            Some(Backing::White) => curves.push((Seen::OverWhite, it.reflectance)),
            None => own.push(it),
        }
    }
    let plaques = if shares.plaques.is_empty() {
        if let Some(it) = own.into_iter().next() {
            curves.push((Seen::Alone, it.reflectance));
        }
        Vec::new()
    } else {
        let unpaired = Unpaired {
            files: vec![text.file.to_string(); shares.plaques.len()],
            plaques: shares.plaques,
            reflectances: own.into_iter().map(|it| (text.file, it)).collect(),
        };
        let set = unpaired.paired(&mut notes)?;
        if let Some(it) = set.plaques.iter().find_map(|it| it.reflectance.clone()) {
            curves.push((Seen::Alone, it));
        }
        if let Some(it) = set.plaques.first() {
            curves.push((Seen::Transmitted, it.transmittance.clone()));
        }
        set.plaques
    };
    if curves.is_empty() {
        return Err(Error::new(ColourProblem::NoSpectrum {
            file: text.file.into(),
        })
        .at(Place {
            file: text.file.into(),
            ..Place::default()
        }));
    }
    // One of each kind: the first.
    let mut kept: Vec<Seen> = Vec::new();
    curves.retain(|it| {
        let new = !kept.contains(&it.0);
        kept.push(it.0);
        new
    });
    curves.sort_by_key(|it| it.0);
    Ok((
        Sample {
            name: stem(text.file).into(),
            file: text.file.into(),
            plaques,
            curves,
        },
        notes,
    ))
}

/// Name of a file without folders and ending.
fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    match name.rsplit_once('.') {
        Some((stem, _)) if !stem.is_empty() => stem,
        _ => name,
    }
}
