//! What is added to a part: carbon black, a measured spectrum, a film, or a stated absorption.

use crate::error::{Error, InputProblem};
use crate::input::document::Item;
use crate::input::joint_file::Context;
use crate::input::joint_file::part::{STATED, read_file, stated};
use crate::input::note::Note;
use crate::input::quantity;
use crate::input::spectrum_file;
use crate::material::absorber::CARBON_MASS_ABSORPTION_M2_PER_KG;
use crate::material::{Absorber, Optical, Sourced, Status};
use crate::optics::fresnel::{Boundary, reflectance};

#[derive(Clone, Copy)]
enum Kind {
    CarbonBlack,
    Spectrum,
    Film,
    Absorption,
}

/// The absorber of a part; `optical` are its optical properties, for the faces of a film.
pub(super) fn read_absorber(
    item: &Item<'_>,
    optical: &Optical,
    context: &mut Context<'_>,
) -> Result<Absorber, Error> {
    let section = item.section()?;
    let kind = section.need("kind", "\"carbon black\"")?.word(&[
        ("carbon black", Kind::CarbonBlack),
        ("spectrum", Kind::Spectrum),
        ("film", Kind::Film),
        ("absorption", Kind::Absorption),
    ])?;
    match kind {
        Kind::CarbonBlack => {
            section.only(&["kind", "content", "mass_absorption"])?;
            let mass_absorption_m2_per_kg = match section
                .quantity_if("mass_absorption", &quantity::MASS_ABSORPTION)?
            {
                Some(value) => Sourced::new(value, STATED, Status::Stated),
                None => Sourced::new(
                    CARBON_MASS_ABSORPTION_M2_PER_KG,
                    "Bond and Bergstrom, Aerosol Sci. Technol. 40 (2006) 27: 7.5 m²/g at 550 nm, \
                         in air",
                    Status::Published,
                ),
            };
            Ok(Absorber::CarbonBlack {
                content: section.quantity("content", &quantity::CONTENT)?,
                mass_absorption_m2_per_kg,
            })
        }
        Kind::Spectrum => {
            section.only(&["kind", "file"])?;
            let file = section.need("file", "\"absorber.csv\"")?;
            let name = file.text()?;
            let bytes = read_file(&file, name, context)?;
            let mut found = spectrum_file::parse_absorption(&bytes, name)?;
            context.notes.append(&mut found.notes);
            Ok(Absorber::Added(Sourced::new(
                found.absorption,
                name,
                Status::Measured,
            )))
        }
        Kind::Film => {
            section.only(&["kind", "thickness", "transmission"])?;
            let thickness_m = section.quantity("thickness", &quantity::FILM_THICKNESS)?;
            let transmission = section.need("transmission", "\"8 %\"")?;
            let share = transmission.quantity(&quantity::TRANSMISSION)?;
            let n = optical
                .refractive_index
                .value
                .at("refractive index", context.wavelength_m)
                .map_err(|it| it.at(item.place()))?;
            let face = reflectance(
                Boundary {
                    n_from: 1.0,
                    n_into: n,
                },
                1.0,
            );
            let most = (1.0 - face).powi(2);
            if most < share {
                return Err(transmission
                    .error(InputProblem::FilmTooClear {
                        transmission: transmission.echo(),
                        index: n,
                        most: 100.0 * most,
                    })
                    .cure("give the transmission as measured, faces included"));
            }
            context.notes.push(Note::new(
                format!(
                    "the film's absorption is that at {:.0} nm and is kept at other wavelengths",
                    context.wavelength_m * 1e9
                ),
                transmission.place(),
            ));
            let absorption_per_m = -(share / most).ln() / thickness_m;
            Ok(Absorber::Added(stated(absorption_per_m)))
        }
        Kind::Absorption => {
            section.only(&["kind", "value"])?;
            let value = section.quantity("value", &quantity::ABSORPTION)?;
            Ok(Absorber::Added(stated(value)))
        }
    }
}
