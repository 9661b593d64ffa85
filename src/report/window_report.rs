//! The report of a window: figure, recommended setpoint, and the weld at that setpoint.

use crate::report::answer;
use crate::report::bundle::{Part, Report, named};
use crate::report::page::{Answer, Tone};
use crate::report::process::{self, PowerScale};
use crate::report::table::{Cell, Column, Table};
use crate::report::weld_report::weld_part;
use crate::report::window_figure::window_figure;
use crate::study::band::Band;
use crate::study::window::{SettingLine, Window};
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::Outcome;

/// A window and the weld at its recommended setpoint.
#[derive(Clone, Debug)]
pub struct WindowResult {
    /// The traced window.
    pub window: Window,
    /// How far its boundaries are uncertain.
    pub band: Band,
    /// The joint at the recommended setpoint, or as stated where there is none.
    pub best: Joint,
    /// What becomes of it.
    pub outcome: Outcome,
}

/// Page, figures and tables of a window.
pub fn window_report(joint: &Joint, result: &WindowResult, warnings: &[String]) -> Report {
    let WindowResult {
        window,
        band,
        best,
        outcome,
    } = result;
    let answer = Answer {
        headline: answer::window_headline(window),
        tone: if window.setpoint.is_some() {
            Tone::Sound
        } else {
            Tone::NotSound
        },
        text: String::new(),
        facts: answer::window_facts(joint, window, Some(band)),
    };
    let windows = window_part(joint, result);
    let mut weld = weld_part(best, outcome);
    weld.heading = match window.setpoint {
        Some(_) => "The weld at the recommended setpoint".into(),
        None => "The weld at the setpoint of the joint file".into(),
    };
    // What the files state, which is not the setpoint found.
    Report::of(
        joint,
        &Settings::standard(),
        answer,
        warnings,
        vec![windows, weld],
    )
}

/// The window with its boundaries, and what makes them uncertain.
pub fn window_part(joint: &Joint, result: &WindowResult) -> Part {
    let WindowResult { window, band, .. } = result;
    let (heading, _) = process::heading(window.lever);
    let scale = PowerScale::of_window(window);
    let what = heading.to_lowercase();
    Part {
        heading: "The window".into(),
        text: format!(
            "Between the boundaries every criterion is met. The box is the largest in which power \
             and {what} may both drift by the same ratio; its centre is the recommended setpoint. \
             Hatched: one standard deviation either side of a boundary, from the uncertainties \
             named above."
        ),
        figures: vec![named(
            "window",
            window_figure(joint, window, Some(band)),
            &format!(
                "{} against {what}. Faint lines: constant {}.",
                scale
                    .label
                    .replace(" at the part", "")
                    .replace("Laser power", "Power"),
                process::energy_guides(joint, (1.0, 1.0), (1.0, 1.0)).words
            ),
        )],
        tables: band_table(band),
        tables_behind: vec![("window".into(), window_table(window))],
    }
}

fn band_table(band: &Band) -> Vec<Table> {
    if band.inputs.is_empty() {
        return Vec::new();
    }
    vec![Table::new(
        "What makes the boundary uncertain",
        vec![
            Column::words("Input", band.inputs.iter().map(|it| it.input.words())),
            Column::numbers(
                "One standard deviation",
                "%",
                band.inputs.iter().map(|it| 100.0 * it.relative),
            )
            .digits(2),
            Column::numbers(
                "Share of the variance of the lower boundary",
                "%",
                band.low_share.iter().map(|it| 100.0 * it),
            )
            .digits(2),
            Column::words("Source", band.inputs.iter().map(|it| it.source)),
        ],
    )]
}

fn window_table(window: &Window) -> Table {
    let number = |of: fn(&SettingLine) -> Option<f64>| -> Vec<Cell> {
        window
            .lines
            .iter()
            .map(|line| of(line).map_or(Cell::Missing, Cell::Number))
            .collect()
    };
    let rule = |of: fn(&SettingLine) -> Option<Rule>| {
        window
            .lines
            .iter()
            .map(move |line| of(line).map_or("", Rule::name))
    };
    let column = |name: &str, unit: &str, cells: Vec<Cell>| Column {
        cells,
        ..Column::numbers(name, unit, [])
    };
    let (heading, unit) = process::heading(window.lever);
    Table::new(
        "Boundaries of the window",
        vec![
            Column::numbers(
                heading,
                unit,
                window
                    .lines
                    .iter()
                    .map(|it| process::shown(window.lever, it.setting)),
            ),
            column(
                "Lowest sound power",
                "W",
                number(|it| it.limits.low.power_w()),
            ),
            Column::words("Set by", rule(|it| it.limits.low.rule())),
            column(
                "Highest sound power",
                "W",
                number(|it| it.limits.high.power_w()),
            ),
            Column::words("Set by (upper)", rule(|it| it.limits.high.rule())),
            column("Latitude", "", number(|it| it.limits.latitude())),
        ],
    )
}
