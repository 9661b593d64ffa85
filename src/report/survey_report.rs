//! The report of maps.

use crate::report::answer;
use crate::report::bundle::{Part, Report, named};
use crate::report::page::{Answer, Tone};
use crate::report::process;
use crate::report::survey_figure::{field_heading, heading, shown, survey_figure};
use crate::report::table::{Cell, Column, Table};
use crate::study::survey::{self, Field, Survey};
use crate::units::celsius;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::Outcome;

/// Page, figures and tables of maps of one joint; `outcome` is the joint at its own setpoint.
pub fn survey_report(
    joint: &Joint,
    outcome: &Outcome,
    maps: &[Survey],
    warnings: &[String],
) -> Report {
    let facts = maps
        .iter()
        .map(|map| {
            (
                format!("{} × {}", map.x.word(), map.y.word()),
                answer::survey_headline(map),
            )
        })
        .collect();
    let answer = Answer {
        headline: format!(
            "at its own setpoint the joint is {}",
            answer::weld_headline(outcome)
        ),
        tone: Tone::Open,
        text: String::new(),
        facts,
    };
    let part = Part {
        heading: "Maps".into(),
        text: match maps.first().map(|it| it.field) {
            Some(Field::Latitude) => format!(
                "Latitude is the ratio of the highest to the lowest sound power at the {} of each \
                 cell: 1.5 means that the power may vary by 50 % from the lowest. Hatched cells \
                 have no sound power at all.",
                process::heading(joint.motion.lever()).0.to_lowercase()
            ),
            _ => String::new(),
        },
        figures: maps
            .iter()
            .map(|map| named(&name_of(map), survey_figure(joint, map), &caption(map)))
            .collect(),
        tables: Vec::new(),
        tables_behind: maps.iter().map(|map| (name_of(map), table(map))).collect(),
    };
    Report::of(joint, &Settings::standard(), answer, warnings, vec![part])
}

fn name_of(map: &Survey) -> String {
    format!("{}-{}-{}", map.field.word(), map.x.word(), map.y.word())
}

fn caption(map: &Survey) -> String {
    let lines = if map.x == survey::Axis::Wavelength {
        " Dotted: common laser lines."
    } else {
        ""
    };
    format!("{}.{lines}", field_heading(map.field).0)
}

/// One row a cell.
fn table(map: &Survey) -> Table {
    let cells: Vec<(f64, f64, &Result<survey::Cell, crate::error::Error>)> = map
        .y_values
        .iter()
        .zip(&map.cells)
        .flat_map(|(&y, row)| {
            map.x_values
                .iter()
                .zip(row)
                .map(move |(&x, cell)| (x, y, cell))
        })
        .collect();
    let number = |name: &str, unit: &str, of: &dyn Fn(&survey::Cell) -> Option<f64>| Column {
        cells: cells
            .iter()
            .map(|it| {
                it.2.as_ref()
                    .ok()
                    .and_then(of)
                    .map_or(Cell::Missing, Cell::Number)
            })
            .collect(),
        ..Column::numbers(name, unit, [])
    };
    let (x, y) = (heading(map.x), heading(map.y));
    let (field, unit) = field_heading(map.field);
    let mut columns = vec![
        Column::numbers(x.0, x.1, cells.iter().map(|it| shown(map.x, it.0))),
        Column::numbers(y.0, y.1, cells.iter().map(|it| shown(map.y, it.1))),
        number(field, unit, &|it| match map.field {
            Field::InterfacePeak => it.value.map(celsius),
            _ => it.value,
        }),
    ];
    if map.field == Field::Latitude {
        columns.push(number("Lowest sound power", "W", &|it| {
            it.limits?.low.power_w()
        }));
        columns.push(number("Highest sound power", "W", &|it| {
            it.limits?.high.power_w()
        }));
        if let Some(machine) = map.machine {
            columns.push(number("Latitude within the machine", "", &|it| {
                it.limits?.latitude_within(machine.power_w)
            }));
        }
    } else {
        columns.push(Column::words(
            "Verdict",
            cells.iter().map(|it| {
                it.2.as_ref()
                    .ok()
                    .and_then(|it| it.verdict)
                    .map_or("", |it| it.word())
            }),
        ));
    }
    Table::new(field, columns)
}
