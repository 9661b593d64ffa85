//! Tables of coloured plaques: what they look like, the laser in them, their spread.

use crate::colour::Observer;
use crate::numerics::control_chart::RUN;
use crate::report::number;
use crate::report::table::{Cell, Column, Table};
use crate::study::colour_batches::{Batch, Chart, ColourStudy, ColourWeld};
use crate::study::colours::{Colour, LaserLight};
use crate::study::specification::Characteristic;
use crate::units::{MM, celsius};

/// Name of a characteristic in words, and its unit.
pub fn heading(of: Characteristic) -> (&'static str, &'static str) {
    match of {
        Characteristic::Lightness => ("L*", ""),
        Characteristic::RedGreen => ("a*", ""),
        Characteristic::YellowBlue => ("b*", ""),
        Characteristic::Difference => ("ΔE00", ""),
        Characteristic::Opacity => ("Contrast ratio", "%"),
        Characteristic::Transmittance => ("T", "%"),
        Characteristic::Retained => ("Retained", "%"),
        Characteristic::Extinction => ("Extinction", "1/mm"),
        Characteristic::Latitude => ("Latitude", ""),
    }
}

/// A value of a characteristic in the unit it is shown in.
pub fn shown(of: Characteristic, value: f64) -> f64 {
    match of {
        Characteristic::Opacity | Characteristic::Transmittance | Characteristic::Retained => {
            100.0 * value
        }
        Characteristic::Extinction => value * MM,
        _ => value,
    }
}

/// A value of a characteristic without its unit.
pub fn bare(of: Characteristic, value: f64) -> String {
    match of {
        Characteristic::Lightness
        | Characteristic::RedGreen
        | Characteristic::YellowBlue
        | Characteristic::Difference => decimals(value, 2),
        Characteristic::Opacity => number::significant(shown(of, value), 4),
        _ => number::significant(shown(of, value), 3),
    }
}

/// A value of a characteristic with its unit.
pub fn words(of: Characteristic, value: f64) -> String {
    match heading(of).1 {
        "" => bare(of, value),
        unit => format!("{} {unit}", bare(of, value)),
    }
}

/// A number with so many digits behind the point, as colour values are written.
pub fn decimals(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return number::MISSING.into();
    }
    let text = format!("{value:.digits$}");
    let zero = text
        .trim_start_matches('-')
        .chars()
        .all(|it| "0.".contains(it));
    if zero {
        text.trim_start_matches('-').into()
    } else {
        text.replace('-', "−")
    }
}

/// A column of optional numbers, read with fixed digits behind the point.
fn fixed(name: &str, digits: usize, values: impl Iterator<Item = Option<f64>>) -> Column {
    Column::words(
        name,
        values.map(|it| it.map_or(String::new(), |it| decimals(it, digits))),
    )
}

/// A column of optional numbers.
fn optional(
    name: &str,
    unit: &str,
    digits: usize,
    values: impl Iterator<Item = Option<f64>>,
) -> Column {
    Column {
        cells: values
            .map(|it| it.map_or(Cell::Missing, Cell::Number))
            .collect(),
        ..Column::numbers(name, unit, []).digits(digits)
    }
}

/// L*, a*, b*, C*, h and what goes with them, a row for each batch.
pub fn colour_table(study: &ColourStudy) -> Table {
    let observer = study.observer;
    let batches = &study.batches;
    let lab = |of: fn(crate::colour::Lab) -> f64| {
        batches
            .iter()
            .map(move |it| Some(of(it.colour().to(observer).lab)))
    };
    let mut columns = vec![
        names(batches),
        fixed("L*", 2, lab(|it| it.lightness)),
        fixed("a*", 2, lab(|it| it.a)),
        fixed("b*", 2, lab(|it| it.b)),
        fixed("C*", 2, lab(crate::colour::Lab::chroma)),
        fixed("h (°)", 1, lab(crate::colour::Lab::hue_deg)),
    ];
    if study.standard.is_some() {
        columns.push(fixed("ΔE00", 2, batches.iter().map(|it| it.difference)));
    }
    if batches.iter().any(|it| it.opacity.is_some()) {
        columns.push(optional(
            "Contrast ratio",
            "%",
            4,
            batches.iter().map(|it| it.opacity.map(|it| 100.0 * it)),
        ));
    }
    if !study.specification.is_empty() {
        columns.push(Column::words("Outside", broken(study)));
    }
    Table::new(
        format!("Colour: {}, D65, {}", study.seen.words(), observer.name()),
        columns,
    )
}

fn names(batches: &[Batch]) -> Column {
    Column::words("Batch", batches.iter().map(|it| it.sample.name.as_str()))
}

/// Limits that each batch breaks, and those nobody can judge, in words.
fn broken(study: &ColourStudy) -> Vec<String> {
    study
        .batches
        .iter()
        .map(|it| {
            let broken = it.broken(&study.specification, study.observer);
            let unknown = it.unjudged(&study.specification, study.observer);
            let words: Vec<String> = broken
                .iter()
                .map(|it| it.key().to_string())
                .chain(unknown.iter().map(|it| format!("{} not known", it.key())))
                .collect();
            words.join(", ")
        })
        .collect()
}

/// The laser in the parts and, with a joint, their welds; none where nothing was measured.
pub fn laser_table(study: &ColourStudy) -> Option<Table> {
    let batches = &study.batches;
    let light = |of: &dyn Fn(&LaserLight) -> Option<f64>| -> Vec<Option<f64>> {
        batches
            .iter()
            .map(|it| it.light.as_ref().and_then(of))
            .collect()
    };
    let thickness_m = batches
        .iter()
        .find_map(|it| Some(it.light.as_ref()?.part_thickness_m))?;
    let mut columns = vec![
        names(batches),
        optional(
            "T",
            "%",
            3,
            light(&|it| Some(100.0 * it.transmittance()?.value)).into_iter(),
        ),
    ];
    if study.natural_transmittance.is_some() {
        columns.push(optional(
            "Retained",
            "%",
            3,
            batches.iter().map(|it| it.retained.map(|it| 100.0 * it)),
        ));
    }
    columns.push(optional(
        "Extinction",
        "1/mm",
        3,
        light(&|it| Some(it.extinction_per_m * MM)).into_iter(),
    ));
    let welded = batches.iter().any(|it| it.weld.is_some());
    if welded {
        let weld = |of: &dyn Fn(&ColourWeld) -> Option<f64>| -> Vec<Option<f64>> {
            batches
                .iter()
                .map(|it| it.weld.as_ref().and_then(of))
                .collect()
        };
        columns.extend([
            optional(
                "Heat",
                "W",
                3,
                weld(&|it| Some(it.absorbed_upper_w())).into_iter(),
            ),
            optional(
                "Surface",
                "°C",
                3,
                weld(&|it| Some(celsius(it.surface()?.value))).into_iter(),
            ),
            optional(
                "Margin",
                "",
                2,
                weld(&|it| Some(it.surface()?.margin)).into_iter(),
            ),
            Column::words(
                "Weld",
                batches.iter().map(|it| {
                    let weld = it.weld.as_ref();
                    weld.map_or("", |it| it.outcome.verdict.word())
                }),
            ),
            optional(
                "Latitude",
                "",
                3,
                weld(&|it| it.limits.latitude()).into_iter(),
            ),
        ]);
    }
    Some(Table::new(
        format!(
            "Laser: {}, part of {}{}",
            number::wavelength(study.line_m),
            number::length(thickness_m, 3),
            if welded {
                "; heat in it, and the margin of its surface"
            } else {
                ""
            }
        ),
        columns,
    ))
}

/// Lower control limit, not below zero for what cannot be.
pub fn least_possible(chart: &Chart) -> f64 {
    match chart.characteristic {
        Characteristic::RedGreen | Characteristic::YellowBlue => chart.chart.lower,
        _ => chart.chart.lower.max(0.0),
    }
}

/// Control limits and capability; none for a single batch.
pub fn charts_table(study: &ColourStudy) -> Option<Table> {
    let charts = &study.charts;
    if charts.is_empty() {
        return None;
    }
    let of = |it: &Chart, value: f64| bare(it.characteristic, value);
    let column = |name: &str, say: &dyn Fn(&Chart) -> String| {
        Column::words(name, charts.iter().map(say).collect::<Vec<_>>())
    };
    let signals = |it: &Chart| {
        let name = |i: &usize| study.batches[*i].sample.name.clone();
        let outside: Vec<String> = it.chart.outside.iter().map(name).collect();
        let run = it.chart.shifted.last().map(|&last| {
            let side = if it.chart.mean < it.chart.values[last] {
                "above"
            } else {
                "below"
            };
            format!(
                "{RUN} or more in a row {side} the mean, the last of them {}",
                name(&last)
            )
        });
        let outside = (!outside.is_empty()).then(|| outside.join(", "));
        let both: Vec<String> = outside.into_iter().chain(run).collect();
        both.join("; ")
    };
    let mut columns = vec![
        column("Characteristic", &|it| {
            let (name, unit) = heading(it.characteristic);
            match unit {
                "" => name.into(),
                unit => format!("{name} ({unit})"),
            }
        }),
        column("Mean", &|it| of(it, it.chart.mean)),
        column("Control limits", &|it| {
            format!(
                "{} to {}",
                of(it, least_possible(it)),
                of(it, it.chart.upper)
            )
        }),
        column("Signals", &signals),
    ];
    if !study.specification.is_empty() {
        columns.push(column("Specification", &|it| {
            let least = it.limits.least.map(|value| format!("≥ {}", of(it, value)));
            let most = it.limits.most.map(|value| format!("≤ {}", of(it, value)));
            let both: Vec<String> = [least, most].into_iter().flatten().collect();
            both.join(", ")
        }));
        columns.push(column("Ppk, 95 % interval", &|it| {
            it.capability.map_or(String::new(), |it| {
                format!(
                    "{} ({} to {})",
                    decimals(it.ppk, 2),
                    decimals(it.interval.0, 2),
                    decimals(it.interval.1, 2)
                )
            })
        }));
    }
    Some(Table::new("Spread of the batches", columns))
}

/// X, Y, Z and L*a*b* of every colour of a batch for both observers.
pub fn appearance_table(colours: &[Colour]) -> Table {
    let mut rows: Vec<(String, [f64; 8])> = Vec::new();
    for colour in colours {
        for observer in Observer::ALL {
            let it = colour.to(observer);
            rows.push((
                format!("{}, {}", colour.seen.words(), observer.name()),
                [
                    it.tristimulus.x,
                    it.tristimulus.y,
                    it.tristimulus.z,
                    it.lab.lightness,
                    it.lab.a,
                    it.lab.b,
                    it.lab.chroma(),
                    it.lab.hue_deg(),
                ],
            ));
        }
    }
    let mut columns = vec![Column::words("D65", rows.iter().map(|it| it.0.as_str()))];
    for (i, name) in ["X", "Y", "Z", "L*", "a*", "b*", "C*", "h (°)"]
        .into_iter()
        .enumerate()
    {
        let digits = if i == 7 { 1 } else { 2 };
        columns.push(fixed(name, digits, rows.iter().map(|it| Some(it.1[i]))));
    }
    Table::new("Tristimulus values and CIE 1976 L*a*b*", columns)
}

/// Everything of every batch in full precision, for a spreadsheet.
pub fn batches_table(study: &ColourStudy) -> Table {
    let batches = &study.batches;
    let mut columns = vec![
        names(batches),
        Column::words("File", batches.iter().map(|it| it.sample.file.as_str())),
    ];
    for (name, of) in [
        (
            "X",
            (|it| it.tristimulus.x) as fn(crate::study::colours::Appearance) -> f64,
        ),
        ("Y", |it| it.tristimulus.y),
        ("Z", |it| it.tristimulus.z),
        ("C*", |it| it.lab.chroma()),
        ("h", |it| it.lab.hue_deg()),
    ] {
        let unit = if name == "h" { "°" } else { "" };
        columns.push(Column::numbers(
            name,
            unit,
            batches.iter().map(|it| of(it.colour().to(study.observer))),
        ));
    }
    for of in Characteristic::ALL {
        let values: Vec<Option<f64>> = batches
            .iter()
            .map(|it| it.value(of, study.observer).map(|it| shown(of, it)))
            .collect();
        if values.iter().any(Option::is_some) {
            let (name, unit) = heading(of);
            columns.push(optional(name, unit, 4, values.into_iter()));
        }
    }
    if let Some(laser) = laser_table(study) {
        let more = ["Heat", "Surface", "Margin", "Weld"];
        columns.extend(
            laser
                .columns
                .into_iter()
                .filter(|it| more.contains(&it.name.as_str())),
        );
    }
    if !study.specification.is_empty() {
        columns.push(Column::words("Outside", broken(study)));
    }
    Table::new("Batches", columns)
}
