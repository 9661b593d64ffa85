//! What the program was checked against, as tables, figure and page.

use serde_json::{Value, json as object};

use crate::report::bundle::Report;
use crate::report::figure::{
    Axis, Dash, Figure, Label, Mark, Marker, Place, Points, Rule as Straight, Stroke, Tick,
};
use crate::report::page::{Answer, Illustration, Page, Section, Tone};
use crate::report::palette::Role;
use crate::report::table::{Column, Table};
use crate::study::validation::{Check, Finding, Stage, Validation};

/// The least share of a limit that the figure tells apart.
const LEAST_SHARE: f64 = 1e-6;

/// The outcome in one sentence.
pub fn headline(it: &Validation) -> String {
    let (all, values) = (
        it.checks.len(),
        it.checks.iter().map(|it| it.values).sum::<usize>(),
    );
    let broken: Vec<&str> = it
        .checks
        .iter()
        .filter(|it| !it.holds())
        .map(|it| it.what)
        .collect();
    if broken.is_empty() {
        format!(
            "this build computes what it should: {values} values in {all} checks, each within its \
             limit; {} disagreements are left standing",
            it.findings.len()
        )
    } else {
        format!(
            "{} of {all} checks beyond the limit: {}",
            broken.len(),
            broken.join("; ")
        )
    }
}

/// Deviations and limits of one stage, or of all.
pub fn checks_table(it: &Validation, stage: Option<Stage>) -> Table {
    let rows: Vec<&Check> = it
        .checks
        .iter()
        .filter(|it| stage.is_none_or(|stage| it.stage == stage))
        .collect();
    let words = |name: &str, of: &dyn Fn(&Check) -> String| {
        Column::words(name, rows.iter().map(|it| of(it)))
    };
    let mut columns = Vec::new();
    if stage.is_none() {
        columns.push(words("Stage", &|it| it.stage.name().into()));
    }
    columns.extend([
        words("Compared", &|it| it.what.into()),
        words("Against", &|it| it.kind.words().into()),
        words("Values", &|it| it.values.to_string()),
        Column::numbers("Deviation", "", rows.iter().map(|it| it.deviation)).digits(2),
        Column::numbers("Limit", "", rows.iter().map(|it| it.limit)).digits(2),
        words("Unit", &|it| it.unit.into()),
        words("Holds", &|it| if it.holds() { "yes" } else { "NO" }.into()),
    ]);
    if stage.is_some() {
        columns.push(words("Source", &|it| it.source.into()));
    }
    let title = stage.map_or(String::new(), |it| it.name().to_string());
    Table::new(title, columns)
}

/// Disagreements that stand.
pub fn findings_table(it: &Validation) -> Table {
    let column =
        |name: &str, of: fn(&Finding) -> &str| Column::words(name, it.findings.iter().map(of));
    Table::new(
        "",
        vec![
            column("In question", |it| it.what),
            column("Others", |it| it.theirs),
            column("Here", |it| &it.ours),
            column("What to make of it", |it| it.remark),
        ],
    )
}

/// Deviation of every check as a share of its limit, by stage.
pub fn shares_figure(it: &Validation) -> Figure {
    let all = it.checks.len();
    let row = |i: usize| (all - i) as f64;
    let mut figure = Figure::new(
        "How far from the limit",
        Axis::log("Deviation as a share of its limit", "").over(LEAST_SHARE, 4.0),
        Axis::linear("", "").over(0.4, all as f64 + 0.6),
    );
    figure.y.ticks = Some(
        (0..all)
            .map(|i| Tick {
                at: row(i),
                label: it.checks[i].what.to_string(),
            })
            .collect(),
    );
    figure.size = [740.0, 110.0 + 19.0 * all as f64];
    const MARKERS: [Marker; 5] = [
        Marker::Disc,
        Marker::Triangle,
        Marker::Diamond,
        Marker::Square,
        Marker::Saltire,
    ];
    for (number, stage) in Stage::ALL.into_iter().enumerate() {
        let points: Vec<[f64; 2]> = (0..all)
            .filter(|i| it.checks[*i].stage == stage)
            .map(|i| [it.checks[i].share().max(LEAST_SHARE * 1.5), row(i)])
            .collect();
        if points.is_empty() {
            continue;
        }
        figure.marks.push(Mark::Points(Points {
            points,
            errors: Vec::new(),
            label: Label::at(Place::Legend, stage.name()),
            marker: MARKERS[number % MARKERS.len()],
            role: Role::Series(number),
            radius_px: 4.5,
        }));
    }
    figure.marks.push(Mark::VLine(Straight {
        at: 1.0,
        label: Label::new("limit"),
        stroke: Stroke::fine(Role::Ink, Dash::Solid),
    }));
    figure.note = "Checks at the left edge deviate by a millionth of their limit or less.".into();
    figure
}

/// Page, figure and tables.
pub fn validation_report(it: &Validation, seed: u64) -> Report {
    let figure = shares_figure(it);
    let mut sections = vec![Section {
        heading: "Deviations and limits".into(),
        text:
            "Every number is computed when this page is built. Each authority is named; what was \
               recalled and not read says so."
                .into(),
        figures: vec![Illustration {
            figure: figure.clone(),
            caption: "Largest deviation of each check over the largest allowed.".into(),
        }],
        tables: Stage::ALL
            .into_iter()
            .map(|stage| checks_table(it, Some(stage)))
            .filter(|it| 0 < it.rows())
            .collect(),
    }];
    sections.push(Section {
        heading: "Disagreements left standing".into(),
        text:
            "Where others and this program differ and neither is shown wrong, or where the method \
               is known to be coarse."
                .into(),
        tables: vec![findings_table(it)],
        ..Section::default()
    });
    let answer = Answer {
        headline: headline(it),
        tone: if it.holds() {
            Tone::Sound
        } else {
            Tone::NotSound
        },
        text: String::new(),
        facts: Vec::new(),
    };
    Report {
        page: Page {
            title: "Validation of lightseam".into(),
            question: "Does this build compute what it should?".into(),
            answer,
            warnings: Vec::new(),
            sections,
            cautions: Vec::new(),
            colophon: vec![
                ("lightseam".into(), env!("CARGO_PKG_VERSION").into()),
                ("seed of the photons".into(), seed.to_string()),
            ],
        },
        figures: vec![("deviations".into(), figure)],
        tables: vec![
            ("checks".into(), checks_table(it, None)),
            ("disagreements".into(), findings_table(it)),
        ],
    }
}

/// All checks and findings as JSON.
pub fn json(it: &Validation) -> Value {
    object!({
        "holds": it.holds(),
        "checks": it.checks.iter().map(|it| object!({
            "stage": it.stage.name(),
            "compared": it.what,
            "against": it.kind.words(),
            "source": it.source,
            "values": it.values,
            "deviation": it.deviation,
            "limit": it.limit,
            "unit": it.unit,
            "holds": it.holds(),
        })).collect::<Vec<_>>(),
        "disagreements": it.findings.iter().map(|it| object!({
            "stage": it.stage.name(),
            "in_question": it.what,
            "others": it.theirs,
            "here": it.ours,
            "remark": it.remark,
        })).collect::<Vec<_>>(),
        "version": env!("CARGO_PKG_VERSION"),
    })
}

/// Checks stage by stage, then disagreements, for a terminal `width` characters wide.
pub fn text(it: &Validation, width: Option<u16>) -> String {
    let mut text = headline(it);
    for stage in Stage::ALL {
        let mut table = checks_table(it, Some(stage));
        // Sources are long; they stand in the page, the table and the JSON.
        table.columns.pop();
        if 0 < table.rows() {
            text.push_str(&format!("\n\n{}\n{}", stage.name(), table.terminal(width)));
        }
    }
    text.push_str("\n\ndisagreements left standing\n");
    for it in &it.findings {
        text.push_str(&format!(
            "\n{}\n  others: {}\n  here:   {}\n  {}\n",
            it.what, it.theirs, it.ours, it.remark
        ));
    }
    text
}
