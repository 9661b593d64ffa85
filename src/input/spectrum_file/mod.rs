//! Spectra as instruments export them: plaques, refractive index tables, absorption tables.
//!
//! Free lines may stand before the table. Columns are separated by comma, semicolon, tab or blanks;
//! decimals follow a point or a comma; wavelengths ascend or descend, in nm, µm or 1/cm; shares of
//! light are percent, fractions or absorbance. What a column holds, its thickness and the geometry
//! of the measurement come from its name, such as `T 1.5 mm total [%]`, or from the free lines.

use crate::error::input::SpectrumProblem;
use crate::error::{Error, InputProblem, Place};
use crate::input::note::Note;
use crate::input::spectrum_file::columns::{Column, Quantity, classify};
use crate::input::spectrum_file::table::Table;
use crate::input::spectrum_file::wavelength::Axis;
use crate::material::optical::absorption_per_m;
use crate::material::plaque::Backing;
use crate::material::{Plaque, Spectrum};

pub(crate) mod columns;
pub(crate) mod encoding;
mod names;
pub(crate) mod percent;
pub(crate) mod plaques;
mod style;
mod table;
mod wavelength;

/// Plaques of one file.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaqueFile {
    /// The plaques in the order of their columns.
    pub plaques: Vec<Plaque>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// A reflectance whose transmittance stands elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct LoneReflectance {
    /// Name in the file.
    pub name: String,
    /// Thickness, m, where it is known.
    pub thickness_m: Option<f64>,
    /// Total reflectance against wavelength.
    pub reflectance: Spectrum,
    /// Where its name stands.
    pub place: Place,
    /// Line of each entry, in ascending order of wavelength.
    pub lines: Vec<usize>,
    /// What lay behind the plaque; none for a plaque by itself.
    pub backing: Option<Backing>,
}

/// Shares of light of one file.
#[derive(Clone, Debug, PartialEq)]
pub struct ShareFile {
    /// The plaques in the order of their columns.
    pub plaques: Vec<Plaque>,
    /// Reflectances without a transmittance in the same file.
    pub reflectances: Vec<LoneReflectance>,
    /// What the free lines call the sample.
    pub sample: Option<String>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Refractive index and absorption of one file.
#[derive(Clone, Debug, PartialEq)]
pub struct IndexFile {
    /// Real part n.
    pub refractive_index: Spectrum,
    /// 4πk/λ, 1/m.
    pub absorption: Spectrum,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Absorption of one file.
#[derive(Clone, Debug, PartialEq)]
pub struct AbsorptionFile {
    /// Absorption coefficient, 1/m.
    pub absorption: Spectrum,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Plaques: transmittance, and reflectance where measured, at one or more thicknesses.
///
/// # Errors
/// No table, a column that is no share of light, a thickness that is missing, or values that cannot
/// be shares of light; each with file, line, value and cure.
///
/// ```
/// use lightseam::input::spectrum_file::parse_plaques;
///
/// let text = "total transmittance\nwavelength [nm];T 1,5 mm [%]\n980;62,4\n970;62,1\n";
/// let file = parse_plaques(text.as_bytes(), "lid.csv")?;
/// assert_eq!(file.plaques[0].thickness_m, 1.5e-3);
/// assert!((file.plaques[0].transmittance.at("T", 980e-9)? - 0.624).abs() < 1e-12);
/// # Ok::<(), lightseam::error::Error>(())
/// ```
pub fn parse_plaques(bytes: &[u8], file: &str) -> Result<PlaqueFile, Error> {
    let found = parse_shares(bytes, file, None)?;
    match found.reflectances.iter().find(|it| it.backing.is_none()) {
        Some(lone) => Err(lone_reflectance(lone)),
        None => Ok(PlaqueFile {
            plaques: found.plaques,
            notes: found.notes,
        }),
    }
}

/// Plaques as [`parse_plaques`], and reflectances whose transmittance may stand in another file.
/// `thickness_m` is that of plaques that do not say theirs.
///
/// # Errors
/// As [`parse_plaques`].
pub fn parse_shares(
    bytes: &[u8],
    file: &str,
    thickness_m: Option<f64>,
) -> Result<ShareFile, Error> {
    let (table, columns, axis) = open(bytes, file)?;
    let mut notes = axis.notes.clone();
    let (plaques, reflectances) = plaques::read(&table, &columns, &axis, thickness_m, &mut notes)?;
    Ok(ShareFile {
        plaques,
        reflectances,
        sample: sample(&table),
        notes,
    })
}

/// The error of a reflectance that found no transmittance.
pub(crate) fn lone_reflectance(lone: &LoneReflectance) -> Error {
    Error::new(InputProblem::Spectrum(SpectrumProblem::LoneReflectance {
        column: lone.name.clone(),
    }))
    .at(lone.place.clone())
    .cure(
        "give the transmittance of the same plaque: a column in the same file, or another file, with \
         the same thickness",
    )
}

/// Keys of free lines that name the sample.
const SAMPLE_KEYS: [&str; 8] = [
    "sample",
    "specimen",
    "material",
    "grade",
    "title",
    "probe",
    "prüfling",
    "werkstoff",
];

fn sample(table: &Table) -> Option<String> {
    let names_it = |key: &str| {
        let lower = key.to_lowercase();
        let first = lower
            .split(|it: char| !it.is_alphabetic())
            .find(|it| !it.is_empty());
        // "sample thickness" and "sample number" name no material.
        first.is_some_and(|it| SAMPLE_KEYS.contains(&it))
            && !["thick", "number", "no.", "temp", "holder"]
                .iter()
                .any(|it| lower.contains(it))
    };
    table
        .header
        .iter()
        .filter(|it| 1 < it.cells.len() && names_it(&it.cells[0]))
        .map(|it| it.cells[1..].join(" ").trim().to_string())
        .find(|it| !it.is_empty())
}

/// A table of wavelength, n and k.
///
/// # Errors
/// No table, no such columns, or values out of range.
pub fn parse_index(bytes: &[u8], file: &str) -> Result<IndexFile, Error> {
    let (table, columns, axis) = open(bytes, file)?;
    let find = |quantity: Quantity| columns.iter().find(|it| it.quantity == quantity);
    let (Some(n), Some(k)) = (find(Quantity::Index), find(Quantity::ImaginaryIndex)) else {
        return Err(other_kind(&table, &columns, "columns n and k"));
    };
    let index = series(&table, n, &axis, (1.0, 5.0), "from 1 to 5")?;
    let imaginary = series(&table, k, &axis, (0.0, 10.0), "0 or more")?;
    let absorption: Vec<(f64, f64)> = imaginary
        .iter()
        .map(|(wavelength_m, k)| (*wavelength_m, absorption_per_m(*k, *wavelength_m)))
        .collect();
    Ok(IndexFile {
        refractive_index: spectrum(&table, "refractive index", &index)?,
        absorption: spectrum(&table, "absorption", &absorption)?,
        notes: axis.notes,
    })
}

/// A table of wavelength and absorption coefficient with its unit (`absorption [1/mm]`), or k.
///
/// # Errors
/// No table, no such column, or values out of range.
pub fn parse_absorption(bytes: &[u8], file: &str) -> Result<AbsorptionFile, Error> {
    let (table, columns, axis) = open(bytes, file)?;
    let found = columns.iter().find_map(|it| match it.quantity {
        Quantity::Coefficient { per_m } => Some((it, Some(per_m))),
        Quantity::ImaginaryIndex => Some((it, None)),
        _ => None,
    });
    let Some((column, per_m)) = found else {
        return Err(other_kind(
            &table,
            &columns,
            "a column such as \"absorption [1/mm]\"",
        ));
    };
    let values = series(&table, column, &axis, (0.0, 1e9), "0 or more")?
        .into_iter()
        .map(|(wavelength_m, value)| match per_m {
            Some(per_m) => (wavelength_m, per_m * value),
            None => (wavelength_m, absorption_per_m(value, wavelength_m)),
        })
        .collect::<Vec<_>>();
    Ok(AbsorptionFile {
        absorption: spectrum(&table, "absorption", &values)?,
        notes: axis.notes,
    })
}

fn open(bytes: &[u8], file: &str) -> Result<(Table, Vec<Column>, Axis), Error> {
    let text = encoding::decode(bytes);
    let table = Table::find(&text, file)?;
    let columns = classify(&table)?;
    let axis = Axis::read(&table)?;
    Ok((table, columns, axis))
}

fn other_kind(table: &Table, columns: &[Column], needed: &str) -> Error {
    let mut found: Vec<&str> = columns.iter().map(|it| it.quantity.name()).collect();
    found.dedup();
    table
        .error(
            table.names_line,
            SpectrumProblem::OtherKind {
                found: found.join(", "),
                needed: needed.into(),
            },
        )
        .cure("name another file, or correct the column names")
}

/// Entries (wavelength in m, value) of a column in ascending order, inside a range.
fn series(
    table: &Table,
    column: &Column,
    axis: &Axis,
    (least, most): (f64, f64),
    must: &str,
) -> Result<Vec<(f64, f64)>, Error> {
    let mut values = Vec::with_capacity(axis.kept.len());
    for &(row, wavelength_m) in &axis.kept {
        let Some(value) = table.rows[row].values[column.at] else {
            continue;
        };
        if value < least || most < value {
            return Err(table
                .error(
                    table.rows[row].line,
                    SpectrumProblem::BadValue {
                        quantity: column.quantity.name().into(),
                        value: table.rows[row].cells[column.at].clone(),
                        wavelength_nm: wavelength_m * 1e9,
                        must: must.into(),
                    },
                )
                .cure("correct the value or delete the row"));
        }
        values.push((wavelength_m, value));
    }
    Ok(values)
}

fn spectrum(table: &Table, quantity: &str, values: &[(f64, f64)]) -> Result<Spectrum, Error> {
    let (wavelength_m, value) = values.iter().copied().unzip();
    Spectrum::table(quantity, wavelength_m, value)
        .map_err(|it| it.at(table.place(table.names_line)))
}
