//! The report of ranked grades: a table, the best grade, files that could not be read.

use serde_json::{Value, json};

use crate::error::Error;
use crate::material::compatibility::Compatibility;
use crate::report::answer::{Fact, signed};
use crate::report::bundle::{Part, Report, named};
use crate::report::failures;
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::pair_table;
use crate::report::process;
use crate::report::rank_figure::rank_figure;
use crate::report::table::{Cell, Column, Table};
use crate::study::ranking::Graded;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

/// Grades, the files that failed, and what the pairs of polymers are.
#[derive(Clone, Debug)]
pub struct Ranking {
    /// Pairs that a table speaks against last; among the others those sound at the setpoint of the joint
    /// file first, then the most forgiving.
    pub grades: Vec<(Graded, Compatibility)>,
    /// File and error.
    pub failed: Vec<(String, Error)>,
}

/// The answer in one sentence.
pub fn headline(joint: &Joint, it: &Ranking) -> String {
    let lower = &joint.lower.material.name;
    let open: Vec<&(Graded, Compatibility)> = it
        .grades
        .iter()
        .filter(|it| it.0.drift().is_some())
        .collect();
    let count = it.grades.len();
    let failed = match it.failed.len() {
        0 => String::new(),
        1 => "; 1 file could not be read".into(),
        some => format!("; {some} files could not be read"),
    };
    if count == 0 {
        return format!("no grade is ranked{failed}");
    }
    let sound = open.iter().filter(|it| it.0.is_sound());
    let against = sound.clone().filter(|it| it.1.is_spoken_against()).count();
    match open.first() {
        Some((best, pair)) => format!(
            "on {lower}, {} of {count} grades are sound at the setpoint of the joint file{}, {} at some \
             power; first is {} ({}), ± {} of power{failed}",
            sound.count(),
            match against {
                0 => String::new(),
                some =>
                    format!(" ({some} by light and heat alone: a table speaks against the pair)"),
            },
            open.len(),
            best.name,
            pair_table::say(pair),
            number::percent(best.drift().unwrap_or(0.0), 2)
        ),
        None => format!(
            "on {lower}, none of {count} grades has a sound power {} at this {}{failed}",
            match joint.machine {
                Some(_) => "of this laser",
                None => "among those looked at",
            },
            process::word(joint.motion.lever())
        ),
    }
}

/// One row a grade.
pub fn table(it: &Ranking) -> Table {
    let number = |name: &str, unit: &str, of: &dyn Fn(&Graded) -> Option<f64>| Column {
        cells: it
            .grades
            .iter()
            .map(|row| of(&row.0).map_or(Cell::Missing, Cell::Number))
            .collect(),
        ..Column::numbers(name, unit, []).digits(3)
    };
    let words = |name: &str, of: &dyn Fn(&(Graded, Compatibility)) -> String| {
        Column::words(name, it.grades.iter().map(of))
    };
    Table::new(
        "Grades, those sound at the setpoint first, then the most forgiving",
        vec![
            words("Grade", &|it| it.0.name.clone()),
            number("Drift of power allowed, ±", "%", &|it| {
                Some(100.0 * it.drift()?)
            }),
            words("Verdict", &|it| it.0.outcome.verdict.word().into()),
            number("Margin", "", &|it| Some(it.outcome.governing.margin)).digits(2),
            words("Governing criterion", &|it| {
                it.0.outcome.governing.rule.name().into()
            }),
            number("T in air", "%", &|it| Some(100.0 * it.transmittance)),
            number("Delivered", "%", &|it| {
                Some(100.0 * it.outcome.light.delivered_to_interface())
            }),
            number("Lowest sound power", "W", &|it| it.limits.low.power_w()),
            number("Highest sound power", "W", &|it| it.limits.high.power_w()),
            number("Latitude within the laser", "", &|it| it.latitude),
            words("Pair", &|it| it.1.word().into()),
        ],
    )
}

/// What fits a terminal of usual width.
pub fn short_table(it: &Ranking) -> Table {
    let kept = [0, 1, 2, 3, 4, 5, 10];
    let whole = table(it);
    let mut columns: Vec<Column> = kept
        .iter()
        .filter_map(|&at| whole.columns.get(at).cloned())
        .collect();
    for (column, name) in columns.iter_mut().zip([
        "Grade",
        "Drift ±",
        "Verdict",
        "Margin",
        "Governed by",
        "T in air",
        "Pair",
    ]) {
        column.name = name.into();
    }
    Table::new("", columns)
}

/// Files that could not be read, with their errors.
pub fn failures(it: &Ranking) -> Table {
    failures::table("Not ranked", &it.failed)
}

fn facts(joint: &Joint, it: &Ranking) -> Vec<Fact> {
    let mut facts = vec![
        (
            "lower part".to_string(),
            format!(
                "{}, {}",
                joint.lower.material.name,
                number::length(joint.lower.thickness_m, 3)
            ),
        ),
        (
            "judged at".to_string(),
            format!(
                "{}, {} at {}",
                number::wavelength(joint.wavelength_m),
                number::power(joint.beam.power_w, 3),
                process::say(joint.motion.lever(), joint.motion.setting())
            ),
        ),
    ];
    if let Some((best, _)) = it.grades.first() {
        facts.push((
            format!("{}, at that power", best.name),
            format!(
                "{}, margin {} ({})",
                best.outcome.verdict,
                signed(best.outcome.governing.margin),
                best.outcome.governing.rule.name()
            ),
        ));
    }
    facts
}

/// Page, figure and tables; the inputs listed are those of the best grade.
pub fn rank_report(joint: &Joint, it: &Ranking, warnings: &[String]) -> Report {
    let answer = Answer {
        headline: headline(joint, it),
        tone: if it.grades.iter().any(|it| it.0.drift().is_some()) {
            Tone::Sound
        } else {
            Tone::NotSound
        },
        text:
            "Grades that are sound at the setpoint of the joint file come first, then the others; \
               among either they are ranked by the drift of power they allow, since power can be set \
               anew for each. Pairs that a table speaks against come last. Verdict and margin are \
               those at the power of the joint file."
                .into(),
        facts: facts(joint, it),
    };
    let mut parts = vec![Part {
        heading: "Grades".into(),
        figures: vec![named(
            "grades",
            rank_figure(it),
            "Drift of power allowed, in the order of the table. Filled: sound at the setpoint of the \
             joint file; hollow: sound at other powers only; crossed: at none of this laser.",
        )],
        tables: vec![table(it)],
        tables_behind: vec![("grades".into(), table(it))],
        ..Part::default()
    }];
    if !it.failed.is_empty() {
        parts.push(Part {
            heading: "Files that could not be read".into(),
            tables: vec![failures(it)],
            tables_behind: vec![("not-ranked".into(), failures(it))],
            ..Part::default()
        });
    }
    let shown = it.grades.first().map_or(joint, |it| &it.0.joint);
    Report::of(shown, &Settings::standard(), answer, warnings, parts)
}

/// As JSON.
pub fn json(joint: &Joint, it: &Ranking, warnings: &[String]) -> Value {
    let grades: Vec<Value> = it
        .grades
        .iter()
        .map(|(grade, pair)| {
            let mut row = crate::report::json::limits(&grade.limits);
            let outcome = &grade.outcome;
            row.insert("grade".into(), json!(grade.name));
            row.insert("material".into(), json!(grade.joint.upper.material.name));
            row.insert("verdict".into(), json!(outcome.verdict.word()));
            row.insert("margin".into(), json!(outcome.governing.margin));
            row.insert(
                "governing_criterion".into(),
                json!(outcome.governing.rule.key()),
            );
            row.insert("transmittance_in_air".into(), json!(grade.transmittance));
            row.insert(
                "delivered_to_interface".into(),
                json!(outcome.light.delivered_to_interface()),
            );
            row.insert("latitude_of_machine".into(), json!(grade.latitude));
            row.insert("drift_allowed".into(), json!(grade.drift()));
            row.insert("pair".into(), pair_table::json(pair));
            Value::Object(row)
        })
        .collect();
    json!({
        "question": joint.question.as_ref(),
        "lower_material": joint.lower.material.name,
        "grades": grades,
        "not_ranked": failures::rows(&it.failed),
        "wavelength_m": joint.wavelength_m,
        "power_w": joint.beam.power_w,
        joint.motion.lever().key(): joint.motion.setting(),
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    })
}
