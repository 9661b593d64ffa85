//! Plaque files of either kind, CSV or JCAMP-DX, to plaques of one material.
//!
//! A file is JCAMP-DX if it begins with `##TITLE`, whatever its name ends in. Transmittance and
//! reflectance of the same thickness belong to one plaque, in one file or in two. A thickness that
//! a file does not state may be given beside its name.

use std::collections::BTreeSet;

use crate::error::input::SpectrumProblem;
use crate::error::{Error, InputProblem, Place};
use crate::input::document::Item;
use crate::input::note::Note;
use crate::input::plaques::sample::{is_other, polymers, says_nothing};
use crate::input::quantity;
use crate::input::repeated::{Firsts, NAMED_TWICE};
use crate::input::spectrum_file::plaques::{MOST_SUM, round};
use crate::input::spectrum_file::{LoneReflectance, ShareFile, lone_reflectance, parse_shares};
use crate::material::plaque::Geometry;
use crate::material::{Plaque, Spectrum};
use crate::optics::reduction::same_thickness;
use crate::units::NM;

mod from_jcamp;
mod sample;

/// A file to be read.
#[derive(Clone, Copy, Debug)]
pub struct PlaqueText<'t> {
    /// Name, for messages and for what it says about the material.
    pub file: &'t str,
    /// Content.
    pub bytes: &'t [u8],
    /// Thickness of plaques that do not say theirs, m.
    pub thickness_m: Option<f64>,
}

/// Plaques of one material.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaqueSet {
    /// The plaques, in the order of the files.
    pub plaques: Vec<Plaque>,
    /// The files each plaque comes from, one entry a plaque.
    pub files: Vec<String>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// A plaque file as a joint file or a card names it.
#[derive(Clone, Debug)]
pub struct Named<'t> {
    /// The value, for its place.
    pub item: Item<'t>,
    /// Name as written.
    pub file: &'t str,
    /// Thickness stated beside it, m.
    pub thickness_m: Option<f64>,
}

/// The files of a key: `"a.csv"`, `{ file = "a.csv", thickness = "2 mm" }`, or a list of these.
///
/// # Errors
/// Something else, or a thickness out of range.
pub fn named<'t>(item: &Item<'t>) -> Result<Vec<Named<'t>>, Error> {
    let one = |item: &Item<'t>| -> Result<Named<'t>, Error> {
        if !item.is_table() {
            return Ok(Named {
                item: item.clone(),
                file: item.text()?,
                thickness_m: None,
            });
        }
        let section = item.section()?;
        section.only(&["file", "thickness"])?;
        let file = section.need("file", "\"lid.csv\"")?;
        Ok(Named {
            file: file.text()?,
            item: file,
            thickness_m: section.quantity_if("thickness", &quantity::THICKNESS)?,
        })
    };
    if item.is_list() {
        item.items()?.iter().map(one).collect()
    } else {
        Ok(vec![one(item)?])
    }
}

/// Reads files as plaques of one material.
///
/// ```
/// use lightseam::input::plaques::{PlaqueText, read};
///
/// let of = |file, text: &'static str| PlaqueText { file, bytes: text.as_bytes(), thickness_m: None };
/// let set = read(&[
///     of("t.csv", "nm;T 2 mm total [%]\n900;60\n910;61\n"),
///     of("r.csv", "nm;R 2 mm [%]\n900;12\n910;13\n"),
/// ])?;
/// assert_eq!(set.plaques.len(), 1);
/// assert!(set.plaques[0].reflectance.is_some());
/// # Ok::<(), lightseam::error::Error>(())
/// ```
///
/// # Errors
/// A file cannot be understood, a thickness is missing, shares of light contradict each other,
/// wavelengths do not overlap, or files name different polymers.
pub fn read(texts: &[PlaqueText<'_>]) -> Result<PlaqueSet, Error> {
    let mut notes = Vec::new();
    let mut found = Vec::with_capacity(texts.len());
    let mut firsts = Firsts::default();
    for text in texts {
        let note = match firsts.of(text.file, (text.bytes, text.thickness_m)) {
            None => {
                found.push((text.file, read_one(text)?));
                continue;
            }
            Some(first) if first == text.file => format!("the file {NAMED_TWICE}"),
            Some(first) => format!("the file has the same content as {first} and is left out"),
        };
        notes.push(Note::new(note, whole(text.file)));
    }
    check_material(&found, &mut notes)?;
    let mut set = Unpaired::default();
    for (file, mut shares) in found {
        notes.extend(shares.notes);
        name_by_file(file, &mut shares.plaques);
        for plaque in shares.plaques {
            set.plaques.push(plaque);
            set.files.push(file.to_string());
        }
        set.reflectances
            .extend(shares.reflectances.into_iter().map(|it| (file, it)));
    }
    let mut set = set.paired(&mut notes)?;
    check_overlap(&set)?;
    notes.append(&mut set.notes);
    // One remark, though several columns may give rise to it.
    let mut said = Vec::new();
    notes.retain(|it| {
        let new = !said.contains(it);
        if new {
            said.push(it.clone());
        }
        new
    });
    Ok(PlaqueSet { notes, ..set })
}

/// Plaques under a column name that says nothing of them, such as `%T`, take the name of their file.
fn name_by_file(file: &str, plaques: &mut [Plaque]) {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = name.rsplit_once('.').map_or(name, |it| it.0);
    let several = 1 < plaques.iter().filter(|it| says_nothing(&it.name)).count();
    for plaque in plaques.iter_mut().filter(|it| says_nothing(&it.name)) {
        plaque.name = if several {
            format!("{stem}, {} mm", round(plaque.thickness_m * 1e3))
        } else {
            stem.to_string()
        };
    }
}

/// A file as a place.
fn whole(file: &str) -> Place {
    Place {
        file: file.into(),
        line: None,
        column: None,
    }
}

fn spectrum_error(problem: SpectrumProblem) -> Error {
    Error::new(InputProblem::Spectrum(problem))
}

/// One file of either kind.
pub(crate) fn read_one(text: &PlaqueText<'_>) -> Result<ShareFile, Error> {
    let start = text
        .bytes
        .strip_prefix(b"\xef\xbb\xbf")
        .unwrap_or(text.bytes);
    let start = String::from_utf8_lossy(&start[..start.len().min(200)]);
    let start: String = start.split_whitespace().collect();
    if start.to_uppercase().starts_with("##TITLE") {
        from_jcamp::read(text)
    } else {
        parse_shares(text.bytes, text.file, text.thickness_m)
    }
}

/// Plaques and reflectances before they are brought together.
#[derive(Default)]
pub(crate) struct Unpaired<'t> {
    pub(crate) plaques: Vec<Plaque>,
    pub(crate) files: Vec<String>,
    pub(crate) reflectances: Vec<(&'t str, LoneReflectance)>,
}

impl Unpaired<'_> {
    /// Gives every reflectance its plaque: that of the same thickness, total before collimated; or
    /// the only plaque there is, where the reflectance does not say.
    pub(crate) fn paired(mut self, notes: &mut Vec<Note>) -> Result<PlaqueSet, Error> {
        for (file, lone) in self.reflectances {
            if lone.backing.is_some() {
                notes.push(Note::new(
                    format!(
                        "\"{}\" is of a plaque over a backing: it tells colour, and is not used for \
                         the light in a part",
                        lone.name
                    ),
                    lone.place,
                ));
                continue;
            }
            let fits = |plaque: &Plaque| {
                plaque.reflectance.is_none()
                    && match lone.thickness_m {
                        Some(thickness_m) => same_thickness(plaque.thickness_m, thickness_m),
                        None => self.plaques.len() == 1,
                    }
            };
            let candidates: Vec<usize> = (0..self.plaques.len())
                .filter(|&i| fits(&self.plaques[i]))
                .collect();
            let total = |i: &&usize| self.plaques[**i].geometry != Geometry::Collimated;
            let partner = candidates
                .iter()
                .find(total)
                .or_else(|| candidates.first())
                .copied()
                .ok_or_else(|| lone_reflectance(&lone))?;
            let plaque = &mut self.plaques[partner];
            check_sum(plaque, &lone)?;
            if self.files[partner] != file {
                let more = if 1 < candidates.len() {
                    ", the first of several"
                } else {
                    ""
                };
                notes.push(Note::new(
                    format!(
                        "the reflectance \"{}\" is taken to be of plaque \"{}\" of {}, {} mm thick as \
                         well{more}",
                        lone.name,
                        plaque.name,
                        self.files[partner],
                        round(plaque.thickness_m * 1e3)
                    ),
                    lone.place.clone(),
                ));
                self.files[partner] = format!("{} + {file}", self.files[partner]);
            }
            plaque.reflectance = Some(lone.reflectance);
        }
        Ok(PlaqueSet {
            plaques: self.plaques,
            files: self.files,
            notes: Vec::new(),
        })
    }
}

/// Transmittance and reflectance of one plaque add up to no more than all of the light.
fn check_sum(plaque: &Plaque, lone: &LoneReflectance) -> Result<(), Error> {
    if plaque.geometry == Geometry::Collimated {
        return Ok(());
    }
    for ((wavelength_m, reflected), line) in lone.reflectance.points().into_iter().zip(&lone.lines)
    {
        let Ok(transmitted) = plaque.transmittance.at("", wavelength_m) else {
            continue;
        };
        if MOST_SUM < transmitted + reflected {
            return Err(spectrum_error(SpectrumProblem::MoreThanAll {
                plaque: plaque.name.clone(),
                sum: 100.0 * (transmitted + reflected),
                wavelength_nm: wavelength_m / NM,
            })
            .at(Place {
                line: Some(*line),
                ..lone.place.clone()
            })
            .cure("check both base lines; the reflectance must be of the same plaque"));
        }
    }
    Ok(())
}

/// All spectra share wavelengths.
fn check_overlap(set: &PlaqueSet) -> Result<(), Error> {
    let mut seen: Vec<(String, (f64, f64))> = Vec::new();
    for (plaque, file) in set.plaques.iter().zip(&set.files) {
        let spectra: [(&str, Option<&Spectrum>); 2] = [
            ("transmittance", Some(&plaque.transmittance)),
            ("reflectance", plaque.reflectance.as_ref()),
        ];
        for (quantity, spectrum) in spectra {
            let Some(range) = spectrum.and_then(Spectrum::range_m) else {
                continue;
            };
            let name = format!("{quantity} of \"{}\"", plaque.name);
            if let Some((first, other)) = seen
                .iter()
                .find(|(_, other)| range.1.min(other.1) <= range.0.max(other.0))
            {
                return Err(spectrum_error(SpectrumProblem::NoOverlap {
                    first: first.clone(),
                    first_from_nm: other.0 / NM,
                    first_to_nm: other.1 / NM,
                    second: name,
                    second_from_nm: range.0 / NM,
                    second_to_nm: range.1 / NM,
                })
                .at(Place {
                    file: file.clone(),
                    line: Some(1),
                    column: None,
                })
                .cure("measure all plaques, T and R, over the same wavelengths"));
            }
            seen.push((name, range));
        }
    }
    Ok(())
}

/// Refuses files that name different polymers, and remarks samples whose names differ.
fn check_material(found: &[(&str, ShareFile)], notes: &mut Vec<Note>) -> Result<(), Error> {
    let place = |file: &str| Place {
        file: file.into(),
        line: Some(1),
        column: None,
    };
    let said: Vec<(&str, BTreeSet<String>, Option<&String>)> = found
        .iter()
        .map(|(file, it)| (*file, polymers(file, it), it.sample.as_ref()))
        .collect();
    let mut named = said.iter().filter(|it| !it.1.is_empty());
    if let Some(first) = named.next()
        && let Some(other) = named.find(|it| it.1 != first.1)
    {
        let words = |it: &BTreeSet<String>| it.iter().cloned().collect::<Vec<_>>().join(" and ");
        return Err(spectrum_error(SpectrumProblem::AnotherMaterial {
            first: words(&first.1),
            first_file: first.0.into(),
            second: words(&other.1),
        })
        .at(place(other.0))
        .cure("give plaques of one material; where only the name is wrong, correct it"));
    }
    let mut samples = said.iter().filter_map(|it| Some((it.0, it.2?)));
    if let Some((first_file, first)) = samples.next()
        && let Some((file, other)) = samples.find(|it| is_other(first, it.1))
    {
        notes.push(Note::new(
            format!(
                "\"{other}\" may be another material than \"{first}\" of {first_file}; they are taken \
                 as one"
            ),
            place(file),
        ));
    }
    Ok(())
}
