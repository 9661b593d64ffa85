//! The two parts and the clamp plate: card, thickness, optical data in use, absorber.

use std::sync::Arc;

use crate::error::{Error, FileProblem, InputProblem, Problem};
use crate::input::document::{Item, Section, nearest_or_list};
use crate::input::joint_file::Context;
use crate::input::joint_file::absorber::read_absorber;
use crate::input::note::Note;
use crate::input::quantity;
use crate::input::{library, material_file, spectrum_file};
use crate::material::optical::Reading;
use crate::material::plaque::Geometry;
use crate::material::{Material, Moisture, Optical, Plaque, Sourced, Spectrum, Status};
use crate::optics::plaque::effective_extinction;
use crate::weld::{Clamp, Part};

pub(super) const STATED: &str = "joint file";

/// Keys that state optical constants in the joint file.
const CONSTANTS: [&str; 3] = ["absorption", "scattering", "anisotropy"];

/// Misfit of plaques of several thicknesses above which one extinction does not describe them,
/// absolute transmittance: twice the photometric uncertainty of a bright plaque.
const LARGE_MISFIT: f64 = 0.02;

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
    let thickness_m = section.quantity("thickness", &quantity::THICKNESS)?;
    let mut optical = material.optical.clone();
    if let Some(n) = section.quantity_if("refractive_index", &quantity::REFRACTIVE_INDEX)? {
        optical.refractive_index = stated(n);
    }
    let mut plaques = Vec::new();
    let constants = CONSTANTS.iter().find_map(|key| section.get(key));
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
            plaques = read_plaques(&spectra, context)?;
            optical = reduce(&spectra, &plaques, optical.refractive_index, context)?;
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
        plaques: Arc::new(plaques),
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
    section.only(&["material", "thickness", "conductance", "optical_contact"])?;
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
            "moisture of {:.3} % is more than {} takes up at saturation, {:.3} % ({})",
            100.0 * content,
            material.name,
            100.0 * most.value,
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

fn read_plaques(item: &Item<'_>, context: &mut Context<'_>) -> Result<Vec<Plaque>, Error> {
    let mut plaques = Vec::new();
    for (item, name) in item.texts()? {
        let bytes = read_file(&item, name, context)?;
        let mut found = spectrum_file::parse_plaques(&bytes, name)?;
        plaques.append(&mut found.plaques);
        context.notes.append(&mut found.notes);
    }
    Ok(plaques)
}

/// Plaques to one effective extinction; total transmittance is preferred to collimated.
fn reduce(
    item: &Item<'_>,
    plaques: &[Plaque],
    refractive_index: Sourced<Spectrum>,
    context: &mut Context<'_>,
) -> Result<Optical, Error> {
    let mut note = |text: String| context.notes.push(Note::new(text, item.place()));
    let total: Vec<Plaque> = plaques
        .iter()
        .filter(|it| it.geometry != Geometry::Collimated)
        .cloned()
        .collect();
    let used = if total.is_empty() {
        note(
            "only collimated transmittance: in a scattering grade far less than the laser brings to \
             the joint; measure with an integrating sphere"
                .into(),
        );
        plaques
    } else {
        if total.len() < plaques.len() {
            note("collimated transmittance is left aside; total transmittance is used".into());
        }
        if total.iter().any(|it| it.geometry == Geometry::Unstated) {
            note(
                "the file does not say whether an integrating sphere was used; total transmittance \
                 is assumed"
                    .into(),
            );
        }
        &total
    };
    if used.iter().any(|it| it.reflectance.is_some()) {
        note(
            "reflectance is read but not used: an effective extinction rests on transmittance alone"
                .into(),
        );
    }
    let extinction =
        effective_extinction(used, &refractive_index.value).map_err(|it| it.at(item.place()))?;
    if let Some((from, to)) = extinction.absorption.range_m() {
        let widest = used.iter().filter_map(|it| it.transmittance.range_m());
        let (least, most) = widest.fold((f64::INFINITY, 0.0f64), |(least, most), it| {
            (least.min(it.0), most.max(it.1))
        });
        if least < from || to < most {
            note(format!(
                "spectra clipped to {:.0} to {:.0} nm, the range common to all plaques and the \
                 refractive index",
                from * 1e9,
                to * 1e9
            ));
        }
    }
    if LARGE_MISFIT < extinction.largest_residual() {
        note(format!(
            "one extinction misses the plaques by up to {:.1} % transmittance: the grade scatters, or \
             thicknesses are not right",
            100.0 * extinction.largest_residual()
        ));
    }
    if extinction.residual.iter().any(|it| it.above_faces) {
        note(
            "a plaque transmits more than its faces allow at some wavelengths; the extinction is set \
             to 0 there"
                .into(),
        );
    }
    if extinction.residual.iter().any(|it| it.below_dark_level) {
        note(
            "a plaque transmits less than 0.01 % at some wavelengths; the extinction is at least the \
             value used there"
                .into(),
        );
    }
    let names: Vec<&str> = item.texts()?.into_iter().map(|(_, name)| name).collect();
    Ok(extinction.into_optical(refractive_index, &names.join(", ")))
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
