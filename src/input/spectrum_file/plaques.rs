//! Columns of shares of light to plaques: scale, noise, pairs of transmittance and reflectance.

use crate::error::Error;
use crate::error::input::SpectrumProblem;
use crate::input::note::Note;
use crate::input::spectrum_file::columns::{Column, Quantity, Scale, length_in};
use crate::input::spectrum_file::percent::{self, Claim, LARGEST_FRACTION, LEAST_FRACTION, NOISE};
use crate::input::spectrum_file::table::Table;
use crate::input::spectrum_file::wavelength::Axis;
use crate::input::spectrum_file::{LoneReflectance, other_kind, spectrum};
use crate::material::Plaque;
use crate::material::plaque::Geometry;

/// Transmittance and reflectance may add up to this before they contradict each other: two noises.
pub(crate) const MOST_SUM: f64 = 1.0 + 2.0 * NOISE;

/// Largest value from which values without a unit are percent beyond doubt.
const LEAST_PERCENT: f64 = 2.0;

/// Plaques of a table, and reflectances without a transmittance of their own. `stated_m` is the
/// thickness of plaques that do not say theirs.
pub(super) fn read(
    table: &Table,
    columns: &[Column],
    axis: &Axis,
    stated_m: Option<f64>,
    notes: &mut Vec<Note>,
) -> Result<(Vec<Plaque>, Vec<LoneReflectance>), Error> {
    let shares: Vec<&Column> = columns
        .iter()
        .filter(|it| {
            matches!(
                it.quantity,
                Quantity::Transmittance | Quantity::Reflectance | Quantity::Absorbance
            )
        })
        .collect();
    if shares.is_empty() {
        return Err(other_kind(
            table,
            columns,
            "a column of transmittance, such as T 1.5 mm [%]",
        ));
    }
    told_apart(table, &shares)?;
    let mut transmittances = Vec::new();
    let mut reflectances = Vec::new();
    for column in &shares {
        let values = share(table, column, &shares, axis, notes)?;
        if column.quantity == Quantity::Reflectance {
            reflectances.push((*column, values));
        } else {
            transmittances.push((*column, values));
        }
    }
    let said = transmittances.iter().chain(&reflectances);
    let claims: Vec<Claim> = said
        .filter(|(column, _)| {
            column.scale == Some(Scale::Percent) && column.quantity != Quantity::Absorbance
        })
        .filter_map(|(column, values)| {
            Claim::of(
                &column.name,
                table.place(table.names_line),
                column.quantity == Quantity::Reflectance,
                column.backing.is_some(),
                values.iter().copied(),
            )
        })
        .collect();
    notes.extend(percent::check(
        &claims,
        says_without_specular(table),
        percent::TABLE,
    )?);
    let mut plaques = Vec::with_capacity(transmittances.len());
    for (column, values) in &transmittances {
        let thickness_m = thickness_m(table, column, stated_m, notes)?.ok_or_else(|| {
            table
                .error(
                    table.names_line,
                    SpectrumProblem::ThicknessMissing {
                        plaque: column.name.clone(),
                    },
                )
                .cure(
                    "write it into the column name, such as \"T 1.5 mm [%]\", or as a line \
                     \"thickness; 1.5 mm\" above the table; or say it beside the file: --thickness \
                     \"1.5 mm\", in a joint file spectra = { file = \"…\", thickness = \"1.5 mm\" }",
                )
        })?;
        if column.says_diffuse {
            notes.push(Note::new(
                format!(
                    "\"diffuse\" is read as total transmittance of \"{}\"; where a port let the \
                     direct light out, add it",
                    column.name
                ),
                table.place(table.names_line),
            ));
        }
        plaques.push(Plaque {
            name: column.name.clone(),
            thickness_m,
            geometry: column.geometry,
            transmittance: spectrum(table, "transmittance", values)?,
            reflectance: None,
        });
    }
    let mut lone = Vec::new();
    for (column, values) in &reflectances {
        let own = partner(column, &plaques).filter(|_| column.backing.is_none());
        let Some(partner) = own else {
            lone.push(LoneReflectance {
                name: column.name.clone(),
                thickness_m: thickness_m(table, column, stated_m, notes)?,
                reflectance: spectrum(table, "reflectance", values)?,
                place: table.place(table.names_line),
                lines: values.iter().map(|it| line_of(table, axis, it.0)).collect(),
                backing: column.backing,
            });
            continue;
        };
        check_sum(
            table,
            &plaques[partner].name,
            &transmittances[partner].1,
            values,
            axis,
        )?;
        plaques[partner].reflectance = Some(spectrum(table, "reflectance", values)?);
    }
    Ok((plaques, lone))
}

/// Refuses two columns of one name that tells no thickness: one may hold something else. Names with a
/// thickness in them may repeat, for there may be two plaques of it.
fn told_apart(table: &Table, columns: &[&Column]) -> Result<(), Error> {
    let bare = |it: &&&Column| length_in(&it.name.to_lowercase()).is_none();
    for (i, column) in columns.iter().enumerate().filter(|it| bare(&it.1)) {
        let name = column.name.to_lowercase();
        let twin = columns[..i].iter().find(|it| {
            it.name.to_lowercase() == name
                && it.quantity == column.quantity
                && it.thickness_m == column.thickness_m
        });
        if let Some(first) = twin {
            return Err(table
                .error(
                    table.names_line,
                    SpectrumProblem::RepeatedColumn {
                        column: column.name.clone(),
                        first: first.at + 1,
                        second: column.at + 1,
                    },
                )
                .cure(
                    "name each column after what it holds, transmittance T or reflectance R; where both \
                     are plaques of their own, write the thickness into both names, such as \"T 1.5 mm \
                     [%]\"",
                ));
        }
    }
    Ok(())
}

/// True where a free line or a name says that the specular beam was left out.
fn says_without_specular(table: &Table) -> bool {
    let lines = table.header.iter().map(|it| it.text.as_str());
    let names = table.names.iter().map(String::as_str);
    lines
        .chain(names)
        .any(|it| percent::without_specular(&it.to_lowercase()))
}

/// Line of a wavelength.
fn line_of(table: &Table, axis: &Axis, wavelength_m: f64) -> usize {
    axis.kept
        .iter()
        .find(|it| it.1 == wavelength_m)
        .map_or(table.names_line, |it| table.rows[it.0].line)
}

/// Thickness of a column: its own before the one stated beside the file.
fn thickness_m(
    table: &Table,
    column: &Column,
    stated_m: Option<f64>,
    notes: &mut Vec<Note>,
) -> Result<Option<f64>, Error> {
    if let (Some(own), Some(stated)) = (column.thickness_m, stated_m)
        && 1e-2 * own < (own - stated).abs()
    {
        notes.push(Note::new(
            format!(
                "\"{}\" says {} mm; the thickness stated beside the file, {} mm, is not used",
                column.name,
                round(own * 1e3),
                round(stated * 1e3)
            ),
            table.place(table.names_line),
        ));
    }
    let thickness_m = column.thickness_m.or(stated_m);
    if let Some(thickness_m) = thickness_m {
        check_thickness(table, column, thickness_m)?;
    }
    Ok(thickness_m)
}

/// Six significant places behind the point, without zeros.
pub(crate) fn round(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

/// The plaque a reflectance belongs to: same thickness, total rather than collimated.
fn partner(column: &Column, plaques: &[Plaque]) -> Option<usize> {
    let fits = |plaque: &Plaque| match column.thickness_m {
        Some(thickness_m) => (plaque.thickness_m - thickness_m).abs() < 1e-6 * thickness_m,
        None => plaques.len() == 1,
    };
    let free = |at: &usize| fits(&plaques[*at]) && plaques[*at].reflectance.is_none();
    let mut candidates = (0..plaques.len()).filter(free);
    candidates
        .clone()
        .find(|at| plaques[*at].geometry == Geometry::Total)
        .or_else(|| candidates.next())
}

fn check_thickness(table: &Table, column: &Column, thickness_m: f64) -> Result<(), Error> {
    if (1e-6..=50e-3).contains(&thickness_m) {
        return Ok(());
    }
    Err(Error::new(crate::error::InputProblem::OutOfRange {
        what: format!("thickness of plaque \"{}\"", column.name),
        value: format!("{} mm", thickness_m * 1e3),
        least: "1 µm".into(),
        most: "50 mm".into(),
    })
    .at(table.place(table.names_line))
    .cure("check the unit of the thickness"))
}

/// Values of a column as shares, 0 to 1, noise clipped.
fn share(
    table: &Table,
    column: &Column,
    all: &[&Column],
    axis: &Axis,
    notes: &mut Vec<Note>,
) -> Result<Vec<(f64, f64)>, Error> {
    let scale = match (column.quantity, column.scale) {
        (Quantity::Absorbance, _) => Scale::Fraction,
        (_, Some(scale)) => scale,
        (_, None) => guessed_scale(table, column, all, axis, notes)?,
    };
    let mut values = Vec::with_capacity(axis.kept.len());
    let mut clipped = 0usize;
    for &(row, wavelength_m) in &axis.kept {
        let Some(written) = table.rows[row].values[column.at] else {
            continue;
        };
        let share = match (column.quantity, scale) {
            (Quantity::Absorbance, _) => 10f64.powf(-written),
            (_, Scale::Percent) => 1e-2 * written,
            (_, Scale::Fraction) => written,
        };
        let line = table.rows[row].line;
        let value = table.rows[row].cells[column.at].clone();
        let quantity = column.quantity.name().to_string();
        let wavelength_nm = wavelength_m * 1e9;
        if 1.0 + NOISE < share {
            let cure = match (column.quantity, scale) {
                (Quantity::Absorbance, _) => {
                    "absorbance is −log10(T) and never negative: check the base line"
                }
                (_, Scale::Fraction) => "is it percent? write [%] into the column name",
                (_, Scale::Percent) => "check the instrument's 100 % line, or delete the row",
            };
            return Err(table
                .error(
                    line,
                    SpectrumProblem::AboveFull {
                        quantity,
                        value,
                        wavelength_nm,
                    },
                )
                .cure(cure));
        }
        if share < -NOISE {
            return Err(table
                .error(
                    line,
                    SpectrumProblem::BelowZero {
                        quantity,
                        value,
                        wavelength_nm,
                        noise: 100.0 * NOISE,
                    },
                )
                .cure("check the instrument's dark line, or delete the row"));
        }
        if !(0.0..=1.0).contains(&share) {
            clipped += 1;
        }
        values.push((wavelength_m, share.clamp(0.0, 1.0)));
    }
    if 0 < clipped {
        notes.push(Note::new(
            format!(
                "{clipped} values of \"{}\" lie outside 0 to 100 % by less than the noise ({} %) and \
                 are clipped",
                column.name,
                100.0 * NOISE
            ),
            table.place(table.names_line),
        ));
    }
    Ok(values)
}

/// Percent or fraction from the largest value of all columns that do not say.
fn guessed_scale(
    table: &Table,
    column: &Column,
    all: &[&Column],
    axis: &Axis,
    notes: &mut Vec<Note>,
) -> Result<Scale, Error> {
    let unsaid = all
        .iter()
        .filter(|it| it.scale.is_none() && it.quantity != Quantity::Absorbance);
    let largest = unsaid
        .flat_map(|it| {
            axis.kept
                .iter()
                .filter_map(|(row, _)| table.rows[*row].values[it.at])
        })
        .fold(f64::NEG_INFINITY, f64::max);
    let (scale, word) = if LEAST_PERCENT <= largest {
        (Scale::Percent, "percent")
    } else if (LEAST_FRACTION..=LARGEST_FRACTION).contains(&largest) {
        (Scale::Fraction, "a fraction")
    } else {
        return Err(table
            .error(
                table.names_line,
                SpectrumProblem::PercentOrFraction {
                    column: column.name.clone(),
                    largest,
                },
            )
            .cure("write [%] or [fraction] into the column name"));
    };
    notes.push(Note::new(
        format!(
            "\"{}\" has no unit; {word} is taken, since the largest value is {largest}",
            column.name
        ),
        table.place(table.names_line),
    ));
    Ok(scale)
}

fn check_sum(
    table: &Table,
    plaque: &str,
    transmittance: &[(f64, f64)],
    reflectance: &[(f64, f64)],
    axis: &Axis,
) -> Result<(), Error> {
    for (wavelength_m, r) in reflectance {
        let Some((_, t)) = transmittance.iter().find(|it| it.0 == *wavelength_m) else {
            continue;
        };
        if MOST_SUM < t + r {
            return Err(table
                .error(
                    line_of(table, axis, *wavelength_m),
                    SpectrumProblem::MoreThanAll {
                        plaque: plaque.into(),
                        sum: 100.0 * (t + r),
                        wavelength_nm: wavelength_m * 1e9,
                    },
                )
                .cure("check both base lines; the reflectance must be of the same plaque"));
        }
    }
    Ok(())
}
