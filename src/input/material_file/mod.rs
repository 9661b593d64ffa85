//! Material cards: TOML in which every number has a value, a source and a status.
//!
//! Tables of `[thermal]` run over temperature in °C, tables of `[optical]` over wavelength in nm;
//! their values are SI. A value of `[optical]` may say `over = ["800 nm", "1100 nm"]`, outside of
//! which it is not known.

use crate::error::{Error, InputProblem, MaterialProblem, Place};
use crate::input::Read;
use crate::input::document::{Item, Section, Source};
use crate::input::note::Note;
use crate::input::quantity::{self, Dimension, Field};
use crate::material::thermal::LatentHeat;
use crate::material::{Damage, Kind, Material, Sourced, Status, Thermal};
use crate::numerics::interpolate::{PiecewiseLinear, TableFault};
use crate::units::kelvin;

mod expansion;
mod melt;
mod optical;

/// A card from its text. `id` is the short name it is called by; `read` gives the files it names.
///
/// # Errors
/// Not TOML, an unknown or missing key, a number without source or status, or out of range.
pub fn parse(
    text: &str,
    file: &str,
    id: &str,
    read: &Read<'_>,
) -> Result<(Material, Vec<Note>), Error> {
    let source = Source { file, text };
    let tree = source.tree()?;
    let root = Section::root(source, &tree);
    root.only(&[
        "name",
        "kind",
        "optical",
        "thermal",
        "damage",
        "melt",
        "healing",
        "expansion",
        "moisture",
        "fume",
        "notes",
    ])?;
    let mut notes = Vec::new();
    let kind = root.need("kind", "\"semicrystalline\"")?.word(&[
        ("semicrystalline", Kind::Semicrystalline),
        ("amorphous", Kind::Amorphous),
        ("rigid", Kind::Rigid),
    ])?;
    let name = root.need("name", "\"PA6, natural\"")?.text()?.to_string();
    let optical = root.need_section(
        "optical",
        "add [optical] with refractive_index and absorption, or with spectra",
    )?;
    let thermal = root.need_section(
        "thermal",
        "add [thermal] with density, conductivity, specific_heat, flow_temperature and \
         surface_temperature",
    )?;
    let (damage, decomposition_k) = match root.section("damage")? {
        Some(section) => read_damage(&section)?,
        None => (None, None),
    };
    let material = Material {
        id: id.into(),
        name,
        kind,
        optical: optical::read_optical(&optical, file, read, &mut notes)?,
        thermal: read_thermal(&thermal)?,
        damage,
        decomposition_k,
        melt: melt::read_melt(
            root.section("melt")?.as_ref(),
            root.section("healing")?.as_ref(),
        )?,
        expansion: root
            .section("expansion")?
            .map(|it| expansion::read_expansion(&it))
            .transpose()?,
        saturation_moisture: root
            .section("moisture")?
            .map(|it| read_moisture(&it))
            .transpose()?,
        fume: root.section("fume")?.map(|it| read_fume(&it)).transpose()?,
        notes: match root.get("notes") {
            Some(item) => item.texts()?.into_iter().map(|(_, it)| it.into()).collect(),
            None => Vec::new(),
        },
    };
    Ok((material, notes))
}

/// The statuses a card may use, with their words.
fn statuses() -> Vec<(&'static str, Status)> {
    Status::WORDS
        .iter()
        .map(|(it, word)| (*word, *it))
        .collect()
}

/// `source` and `status` of a section, both needed.
fn provenance(section: &Section<'_>) -> Result<(String, Status), Error> {
    let source = section
        .need("source", "\"author, title, table or page\"")?
        .text()?;
    let status = section.need("status", "\"measured\"")?.word(&statuses())?;
    Ok((source.into(), status))
}

fn sourced<T>(section: &Section<'_>, value: T) -> Result<Sourced<T>, Error> {
    let (source, status) = provenance(section)?;
    Ok(Sourced::new(value, source, status))
}

/// The table of a key, with a cure for a bare value.
fn entry<'t>(section: &Section<'t>, key: &str, field: &Field) -> Result<Section<'t>, Error> {
    let shape = shape(field);
    let item = section.need(key, &shape)?;
    entry_of(&item, &shape)
}

/// How an entry of a field is written.
fn shape(field: &Field) -> String {
    let quote = if field.dimension == Dimension::Number {
        ""
    } else {
        "\""
    };
    format!(
        "{{ value = {quote}{}{quote}, source = \"…\", status = \"…\" }}",
        field.example
    )
}

fn entry_of<'t>(item: &Item<'t>, shape: &str) -> Result<Section<'t>, Error> {
    if item.is_table() {
        return item.section();
    }
    Err(item
        .error(InputProblem::NeedsBeside {
            first: item.key.clone(),
            second: "source` and `status".into(),
        })
        .cure(format!("write {} = {shape}", item.key)))
}

fn conflict(item: &Item<'_>, other: &str) -> Error {
    item.error(InputProblem::Conflict {
        first: item.key.clone(),
        second: other.into(),
    })
    .cure("leave one of them out")
}

/// What a table runs over.
#[derive(Clone, Copy, PartialEq)]
enum Over {
    /// Temperature, °C in the card, K when read.
    Temperature,
    /// Wavelength, nm in both.
    Wavelength,
}

impl Over {
    fn read(self, at: &Item<'_>) -> Result<f64, Error> {
        let number = at.number()?;
        if self == Over::Wavelength {
            return Ok(number);
        }
        let cure = "the first number of a row is a temperature in °C";
        in_range(at, kelvin(number), &quantity::TEMPERATURE, cure)
    }
}

/// An entry of a table in SI, checked against the range of a field.
fn in_range(item: &Item<'_>, value: f64, field: &Field, cure: &str) -> Result<f64, Error> {
    let (least, most) = field.range()?;
    if value < least || most < value {
        return Err(item
            .error(InputProblem::OutOfRange {
                what: field.what.into(),
                value: item.echo(),
                least: field.least.into(),
                most: field.most.into(),
            })
            .cure(cure));
    }
    Ok(value)
}

/// Rows `[x, value]` of bare numbers, values checked against the field.
fn read_table(item: &Item<'_>, field: &Field, over: Over) -> Result<(Vec<f64>, Vec<f64>), Error> {
    let (mut x, mut y) = (Vec::new(), Vec::new());
    let mut last = None;
    for row in item.items()? {
        let cells = row.items()?;
        let [at, value] = cells.as_slice() else {
            return Err(row
                .error(InputProblem::WrongType {
                    key: item.key.clone(),
                    found: format!("a row of {} numbers", cells.len()),
                    needed: "rows of two numbers".into(),
                })
                .cure("write table = [[23, 0.27], [250, 0.24]]"));
        };
        let cure = "values of a table are SI numbers without unit";
        let number = in_range(value, value.number()?, field, cure)?;
        let at_number = over.read(at)?;
        if let Some(before) = last.filter(|before| at.number().is_ok_and(|it| it <= *before)) {
            return Err(Error::new(MaterialProblem::NotAscending {
                quantity: field.what.into(),
                entry: x.len() + 1,
                value: at.number()?,
                before,
            })
            .at(at.place())
            .cure("write the rows in ascending order"));
        }
        last = Some(at.number()?);
        x.push(at_number);
        y.push(number);
    }
    Ok((x, y))
}

fn read_thermal(section: &Section<'_>) -> Result<Thermal, Error> {
    section.only(&[
        "density",
        "conductivity",
        "specific_heat",
        "flow_temperature",
        "surface_temperature",
        "latent_heat",
    ])?;
    let table = |key: &str, field: &Field| read_against_temperature(section, key, field);
    let temperature = |key: &str| -> Result<Sourced<f64>, Error> {
        let it = entry(section, key, &quantity::TEMPERATURE)?;
        it.only(&["value", "source", "status"])?;
        let value = it.quantity("value", &quantity::TEMPERATURE)?;
        sourced(&it, value)
    };
    Ok(Thermal {
        density_kg_per_m3: table("density", &quantity::DENSITY)?,
        conductivity_w_per_m_k: table("conductivity", &quantity::CONDUCTIVITY)?,
        specific_heat_j_per_kg_k: table("specific_heat", &quantity::SPECIFIC_HEAT)?,
        latent_heat: section
            .get("latent_heat")
            .map(|item| read_latent_heat(&item))
            .transpose()?,
        flow_temperature_k: temperature("flow_temperature")?,
        surface_temperature_k: temperature("surface_temperature")?,
    })
}

fn read_against_temperature(
    section: &Section<'_>,
    key: &str,
    field: &Field,
) -> Result<Sourced<PiecewiseLinear>, Error> {
    let it = entry(section, key, field)?;
    it.only(&["value", "table", "source", "status"])?;
    let value = match (it.get("value"), it.get("table")) {
        (Some(_), Some(table)) => return Err(conflict(&table, "value")),
        (None, Some(item)) => {
            let (x, y) = read_table(&item, field, Over::Temperature)?;
            PiecewiseLinear::new(x, y).map_err(|fault| table_error(field, fault, item.place()))?
        }
        _ => PiecewiseLinear::constant(it.quantity("value", field)?),
    };
    sourced(&it, value)
}

fn table_error(field: &Field, fault: TableFault, place: Place) -> Error {
    let problem = match fault {
        TableFault::TooShort { entries } => MaterialProblem::TooShort {
            quantity: field.what.into(),
            entries,
            needed: 1,
        },
        TableFault::NotAscending { index } | TableFault::NotFinite { index } => {
            MaterialProblem::BadNumber {
                quantity: format!("{} table, row {}", field.what, index + 1),
                value: f64::NAN,
                must: "finite and above the row before".into(),
            }
        }
    };
    Error::new(problem)
        .at(place)
        .cure("write table = [[23, 0.27], [250, 0.24]]")
}

fn read_latent_heat(item: &Item<'_>) -> Result<Sourced<LatentHeat>, Error> {
    let it = entry_of(
        item,
        "{ value = \"60 kJ/kg\", over = [\"200 °C\", \"225 °C\"], source = \"…\", status = \"…\" }",
    )?;
    it.only(&["value", "over", "source", "status"])?;
    let heat_j_per_kg = it.quantity("value", &quantity::LATENT_HEAT)?;
    let (from_k, to_k) = it
        .need("over", "[\"200 °C\", \"225 °C\"]")?
        .pair(&quantity::TEMPERATURE)?;
    sourced(
        &it,
        LatentHeat {
            heat_j_per_kg,
            from_k,
            to_k,
        },
    )
}

/// Kinetics, both numbers together; or the onset of decomposition where none are published.
fn read_damage(section: &Section<'_>) -> Result<(Option<Damage>, Option<Sourced<f64>>), Error> {
    section.only(&["frequency", "energy", "onset"])?;
    let number = |key: &str, field: &Field| -> Result<Sourced<f64>, Error> {
        let it = entry(section, key, field)?;
        it.only(&["value", "source", "status"])?;
        let value = it.quantity("value", field)?;
        sourced(&it, value)
    };
    if let Some(onset) = section.get("onset") {
        for key in ["frequency", "energy"] {
            if section.get(key).is_some() {
                return Err(conflict(&onset, key));
            }
        }
        return Ok((None, Some(number("onset", &quantity::TEMPERATURE)?)));
    }
    let damage = Damage {
        frequency_per_s: number("frequency", &quantity::FREQUENCY)?,
        energy_j_per_mol: number("energy", &quantity::ENERGY)?,
    };
    if damage.frequency_per_s.source != damage.energy_j_per_mol.source {
        return Err(Error::new(InputProblem::TwoSources {
            pair: "frequency and energy".into(),
            first: damage.frequency_per_s.source,
            second: damage.energy_j_per_mol.source,
        })
        .at(section.place())
        .cure("take both from one source, or leave [damage] out"));
    }
    Ok((Some(damage), None))
}

fn read_moisture(section: &Section<'_>) -> Result<Sourced<f64>, Error> {
    section.only(&["saturation"])?;
    let it = entry(section, "saturation", &quantity::MOISTURE)?;
    it.only(&["value", "source", "status"])?;
    let value = it.quantity("value", &quantity::MOISTURE)?;
    sourced(&it, value)
}

fn read_fume(section: &Section<'_>) -> Result<Sourced<String>, Error> {
    section.only(&["contains", "source", "status"])?;
    let contains = section
        .need("contains", "\"formaldehyde\"")?
        .text()?
        .to_string();
    sourced(section, contains)
}
