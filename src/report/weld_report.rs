//! The report of one weld at its setpoint.

use crate::optics::Absorbed;
use crate::report::answer;
use crate::report::bundle::{Part, Report, named};
use crate::report::melt_figure::{melt_figure, melt_table};
use crate::report::page::{Answer, Tone};
use crate::report::table::{Column, Table};
use crate::report::weld_figures::{depth_figure, time_figure};
use crate::units::{MM, celsius};
use crate::weld::criteria::damage_share;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::Outcome;
use crate::weld::verdict::Verdict;

/// Page, figures and tables of one weld.
pub fn weld_report(
    joint: &Joint,
    outcome: &Outcome,
    settings: &Settings,
    warnings: &[String],
) -> Report {
    let answer = Answer {
        headline: answer::weld_headline(outcome),
        tone: match outcome.verdict {
            Verdict::Sound => Tone::Sound,
            _ => Tone::NotSound,
        },
        text: String::new(),
        facts: answer::weld_facts(joint, outcome),
    };
    Report::of(
        joint,
        settings,
        answer,
        warnings,
        vec![weld_part(joint, outcome)],
    )
}

/// Criteria, light and temperatures of one weld.
pub fn weld_part(joint: &Joint, outcome: &Outcome) -> Part {
    let mut part = Part {
        heading: "The weld".into(),
        text: "Each margin is a share of the temperature rise that its limit allows, and close to \
               the share by which the power may change; a time, a healing or a collapse is compared \
               with its limit directly."
            .into(),
        tables: vec![criteria_table(joint, outcome), light_table(outcome)],
        ..Part::default()
    };
    if let Some(figure) = depth_figure(joint, outcome) {
        part.figures.push(named(
            "temperature-depth",
            figure,
            "Temperature through both parts at several times. The parts fuse where both sides of \
             the interface pass their flow temperature.",
        ));
    }
    if let Some(figure) = time_figure(joint, outcome) {
        part.figures.push(named(
            "temperature-time",
            figure,
            "Temperature of the interface and of the laser-side surface against time.",
        ));
    }
    if let Some(figure) = melt_figure(joint, outcome) {
        let collapse = match outcome.history.melt.collapse_m {
            Some(_) => {
                " Collapse is an estimate from the viscosity at low rates of shear: the melt that \
                 leaves takes its heat with it, which the temperatures do not know."
            }
            None => "",
        };
        part.figures.push(named(
            "melt-depth",
            figure,
            &format!(
                "Depth that flows, counted from the interface into either part, against time. Crystallisation is \
                 left out: parts are taken as solid below their flow temperature.{collapse}"
            ),
        ));
        part.tables_behind
            .extend(melt_table(joint, outcome).map(|it| ("melt-depth".to_string(), it)));
    }
    part.tables_behind.extend(record_tables(outcome));
    part.tables_behind
        .push(("criteria".into(), criteria_table(joint, outcome)));
    part
}

fn criteria_table(joint: &Joint, outcome: &Outcome) -> Table {
    let rows = answer::criteria_rows(joint, outcome);
    let column =
        |name: &str, at: usize| Column::words(name, rows.iter().map(|row| row[at].clone()));
    Table::new(
        "Criteria",
        vec![
            column("Criterion", 0),
            column("Value", 1),
            column("Limit", 2),
            column("Margin", 3),
            column("Source of the limit", 4),
        ],
    )
}

fn light_table(outcome: &Outcome) -> Table {
    let rows = |light: &Absorbed| {
        [
            ("reflected", light.reflected),
            ("absorbed in the upper part", light.absorbed_upper()),
            ("absorbed in the lower part", light.absorbed_lower()),
            ("transmitted through both", light.transmitted),
            ("delivered to the interface", light.delivered_to_interface()),
        ]
    };
    let shares = |name: &str, light: &Absorbed| {
        Column::numbers(name, "%", rows(light).map(|it| 100.0 * it.1))
    };
    let mut columns = vec![Column::words("Light", rows(&outcome.light).map(|it| it.0))];
    if let Some(wetted) = &outcome.wetted_light {
        columns.push(shares("Share over the gap", &outcome.light));
        columns.push(shares(
            &format!("Share {}", answer::wetted_words(outcome)),
            wetted,
        ));
    } else {
        columns.push(shares("Share of the incident light", &outcome.light));
    }
    Table::new(
        format!("Where the light goes (method {})", outcome.method.name()),
        columns,
    )
}

/// The numbers behind the figures.
fn record_tables(outcome: &Outcome) -> Vec<(String, Table)> {
    let Some(record) = &outcome.history.record else {
        return Vec::new();
    };
    let in_c = |all: &[f64]| all.iter().map(|&it| celsius(it)).collect::<Vec<_>>();
    let by_time = Table::new(
        "Temperature against time",
        vec![
            Column::numbers("Time", "s", record.time_s.iter().copied()),
            Column::numbers(
                "Interface, upper side",
                "°C",
                in_c(&record.interface_upper_k),
            ),
            Column::numbers(
                "Interface, lower side",
                "°C",
                in_c(&record.interface_lower_k),
            ),
            Column::numbers("Laser-side surface", "°C", in_c(&record.laser_side_k)),
        ],
    );
    let mut columns = vec![Column::numbers(
        "Depth",
        "mm",
        record.depth_m.iter().map(|&it| it / MM),
    )];
    // Every kept step would make a table nobody opens: about twenty are enough.
    let stride = record.time_s.len().div_ceil(20).max(1);
    for (time, row) in record
        .time_s
        .iter()
        .zip(&record.temperature_k)
        .step_by(stride)
    {
        columns.push(Column::numbers(
            format!("Temperature at {time:.6} s"),
            "°C",
            in_c(row),
        ));
    }
    let by_depth = Table::new("Temperature against depth", columns);
    let history = &outcome.history;
    let energy = Table::new(
        "Energy",
        vec![
            Column::words(
                "Quantity",
                [
                    "absorbed",
                    "stored",
                    "lost through the faces",
                    "damaged share",
                ],
            ),
            Column::numbers(
                "Value",
                "J/m² (share for the last)",
                [
                    history.ledger.absorbed_j_per_m2,
                    history.ledger.stored_j_per_m2,
                    history.ledger.lost_j_per_m2,
                    history.damage_integral.map_or(f64::NAN, damage_share),
                ],
            ),
        ],
    );
    vec![
        ("temperature-time".into(), by_time),
        ("temperature-depth".into(), by_depth),
        ("energy".into(), energy),
    ]
}
