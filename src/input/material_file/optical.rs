//! The optical section of a card: constants, an index table, or plaque spectra.

use crate::error::{Error, InputProblem};
use crate::input::document::{Item, Section};
use crate::input::material_file::{
    Over, conflict, entry_of, provenance, read_table, shape, sourced,
};
use crate::input::note::Note;
use crate::input::plaques::{self, PlaqueSet, PlaqueText};
use crate::input::quantity::{self, Field};
use crate::input::{Read, beside, spectrum_file};
use crate::material::optical::Reading;
use crate::material::{Optical, Sourced, Spectrum};
use crate::optics::reduction::{Assumptions, reduce};
use crate::units::NM;

/// The section `[optical]`.
pub(super) fn read_optical(
    section: &Section<'_>,
    file: &str,
    read: &Read<'_>,
    notes: &mut Vec<Note>,
) -> Result<Optical, Error> {
    section.only(&[
        "refractive_index",
        "absorption",
        "scattering",
        "anisotropy",
        "spectra",
        "nk",
        "source",
        "status",
        "uncertainty",
        "photometric",
    ])?;
    let constant = |key: &str, field: &Field| -> Result<Option<Sourced<Spectrum>>, Error> {
        section
            .get(key)
            .map(|item| read_spectrum(&item, field))
            .transpose()
    };
    let refractive_index = constant("refractive_index", &quantity::REFRACTIVE_INDEX)?;
    let absorption = constant("absorption", &quantity::ABSORPTION)?;
    let scattering = constant("scattering", &quantity::SCATTERING)?;
    let anisotropy = constant("anisotropy", &quantity::ANISOTROPY)?;
    if let Some(item) = section.get("nk") {
        for (key, other) in [
            ("refractive_index", &refractive_index),
            ("absorption", &absorption),
        ] {
            if other.is_some() {
                return Err(conflict(&item, key));
            }
        }
        if let Some(spectra) = section.get("spectra") {
            return Err(conflict(&spectra, "nk"));
        }
        let name = beside(file, item.text()?);
        let bytes = read(&name).map_err(|it| it.at(item.place()))?;
        let mut table = spectrum_file::parse_index(&bytes, &name)?;
        notes.append(&mut table.notes);
        table.absorption.relative_uncertainty =
            section.quantity_if("uncertainty", &quantity::UNCERTAINTY)?;
        let (source, status) = provenance(section)?;
        let refractive_index = Sourced::new(table.refractive_index, source.clone(), status);
        let absorption = Sourced::new(table.absorption, source, status);
        let (scattering, anisotropy) = scattering_pair(section, scattering, anisotropy)?;
        return Ok(Optical {
            refractive_index,
            absorption: Some(absorption),
            scattering,
            anisotropy,
            reading: Reading::Coefficients,
        });
    }
    let refractive_index = match refractive_index {
        Some(it) => it,
        None => {
            section.need(
                "refractive_index",
                "{ value = 1.5, source = \"…\", status = \"…\" }",
            )?;
            return Err(Error::new(InputProblem::MissingKey {
                key: "refractive_index".into(),
                section: section.name().into(),
            }));
        }
    };
    if let Some(item) = section.get("spectra") {
        for key in ["absorption", "scattering"] {
            if section.get(key).is_some() {
                return Err(conflict(&item, key));
            }
        }
        let (source, status) = provenance(section)?;
        let set = read_plaques(&item, file, read)?;
        notes.extend(set.notes);
        let mut assumed = Assumptions::default();
        if let Some(it) = section.quantity_if("photometric", &quantity::PHOTOMETRIC)? {
            assumed.photometric = it;
        }
        if let Some(it) = anisotropy {
            assumed.g = it.map(|_| 0.0);
            assumed.g.value = one_value(section, &it.value)?;
            // Who states an anisotropy says that the material scatters.
            assumed.scatters = true;
        }
        let reduction = reduce(&set.plaques, refractive_index, &source, &assumed)
            .map_err(|it| it.at(item.place()))?;
        let remarks = reduction.remarks.into_iter();
        notes.extend(remarks.map(|it| Note::new(it, item.place())));
        let mut optical = reduction.optical;
        for it in [&mut optical.absorption, &mut optical.scattering]
            .into_iter()
            .flatten()
        {
            it.status = status;
        }
        return Ok(optical);
    }
    let (scattering, anisotropy) = scattering_pair(section, scattering, anisotropy)?;
    Ok(Optical {
        refractive_index,
        absorption,
        scattering,
        anisotropy,
        reading: Reading::Coefficients,
    })
}

/// The plaques a card names, with paths that count from the card.
fn read_plaques(item: &Item<'_>, file: &str, read: &Read<'_>) -> Result<PlaqueSet, Error> {
    let named = plaques::named(item)?;
    let mut found = Vec::with_capacity(named.len());
    for it in &named {
        let name = beside(file, it.file);
        let bytes = read(&name).map_err(|error| error.at(it.item.place()))?;
        found.push((name, bytes, it.thickness_m));
    }
    let texts: Vec<PlaqueText> = found
        .iter()
        .map(|(name, bytes, thickness_m)| PlaqueText {
            file: name,
            bytes,
            thickness_m: *thickness_m,
        })
        .collect();
    plaques::read(&texts)
}

/// The anisotropy that an inversion assumes: one value for all wavelengths.
fn one_value(section: &Section<'_>, anisotropy: &Spectrum) -> Result<f64, Error> {
    let points = anisotropy.points();
    match points.first() {
        None => anisotropy.at("anisotropy", 1e-6),
        Some(first) if points.iter().all(|it| it.1 == first.1) => Ok(first.1),
        Some(_) => {
            let place = section.get("anisotropy").map(|it| it.place());
            Err(Error::new(InputProblem::Conflict {
                first: "anisotropy over wavelength".into(),
                second: "spectra".into(),
            })
            .at(place.unwrap_or_else(|| section.place()))
            .cure("give one value, which the reduction of the spectra assumes at all wavelengths"))
        }
    }
}

type Maybe = Option<Sourced<Spectrum>>;

/// Scattering and anisotropy come together or not at all.
fn scattering_pair(
    section: &Section<'_>,
    scattering: Maybe,
    anisotropy: Maybe,
) -> Result<(Maybe, Maybe), Error> {
    if scattering.is_some() == anisotropy.is_some() {
        return Ok((scattering, anisotropy));
    }
    let (first, second) = if scattering.is_some() {
        ("scattering", "anisotropy")
    } else {
        ("anisotropy", "scattering")
    };
    let place = section.get(first).map_or(section.place(), |it| it.place());
    Err(Error::new(InputProblem::NeedsBeside {
        first: first.into(),
        second: second.into(),
    })
    .at(place)
    .cure(
        "give both; anisotropy = 0.9 is common practice for spherulites, 0 scatters alike to all sides",
    ))
}

/// A constant, a constant over a range, or a table over wavelength.
fn read_spectrum(item: &Item<'_>, field: &Field) -> Result<Sourced<Spectrum>, Error> {
    let section = entry_of(item, &shape(field))?;
    section.only(&["value", "over", "table", "source", "status", "uncertainty"])?;
    let mut spectrum = match (section.get("value"), section.get("table")) {
        (Some(_), Some(table)) => return Err(conflict(&table, "value")),
        (None, Some(table)) => {
            let (nm, values) = read_table(&table, field, Over::Wavelength)?;
            let wavelength_m = nm.iter().map(|it| it * NM).collect();
            Spectrum::table(field.what, wavelength_m, values).map_err(|it| it.at(table.place()))?
        }
        _ => {
            let value = section.quantity("value", field)?;
            match section.get("over") {
                Some(over) => {
                    let (from, to) = over.pair(&quantity::WAVELENGTH)?;
                    Spectrum::table(field.what, vec![from, to], vec![value, value])?
                }
                None => Spectrum::constant(value),
            }
        }
    };
    spectrum.relative_uncertainty = section.quantity_if("uncertainty", &quantity::UNCERTAINTY)?;
    sourced(&section, spectrum)
}
