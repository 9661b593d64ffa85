//! The two parts and the clamp plate: card, thickness, optical data in use, absorber.

use std::sync::Arc;

use crate::error::{Error, FileProblem, InputProblem, Place, Problem};
use crate::input::document::{Item, Section, nearest_or_list};
use crate::input::joint_file::absorber::read_absorber;
use crate::input::joint_file::{Context, Grade};
use crate::input::note::Note;
use crate::input::plaques::{self, PlaqueSet, PlaqueText};
use crate::input::quantity;
use crate::input::{library, material_file};
use crate::material::optical::Reading;
use crate::material::{Kind, Material, Moisture, Optical, Plaque, Sourced, Spectrum, Status};
use crate::optics::reduction::reduce;
use crate::weld::{Clamp, Part};

pub(super) const STATED: &str = "joint file";

/// Keys that state optical constants in the joint file.
const CONSTANTS: [&str; 3] = ["absorption", "scattering", "anisotropy"];

/// The upper part with a grade in the place of its material or its spectra.
pub(super) fn read_graded(
    section: &Section<'_>,
    grade: &Grade<'_>,
    context: &mut Context<'_>,
) -> Result<Part, Error> {
    let file = Place {
        file: grade.file.into(),
        line: None,
        column: None,
    };
    let thickness_m = section.quantity("thickness", &quantity::THICKNESS)?;
    let mut plaques = Vec::new();
    let (material, optical) = if grade.is_card() {
        let text = std::str::from_utf8(grade.bytes).map_err(|_| {
            Error::new(InputProblem::NotText {
                what: format!("the material card {}", grade.file),
            })
            .at(file.clone())
            .cure("save the card as UTF-8")
        })?;
        let name = grade.file.rsplit(['/', '\\']).next().unwrap_or(grade.file);
        let id = name.trim_end_matches(".toml");
        let (material, mut notes) = material_file::parse(text, grade.file, id, grade.read)?;
        context.notes.append(&mut notes);
        melts(&material).map_err(|it| it.at(file.clone()))?;
        let optical = material.optical.clone();
        (Arc::new(material), optical)
    } else {
        let material = read_material(section, context)?;
        let mut optical = material.optical.clone();
        if let Some(n) = section.quantity_if("refractive_index", &quantity::REFRACTIVE_INDEX)? {
            optical.refractive_index = stated(n);
        }
        let set = plaques::read(&[PlaqueText {
            file: grade.file,
            bytes: grade.bytes,
            thickness_m: None,
        }])?;
        (plaques, optical) = reduced(set, grade.file, file.clone(), section, &optical, context)?;
        (material, optical)
    };
    let absorber = match section.get("absorber") {
        Some(item) => Some(read_absorber(&item, &optical, context)?),
        None => None,
    };
    let moisture = match section.get("moisture") {
        Some(item) => Some(read_moisture(&item, section, &material, context)?),
        None => None,
    };
    let part = Part {
        material,
        thickness_m,
        optical: Arc::new(optical),
        plaques: Arc::new(plaques),
        absorber,
        moisture,
    };
    part.optical_at(context.wavelength_m)
        .map_err(|it| it.at(file))?;
    Ok(part)
}

/// Refuses what does not melt as a part to be welded.
fn melts(material: &Material) -> Result<(), Error> {
    if material.kind != Kind::Rigid {
        return Ok(());
    }
    Err(Error::new(InputProblem::DoesNotMelt {
        material: material.name.clone(),
    })
    .cure("a rigid card is for [clamp]; name a thermoplastic here"))
}

pub(super) fn read_part(section: &Section<'_>, context: &mut Context<'_>) -> Result<Part, Error> {
    section.only(&[
        "material",
        "thickness",
        "spectra",
        "refractive_index",
        "absorption",
        "scattering",
        "anisotropy",
        "absorber",
        "moisture",
    ])?;
    let material = read_material(section, context)?;
    let place = || {
        section
            .get("material")
            .map_or(section.place(), |it| it.place())
    };
    melts(&material).map_err(|it| it.at(place()))?;
    let thickness_m = section.quantity("thickness", &quantity::THICKNESS)?;
    let mut optical = material.optical.clone();
    if let Some(n) = section.quantity_if("refractive_index", &quantity::REFRACTIVE_INDEX)? {
        optical.refractive_index = stated(n);
    }
    let mut measured = Vec::new();
    let constants = CONSTANTS
        .iter()
        // Beside spectra the anisotropy is what their inversion assumes.
        .filter(|key| **key != "anisotropy" || section.get("spectra").is_none())
        .find_map(|key| section.get(key));
    match (section.get("spectra"), constants) {
        (Some(_), Some(constant)) => {
            return Err(constant
                .error(InputProblem::Conflict {
                    first: constant.key.clone(),
                    second: "spectra".into(),
                })
                .cure("leave one of them out: spectra replace the constants"));
        }
        (Some(spectra), None) => {
            (measured, optical) = read_spectra(&spectra, section, &optical, context)?;
        }
        (None, Some(constant)) => {
            optical = state_constants(section, optical.refractive_index)?;
            context.notes.push(Note::new(
                format!(
                    "the constants of {} are taken to hold at one wavelength; away from {:.0} nm \
                     they are a guess",
                    section.name(),
                    context.wavelength_m * 1e9
                ),
                constant.place(),
            ));
        }
        (None, None) => {}
    }
    let absorber = match section.get("absorber") {
        Some(item) => Some(read_absorber(&item, &optical, context)?),
        None => None,
    };
    let moisture = match section.get("moisture") {
        Some(item) => Some(read_moisture(&item, section, &material, context)?),
        None => None,
    };
    let part = Part {
        material,
        thickness_m,
        optical: Arc::new(optical),
        plaques: Arc::new(measured),
        absorber,
        moisture,
    };
    // Whether the data reach the wavelength is a matter of the file, so it is said here.
    let place = section
        .get("spectra")
        .or_else(|| section.get("material"))
        .map_or(section.place(), |it| it.place());
    part.optical_at(context.wavelength_m)
        .map_err(|it| it.at(place))?;
    Ok(part)
}

pub(super) fn read_clamp(section: &Section<'_>, context: &mut Context<'_>) -> Result<Clamp, Error> {
    section.only(&[
        "material",
        "thickness",
        "conductance",
        "optical_contact",
        "pressure",
    ])?;
    let material = read_material(section, context)?;
    material
        .optical_at(context.wavelength_m)
        .map_err(|it| it.at(section.place()))?;
    Ok(Clamp {
        material,
        thickness_m: section.quantity("thickness", &quantity::THICKNESS)?,
        conductance_w_per_m2_k: section.quantity_if("conductance", &quantity::CONDUCTANCE)?,
        optical_contact: match section.get("optical_contact") {
            Some(item) => item.word(&[("yes", true), ("no", false)])?,
            None => false,
        },
    })
}

/// Water in a part, with remarks where it may be counted twice or cannot be held.
fn read_moisture(
    item: &Item<'_>,
    section: &Section<'_>,
    material: &Material,
    context: &mut Context<'_>,
) -> Result<Moisture, Error> {
    let content = item.quantity(&quantity::MOISTURE)?;
    let mut note = |text: String| context.notes.push(Note::new(text, item.place()));
    let wet = 0.0 < content;
    let percent = |share: f64| (1e5 * share).round() / 1e3;
    if let Some(other) = ["spectra", "absorption"]
        .into_iter()
        .find(|key| wet && section.get(key).is_some())
    {
        note(format!(
            "moisture is added to `{other}`: state it only where `{other}` is that of the dry part"
        ));
    }
    if let Some(most) = &material.saturation_moisture
        && most.value < content
    {
        note(format!(
            "moisture of {} % is more than {} takes up at saturation, {} % ({})",
            percent(content),
            material.name,
            percent(most.value),
            most.source
        ));
    }
    Ok(Moisture {
        content,
        water_absorption: library::water()?,
    })
}

/// A built-in card by name, or a card file by path.
fn read_material(section: &Section<'_>, context: &mut Context<'_>) -> Result<Arc<Material>, Error> {
    let item = section.need("material", "\"pa6\"")?;
    let name = item.text()?;
    let is_path = name.contains(['/', '\\']) || name.ends_with(".toml");
    let (material, mut notes) = if is_path {
        let bytes = read_file(&item, name, context)?;
        let text = std::str::from_utf8(&bytes).map_err(|_| {
            item.error(InputProblem::NotText {
                what: format!("the material card {name}"),
            })
            .cure("save the card as UTF-8")
        })?;
        let id = name
            .rsplit(['/', '\\'])
            .next()
            .map_or(name, |it| it.trim_end_matches(".toml"));
        material_file::parse(text, name, id, context.read)?
    } else {
        match library::material(name) {
            Some(card) => card?,
            None => {
                let ids: Vec<&str> = library::ids().collect();
                return Err(item
                    .error(InputProblem::UnknownMaterial { name: name.into() })
                    .cure(format!(
                        "{} (a path to a card ends in .toml)",
                        nearest_or_list(name, &ids)
                    )));
            }
        }
    };
    context.notes.append(&mut notes);
    Ok(Arc::new(material))
}

pub(super) fn read_file(
    item: &Item<'_>,
    name: &str,
    context: &Context<'_>,
) -> Result<Vec<u8>, Error> {
    (context.read)(name).map_err(|it| {
        let error = it.at(item.place());
        match error.problem() {
            Problem::File(FileProblem::Read { .. }) => {
                error.cure("paths count from the folder of the joint file")
            }
            _ => error,
        }
    })
}

/// The plaques of a key, and their optical properties.
fn read_spectra(
    item: &Item<'_>,
    section: &Section<'_>,
    optical: &Optical,
    context: &mut Context<'_>,
) -> Result<(Vec<Plaque>, Optical), Error> {
    let named = plaques::named(item)?;
    let mut bytes = Vec::with_capacity(named.len());
    for it in &named {
        bytes.push(read_file(&it.item, it.file, context)?);
    }
    let texts: Vec<PlaqueText> = named
        .iter()
        .zip(&bytes)
        .map(|(it, bytes)| PlaqueText {
            file: it.file,
            bytes,
            thickness_m: it.thickness_m,
        })
        .collect();
    let set = plaques::read(&texts)?;
    let files: Vec<&str> = named.iter().map(|it| it.file).collect();
    reduced(
        set,
        &files.join(", "),
        item.place(),
        section,
        optical,
        context,
    )
}

/// Plaques with the optical properties they are reduced to; `place` is where they are named.
fn reduced(
    mut set: PlaqueSet,
    files: &str,
    place: Place,
    section: &Section<'_>,
    optical: &Optical,
    context: &mut Context<'_>,
) -> Result<(Vec<Plaque>, Optical), Error> {
    context.notes.append(&mut set.notes);
    let mut assumed = context.assumed.clone();
    assumed.scatters = optical.scatters();
    if let Some(g) = section.quantity_if("anisotropy", &quantity::ANISOTROPY)? {
        assumed.g = Sourced::new(g, STATED, Status::Stated);
    } else if let Some(card) = &optical.anisotropy {
        let g = card.value.at("anisotropy", context.wavelength_m);
        assumed.g = Sourced::new(
            g.map_err(|it| it.at(place.clone()))?,
            &*card.source,
            card.status,
        );
    }
    let refractive_index = optical.refractive_index.clone();
    let reduction = reduce(&set.plaques, refractive_index, files, &assumed)
        .map_err(|it| it.at(place.clone()))?;
    let marked = reduction.is_marked(context.wavelength_m);
    let asides = reduction.asides.into_iter().filter(|_| marked);
    let remarks = reduction.remarks.into_iter().chain(asides);
    context
        .notes
        .extend(remarks.map(|it| Note::new(it, place.clone())));
    Ok((set.plaques, reduction.optical))
}

pub(super) fn stated(value: f64) -> Sourced<Spectrum> {
    Sourced::new(Spectrum::constant(value), STATED, Status::Stated)
}

/// Absorption, scattering and anisotropy of the joint file, in place of the card's.
fn state_constants(
    section: &Section<'_>,
    refractive_index: Sourced<Spectrum>,
) -> Result<Optical, Error> {
    let absorption = section.quantity("absorption", &quantity::ABSORPTION)?;
    let scattering = section.quantity_if("scattering", &quantity::SCATTERING)?;
    let anisotropy = section.quantity_if("anisotropy", &quantity::ANISOTROPY)?;
    let alone = match (scattering, anisotropy) {
        (Some(scattering), None) if 0.0 < scattering => Some(("scattering", "anisotropy")),
        (None, Some(_)) => Some(("anisotropy", "scattering")),
        _ => None,
    };
    if let Some((first, second)) = alone {
        let place = section.get(first).map_or(section.place(), |it| it.place());
        return Err(Error::new(InputProblem::NeedsBeside {
            first: first.into(),
            second: second.into(),
        })
        .at(place)
        .cure(
            "give both; anisotropy = 0.9 is common practice for spherulites, 0 scatters alike to all \
             sides",
        ));
    }
    Ok(Optical {
        refractive_index,
        absorption: Some(stated(absorption)),
        scattering: scattering.filter(|it| 0.0 < *it).map(stated),
        anisotropy: scattering
            .filter(|it| 0.0 < *it)
            .and(anisotropy)
            .map(stated),
        reading: Reading::Coefficients,
    })
}
