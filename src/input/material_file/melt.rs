//! Sections `[melt]` and `[healing]` of a card: viscosity and healing time of the melt.
//!
//! ```toml
//! [melt]
//! viscosity = { value = "800 Pa s", at = "230 °C", energy = "45 kJ/mol", source = "…", status = "…" }
//! # or the zero-shear value of Cross-WLF:
//! viscosity = { d1 = "1e13 Pa s", reference = "100 °C", a1 = 28, a2 = "51.6 K", source = "…", status = "…" }
//! [healing]
//! time = { value = "0.5 s", at = "230 °C", energy = "45 kJ/mol", source = "…", status = "…" }
//! ```

use crate::error::Error;
use crate::input::document::Section;
use crate::input::quantity::{self, Field};
use crate::material::Melt;
use crate::material::melt::{Healing, Viscosity};

use super::{conflict, entry_of, sourced};

/// Reads both sections, either of which may be left out.
pub(super) fn read_melt(
    melt: Option<&Section<'_>>,
    healing: Option<&Section<'_>>,
) -> Result<Melt, Error> {
    let mut read = Melt::default();
    if let Some(section) = melt {
        section.only(&["viscosity"])?;
        let item = section.need("viscosity", &shape(&quantity::VISCOSITY))?;
        let entry = entry_of(&item, &shape(&quantity::VISCOSITY))?;
        let law = read_viscosity(&entry)?;
        read.viscosity = Some(sourced(&entry, law)?);
    }
    if let Some(section) = healing {
        section.only(&["time"])?;
        let item = section.need("time", &shape(&quantity::HEALING_TIME))?;
        let entry = entry_of(&item, &shape(&quantity::HEALING_TIME))?;
        entry.only(&["value", "at", "energy", "source", "status"])?;
        let law = Healing {
            time_s: entry.quantity("value", &quantity::HEALING_TIME)?,
            reference_k: entry.quantity("at", &quantity::TEMPERATURE)?,
            energy_j_per_mol: entry.quantity("energy", &quantity::ENERGY)?,
        };
        read.healing = Some(sourced(&entry, law)?);
    }
    Ok(read)
}

fn read_viscosity(entry: &Section<'_>) -> Result<Viscosity, Error> {
    if let Some(d1) = entry.get("d1") {
        if entry.get("value").is_some() {
            return Err(conflict(&d1, "value"));
        }
        entry.only(&["d1", "reference", "a1", "a2", "source", "status"])?;
        return Ok(Viscosity::Wlf {
            d1_pa_s: d1.quantity(&quantity::VISCOSITY)?,
            reference_k: entry.quantity("reference", &quantity::TEMPERATURE)?,
            a1: entry.quantity("a1", &quantity::WLF_A1)?,
            a2_k: entry.quantity("a2", &quantity::TEMPERATURE_DIFFERENCE)?,
        });
    }
    entry.only(&["value", "at", "energy", "source", "status"])?;
    Ok(Viscosity::Arrhenius {
        value_pa_s: entry.quantity("value", &quantity::VISCOSITY)?,
        reference_k: entry.quantity("at", &quantity::TEMPERATURE)?,
        energy_j_per_mol: entry.quantity("energy", &quantity::ENERGY)?,
    })
}

fn shape(field: &Field) -> String {
    format!(
        "{{ value = \"{}\", at = \"230 °C\", energy = \"45 kJ/mol\", source = \"…\", status = \"…\" }}",
        field.example
    )
}
