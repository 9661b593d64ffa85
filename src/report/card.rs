//! A material card as it is printed: every number with source and status.

use crate::material::{Kind, Material, Sourced, Spectrum};
use crate::report::inputs::thermal_rows;
use crate::report::number;
use crate::report::table::{Column, InputRow, Table};
use crate::units::{NM, PER_MM};

/// Kind in words.
pub fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::Semicrystalline => "semicrystalline",
        Kind::Amorphous => "amorphous",
        Kind::Rigid => "rigid",
    }
}

/// Optical quantities of a card, each with its range of values and wavelengths.
pub fn optical_rows(material: &Material) -> Vec<InputRow> {
    let optical = &material.optical;
    let named: [(&str, Option<&Sourced<Spectrum>>, &str, f64); 4] = [
        ("Refractive index", Some(&optical.refractive_index), "", 1.0),
        ("Absorption µa", optical.absorption.as_ref(), "1/mm", PER_MM),
        ("Scattering µs", optical.scattering.as_ref(), "1/mm", PER_MM),
        ("Anisotropy g", optical.anisotropy.as_ref(), "", 1.0),
    ];
    named
        .into_iter()
        .filter_map(|(quantity, it, unit, scale)| {
            let it = it?;
            Some(InputRow {
                quantity: quantity.into(),
                value: say_spectrum(&it.value, scale),
                unit: unit.into(),
                source: it.source.clone(),
                status: it.status.to_string(),
            })
        })
        .collect()
}

/// A constant, or least and greatest value with the wavelengths the table spans.
fn say_spectrum(spectrum: &Spectrum, scale: f64) -> String {
    let uncertainty = spectrum
        .relative_uncertainty
        .map_or(String::new(), |it| format!(" ± {}", number::percent(it, 2)));
    let points = spectrum.points();
    let Some((from, to)) = spectrum.range_m() else {
        let value = spectrum.at("", 1e-6).unwrap_or(f64::NAN);
        return format!("{}{uncertainty}", number::short(value / scale, 4));
    };
    let (least, most) = points
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), it| {
            (least.min(it.1), most.max(it.1))
        });
    let values = if least == most {
        number::short(least / scale, 3)
    } else {
        format!(
            "{} to {}",
            number::short(least / scale, 3),
            number::short(most / scale, 3)
        )
    };
    format!(
        "{values}{uncertainty}, {:.0} to {:.0} nm",
        from / NM,
        to / NM
    )
}

/// The card as two tables: light and heat.
pub fn tables(material: &Material) -> [Table; 2] {
    [
        Table::of_inputs("Light", &optical_rows(material)),
        Table::of_inputs("Heat", &thermal_rows(material)),
    ]
}

/// All cards as one table.
pub fn overview(cards: &[Material]) -> Table {
    let words =
        |name: &str, of: &dyn Fn(&Material) -> String| Column::words(name, cards.iter().map(of));
    let number = |name: &str, unit: &str, of: &dyn Fn(&Material) -> f64| {
        Column::numbers(name, unit, cards.iter().map(of)).digits(3)
    };
    Table::new(
        "",
        vec![
            words("Name", &|it| it.id.clone()),
            words("Material", &|it| it.name.clone()),
            words("Kind", &|it| kind_word(it.kind).into()),
            number("Flow", "°C", &|it| {
                crate::units::celsius(it.thermal.flow_temperature_k.value).round()
            }),
            words("Light", &|it| {
                let nature = if it.optical.scatters() {
                    "scatters"
                } else {
                    "clear"
                };
                match it.optical.range_m() {
                    Some((from, to)) => format!("{nature} {:.0}–{:.0} nm", from / NM, to / NM),
                    None => nature.into(),
                }
            }),
            words("Damage", &|it| match (&it.damage, &it.decomposition_k) {
                (Some(_), _) => "kinetics".into(),
                (None, Some(_)) => "onset".into(),
                (None, None) => "–".into(),
            }),
            words("Weakest number", &|it| {
                it.provenances()
                    .into_iter()
                    .map(|row| row.2)
                    .max()
                    .map_or(String::new(), |it| it.to_string())
            }),
        ],
    )
}
