//! The first column: wavelength in nm or µm, or wavenumber in 1/cm, ascending in the end.

use crate::error::Error;
use crate::error::input::SpectrumProblem;
use crate::input::note::Note;
use crate::input::spectrum_file::table::Table;
use crate::units::{NM, UM};

/// Wavelengths kept, nm: what spectrometers for plastics cover.
const RANGE_NM: (f64, f64) = (300.0, 3000.0);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Nanometre,
    Micrometre,
    PerCentimetre,
}

impl Unit {
    fn metres(self, value: f64) -> f64 {
        match self {
            Unit::Nanometre => value * NM,
            Unit::Micrometre => value * UM,
            Unit::PerCentimetre => 1e-2 / value,
        }
    }
}

/// The wavelength axis of a table.
#[derive(Clone, Debug)]
pub(super) struct Axis {
    /// Row of the table and wavelength (m), ascending in wavelength.
    pub kept: Vec<(usize, f64)>,
    /// Remarks.
    pub notes: Vec<Note>,
}

impl Axis {
    /// Reads the first column.
    ///
    /// # Errors
    /// Not monotone, a wavelength twice, or wavelengths that no unit makes plausible.
    pub fn read(table: &Table) -> Result<Self, Error> {
        check_order(table)?;
        let mut notes = Vec::new();
        let first: Vec<f64> = table.rows.iter().filter_map(|it| it.values[0]).collect();
        let unit = match stated_unit(table) {
            Some(unit) => unit,
            None => guessed_unit(table, &first, &mut notes)?,
        };
        let all: Vec<(usize, f64)> = first
            .iter()
            .enumerate()
            .map(|(row, value)| (row, unit.metres(*value)))
            .collect();
        let inside = |wavelength_m: f64| {
            let nm = wavelength_m / NM;
            RANGE_NM.0 * (1.0 - 1e-9) <= nm && nm <= RANGE_NM.1 * (1.0 + 1e-9)
        };
        let mut kept: Vec<(usize, f64)> = all.iter().copied().filter(|it| inside(it.1)).collect();
        // A few rows beyond the range are an instrument's reach; most of them are a wrong unit.
        if kept.len() < 2 || 2 * kept.len() < all.len() {
            let outside = all.iter().find(|it| !inside(it.1)).copied();
            let (row, wavelength_m) = outside.unwrap_or((0, 0.0));
            return Err(table
                .error(
                    table.rows[row].line,
                    SpectrumProblem::WavelengthOutside {
                        wavelength_nm: wavelength_m / NM,
                    },
                )
                .cure(
                    "state the unit in the name of the first column: wavelength [nm], wavelength \
                     [µm] or wavenumber [1/cm]",
                ));
        }
        if kept.len() < all.len() {
            notes.push(Note::new(
                format!(
                    "{} rows outside 300 to 3000 nm are left out",
                    all.len() - kept.len()
                ),
                table.place(table.names_line),
            ));
        }
        kept.sort_by(|a, b| a.1.total_cmp(&b.1));
        Ok(Axis { kept, notes })
    }
}

fn check_order(table: &Table) -> Result<(), Error> {
    let mut lines = std::collections::HashMap::new();
    for row in &table.rows {
        let value = row.values[0].unwrap_or_default();
        if let Some(first_line) = lines.insert(value.to_bits(), row.line) {
            return Err(table
                .error(
                    row.line,
                    SpectrumProblem::DuplicateWavelength {
                        wavelength: row.cells[0].clone(),
                        first_line,
                    },
                )
                .cure("delete one of the rows; give each plaque its own column or file"));
        }
    }
    let direction = |pair: &[_]| -> Option<bool> {
        let [before, after]: &[crate::input::spectrum_file::table::Row] = pair else {
            return None;
        };
        Some(before.values[0]? < after.values[0]?)
    };
    let up = table
        .rows
        .windows(2)
        .filter(|it| direction(it) == Some(true))
        .count();
    let rising = table.rows.len() <= 2 * up + 1;
    for pair in table.rows.windows(2) {
        if direction(pair) == Some(!rising) {
            return Err(table
                .error(
                    pair[1].line,
                    SpectrumProblem::NotMonotonic {
                        wavelength: pair[1].cells[0].clone(),
                        before: pair[0].cells[0].clone(),
                    },
                )
                .cure("sort the rows by wavelength; give each plaque its own column or file"));
        }
    }
    Ok(())
}

/// The unit named by the first column or by a free line about it.
fn stated_unit(table: &Table) -> Option<Unit> {
    let of = |text: &str| -> Option<Unit> {
        let plain = text
            .to_lowercase()
            .replace(['^', ' '], "")
            .replace("⁻¹", "-1");
        if plain.contains("cm-1") || plain.contains("1/cm") || plain.contains("wavenumber") {
            Some(Unit::PerCentimetre)
        } else if ["µm", "μm", "micron", "micromet"]
            .iter()
            .any(|it| plain.contains(it))
            || letters(&plain).any(|it| it == "um")
        {
            Some(Unit::Micrometre)
        } else if plain.contains("nanomet") || letters(&plain).any(|it| it == "nm") {
            Some(Unit::Nanometre)
        } else {
            None
        }
    };
    table.names.first().and_then(|it| of(it)).or_else(|| {
        table
            .header
            .iter()
            .filter(|it| {
                let lower = it.text.to_lowercase();
                ["wave", "xunit", "x unit", "x-unit", "abscissa", "lambda"]
                    .iter()
                    .any(|word| lower.contains(word))
            })
            .find_map(|it| of(&it.text))
    })
}

fn letters(text: &str) -> impl Iterator<Item = &str> {
    text.split(|it: char| !it.is_alphabetic())
}

/// The unit that puts every value into the range, if none is named.
fn guessed_unit(table: &Table, first: &[f64], notes: &mut Vec<Note>) -> Result<Unit, Error> {
    let fits = |unit: Unit| {
        first.iter().all(|it| {
            let nm = unit.metres(*it) / NM;
            (150.0..=3500.0).contains(&nm)
        })
    };
    let (unit, word) = if fits(Unit::Nanometre) {
        (Unit::Nanometre, "nm")
    } else if fits(Unit::Micrometre) {
        (Unit::Micrometre, "µm")
    } else {
        let odd = table.rows.iter().find(|it| {
            let nm = it.values[0].unwrap_or_default();
            nm < RANGE_NM.0 || RANGE_NM.1 < nm
        });
        let row = odd.unwrap_or(&table.rows[0]);
        return Err(table
            .error(
                row.line,
                SpectrumProblem::WavelengthOutside {
                    wavelength_nm: row.values[0].unwrap_or_default(),
                },
            )
            .cure(
                "state the unit in the name of the first column: wavelength [nm], wavelength [µm] or \
                 wavenumber [1/cm]",
            ));
    };
    notes.push(Note::new(
        format!("no unit is given for the wavelength; {word} is taken"),
        table.place(table.names_line),
    ));
    Ok(unit)
}
