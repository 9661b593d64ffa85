//! Section `[expansion]` of a card: how the polymer swells when it is heated.
//!
//! ```toml
//! [expansion] # specific volume in m3/kg over temperature in °C, melting included
//! specific_volume = { table = [[23, 8.42e-4], [147, 8.63e-4], [300, 9.50e-4]], source = "…", status = "…" }
//! poisson_ratio = { value = 0.38, source = "…", status = "…" }
//! ```

use crate::error::Error;
use crate::input::document::Section;
use crate::input::quantity;
use crate::material::Expansion;
use crate::numerics::interpolate::PiecewiseLinear;

use super::{Over, entry, entry_of, read_table, sourced, table_error};

const VOLUME_SHAPE: &str =
    "{ table = [[23, 8.42e-4], [300, 9.5e-4]], source = \"…\", status = \"…\" }";

/// Reads the section.
pub(super) fn read_expansion(section: &Section<'_>) -> Result<Expansion, Error> {
    section.only(&["specific_volume", "poisson_ratio"])?;
    let item = section.need("specific_volume", VOLUME_SHAPE)?;
    let volume = entry_of(&item, VOLUME_SHAPE)?;
    volume.only(&["table", "source", "status"])?;
    let field = &quantity::SPECIFIC_VOLUME;
    let table = volume.need("table", "[[23, 8.42e-4], [300, 9.5e-4]]")?;
    let (x, y) = read_table(&table, field, Over::Temperature)?;
    let points =
        PiecewiseLinear::new(x, y).map_err(|fault| table_error(field, fault, table.place()))?;
    let ratio = entry(section, "poisson_ratio", &quantity::POISSON_RATIO)?;
    ratio.only(&["value", "source", "status"])?;
    let value = ratio.quantity("value", &quantity::POISSON_RATIO)?;
    Ok(Expansion {
        specific_volume_m3_per_kg: sourced(&volume, points)?,
        poisson_ratio: sourced(&ratio, value)?,
    })
}
