//! Two joints side by side: answers, windows, and the inputs that differ.

use serde_json::{Value, json as object};

use crate::report::answer::{self, Fact};
use crate::report::bundle::{Part, Report, named};
use crate::report::cautions::{self, Caution};
use crate::report::inputs;
use crate::report::joint_comparison_figures::{heat_figure, window_figures};
use crate::report::joint_report::{JointResult, joint_json, joint_report};
use crate::report::number;
use crate::report::page::{Answer, Illustration, Page, Section, Tone};
use crate::report::page_json;
use crate::report::process::{self, PowerScale};
use crate::report::table::{Cell, Column, InputRow, Table};
use crate::study::window::Window;
use crate::weld::light::SEED;
use crate::weld::setpoint::Lever;
use crate::weld::{Joint, Settings};

/// Letters that stand for the two joints.
pub const LETTERS: [&str; 2] = ["A", "B"];

/// Tolerances this near are called about the same: boundaries are rarely known to a fiftieth.
const ABOUT: f64 = 0.02;

/// Settings at which the two windows are compared.
const SETTINGS: usize = 6;

/// Page, figures and tables of two joints; `names` say which is which, such as their files.
pub fn comparison_report(both: [&JointResult; 2], names: [&str; 2], settings: &Settings) -> Report {
    let (table, same) = different_inputs(both.map(|it| &it.joint));
    let levers = levers(both);
    let mut parts = vec![
        Part {
            heading: "Side by side".into(),
            tables: vec![
                answers_table("At the setpoint of each joint file", both.map(weld_facts)),
                answers_table(
                    &format!("Over {}", process::power_and_both(levers, LETTERS)),
                    both.map(window_facts),
                ),
            ],
            ..Part::default()
        },
        Part {
            heading: "The two windows".into(),
            text: if levers[0] == levers[1] {
                "On shared axes. A solid with hatches that rise, B dashed with hatches that fall; \
                 each cross is the recommended setpoint of one joint."
                    .into()
            } else {
                format!(
                    "Each on its own axes, since beside the power {} are set in A and {} in B.",
                    process::plural(levers[0]),
                    process::plural(levers[1])
                )
            },
            figures: window_figures(both, names),
            tables: latitudes(both).into_iter().collect(),
            ..Part::default()
        },
    ];
    if let Some(figure) = heat_figure(both, names) {
        parts.push(Part {
            heading: "The two welds".into(),
            figures: vec![named(
                "interface-time",
                figure,
                "Temperature of the interface against time, each joint at the setpoint of its file.",
            )],
            ..Part::default()
        });
    }
    parts.push(Part {
        heading: "What differs".into(),
        text: if table.rows() == 0 {
            format!("Nothing: all {same} inputs are the same.")
        } else {
            format!("The rest is the same: {same} inputs.")
        },
        tables: if table.rows() == 0 {
            Vec::new()
        } else {
            vec![table.clone()]
        },
        tables_behind: vec![
            ("inputs-that-differ".into(), table),
            ("side-by-side".into(), answers_table("", both.map(facts))),
        ],
        ..Part::default()
    });
    bundled(both, names, settings, parts)
}

/// What is set beside the power in each.
fn levers(both: [&JointResult; 2]) -> [Lever; 2] {
    both.map(|it| it.window.window.lever)
}

fn bundled(
    both: [&JointResult; 2],
    names: [&str; 2],
    settings: &Settings,
    parts: Vec<Part>,
) -> Report {
    let mut report = Report {
        page: Page {
            title: format!("A: {}; B: {}", names[0], names[1]),
            question: question(both),
            answer: answer_of(both, names),
            warnings: warnings(both),
            sections: Vec::new(),
            cautions: shared_cautions(both),
            colophon: vec![("lightseam".into(), env!("CARGO_PKG_VERSION").into())],
        },
        figures: Vec::new(),
        tables: Vec::new(),
    };
    report.page.colophon.extend(inputs::setting_rows(settings));
    for part in parts {
        let shown: Vec<Illustration> = part.figures.iter().map(|it| it.1.clone()).collect();
        let files = part.figures.into_iter();
        report.figures.extend(files.map(|it| (it.0, it.1.figure)));
        report.tables.extend(part.tables_behind);
        report.page.sections.push(Section {
            heading: part.heading,
            text: part.text,
            figures: shown,
            tables: part.tables,
        });
    }
    report
}

fn question([a, b]: [&JointResult; 2]) -> String {
    if a.joint.question == b.joint.question {
        format!("Which of two joints welds better? {}", a.joint.question)
    } else {
        format!(
            "Which of two joints welds better? A: {} B: {}",
            a.joint.question, b.joint.question
        )
    }
}

/// Which joint tolerates more, in one sentence.
pub fn headline(both: [&JointResult; 2]) -> String {
    let tolerance = both.map(|it| it.window.window.setpoint.map(|it| it.tolerance()));
    let levers = levers(both);
    let words = levers.map(process::power_and);
    let alike = levers[0] == levers[1];
    // Where both are set by the same things these are named once.
    let drift = if alike {
        format!("{} may both drift", words[0])
    } else {
        format!("{} in A, {} in B, may both drift", words[0], words[1])
    };
    match tolerance {
        [Some(a), Some(b)] => {
            let say = |it: f64| number::percent(it, 2);
            if say(a) == say(b) {
                return format!(
                    "A and B tolerate the same: {drift} by {} either way",
                    say(a)
                );
            }
            if (a - b).abs() < ABOUT {
                return format!(
                    "A and B tolerate about the same: {drift} by {} and {} either way",
                    say(a),
                    say(b)
                );
            }
            let (first, most, least) = if b < a { (0, a, b) } else { (1, b, a) };
            format!(
                "{} tolerates more: {} may both drift by {} either way, against {}{}",
                LETTERS[first],
                words[first],
                say(most),
                say(least),
                if alike {
                    String::new()
                } else {
                    format!(" for {} of {}", words[1 - first], LETTERS[1 - first])
                }
            )
        }
        [Some(_), None] => "only A welds within what the machine can deliver".into(),
        [None, Some(_)] => "only B welds within what the machine can deliver".into(),
        [None, None] => "neither A nor B welds within what the machine can deliver".into(),
    }
}

fn answer_of(both: [&JointResult; 2], names: [&str; 2]) -> Answer {
    let line = |i: usize| {
        let it = both[i];
        format!(
            "{} ({}): at {}, {}; over {}, {}.",
            LETTERS[i],
            names[i],
            it.setpoint_words(),
            answer::weld_headline(&it.outcome),
            process::power_and(it.window.window.lever),
            answer::window_headline(&it.window.window)
        )
    };
    Answer {
        headline: headline(both),
        tone: match both.map(JointResult::is_open) {
            [true, true] => Tone::Sound,
            [false, false] => Tone::NotSound,
            _ => Tone::Open,
        },
        text: format!("{}\n\n{}", line(0), line(1)),
        facts: Vec::new(),
    }
}

/// Facts of both, the rows of A first, a dash where one has none.
fn answers_table(title: &str, [a, b]: [Vec<Fact>; 2]) -> Table {
    let mut names: Vec<&String> = a.iter().map(|it| &it.0).collect();
    for (name, _) in &b {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let column = |letter: &str, facts: &[Fact]| {
        Column::words(
            letter,
            names.iter().map(|name| {
                let found = facts.iter().find(|it| it.0 == **name);
                found.map_or(number::MISSING.to_string(), |it| it.1.clone())
            }),
        )
    };
    Table::new(
        title,
        vec![
            Column::words("Answer", names.iter().map(|it| it.as_str())),
            column(LETTERS[0], &a),
            column(LETTERS[1], &b),
        ],
    )
}

fn facts(it: &JointResult) -> Vec<Fact> {
    let mut all = weld_facts(it);
    all.extend(window_facts(it));
    all
}

fn fact(name: &str, value: String) -> Fact {
    (name.to_string(), value)
}

/// The weld at the setpoint of its file.
fn weld_facts(it: &JointResult) -> Vec<Fact> {
    let governing = &it.outcome.governing;
    let mut all = vec![
        fact("setpoint of the joint file", it.setpoint_words()),
        fact("verdict there", it.outcome.verdict.to_string()),
        fact("governing criterion", governing.rule.name().to_string()),
        fact("margin", answer::signed(governing.margin)),
    ];
    all.extend(answer::weld_facts(&it.joint, &it.outcome));
    all
}

/// Its window.
fn window_facts(it: &JointResult) -> Vec<Fact> {
    let window = &it.window.window;
    let setpoint = window.setpoint.as_ref();
    let mut all = vec![fact(
        "recommended setpoint",
        setpoint.map_or("none".into(), |it| {
            format!(
                "{} at {}",
                PowerScale::of_window(window).say(it.power_w, 3),
                process::say(window.lever, it.setting)
            )
        }),
    )];
    all.push(fact(
        "power and setting may both drift by",
        setpoint.map_or(number::MISSING.into(), |it| {
            format!("{} either way", number::percent(it.tolerance(), 2))
        }),
    ));
    for (name, value) in answer::window_facts(&it.joint, window, Some(&it.window.band)) {
        // The speed in the name would part the rows of A and B.
        match name.strip_prefix("sound powers at ") {
            Some(speed) => all.push(fact(
                "sound powers at the recommended setting",
                format!("{value} at {speed}"),
            )),
            None => all.push((name, value)),
        }
    }
    all
}

/// Sound powers and latitude of both at the same settings; none where no setting is common.
fn latitudes(both: [&JointResult; 2]) -> Option<Table> {
    let lever = both[0].window.window.lever;
    if lever != both[1].window.window.lever {
        return None;
    }
    let ranges = both.map(|it| it.window.window.setting);
    let (from, to) = (ranges[0].0.max(ranges[1].0), ranges[0].1.min(ranges[1].1));
    if !(0.0 < from && from < to) {
        return None;
    }
    let settings: Vec<f64> = (0..SETTINGS)
        .map(|i| from * (to / from).powf(i as f64 / (SETTINGS - 1) as f64))
        .collect();
    let limits = |window: &Window| -> Vec<Option<(f64, f64)>> {
        settings.iter().map(|it| window.limits_at(*it)).collect()
    };
    let (heading, unit) = process::heading(lever);
    let mut columns = vec![
        Column::numbers(
            heading,
            unit,
            settings.iter().map(|it| process::shown(lever, *it)),
        )
        .digits(3),
    ];
    for (letter, it) in LETTERS.iter().zip(both) {
        let found = limits(&it.window.window);
        let column = |name: &str, unit: &str, of: &dyn Fn((f64, f64)) -> f64| Column {
            cells: found
                .iter()
                .map(|it| it.map_or(Cell::Missing, |it| Cell::Number(of(it))))
                .collect(),
            digits: 3,
            ..Column::numbers(format!("{letter}: {name}"), unit, [])
        };
        let scale = PowerScale::of_window(&it.window.window);
        let power = |it: f64| it * scale.per_w;
        columns.push(column("lowest", scale.unit, &|it| power(it.0)));
        columns.push(column("highest", scale.unit, &|it| power(it.1)));
        columns.push(column("latitude", "", &|it| it.1 / it.0));
    }
    Some(Table::new("Sound powers at the same settings", columns))
}

/// Every input as rows, its part before its name.
fn input_rows(joint: &Joint) -> Vec<InputRow> {
    let mut rows = inputs::joint_rows(joint);
    for (name, part) in [("upper part", &joint.upper), ("lower part", &joint.lower)] {
        let mut own = vec![InputRow {
            quantity: "material".into(),
            value: part.material.name.clone(),
            unit: String::new(),
            source: "joint file".into(),
            status: "stated".into(),
        }];
        own.extend(inputs::optical_rows(joint, part).into_iter().map(valued));
        own.extend(inputs::thermal_rows(&part.material));
        for row in &mut own {
            row.quantity = format!("{name}: {}", lower_first(&row.quantity));
        }
        rows.extend(own);
    }
    if let Some(clamp) = &joint.clamp {
        let mut own = inputs::thermal_rows(&clamp.material);
        for row in &mut own {
            row.quantity = format!("clamp plate: {}", lower_first(&row.quantity));
        }
        rows.extend(own);
    }
    rows
}

/// An absorber or moisture whose content stands in its name has it with its value: names are what
/// two joints are compared by.
fn valued(mut row: InputRow) -> InputRow {
    let contained = ["Absorber: ", "Moisture: "]
        .iter()
        .any(|it| row.quantity.starts_with(it));
    if contained && let Some((name, content)) = row.quantity.rsplit_once(", ") {
        row.value = format!("{content}, {}", row.value);
        row.quantity = name.to_string();
    }
    row
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Inputs that differ in value or source, and how many are the same.
fn different_inputs(joints: [&Joint; 2]) -> (Table, usize) {
    let [a, b] = joints.map(input_rows);
    let mut rows: Vec<[String; 5]> = Vec::new();
    let mut same = 0;
    let value = |it: &InputRow| format!("{} {}", it.value, it.unit).trim_end().to_string();
    let source = |it: &InputRow| format!("{} ({})", it.source, it.status);
    for one in &a {
        match b.iter().find(|it| it.quantity == one.quantity) {
            Some(other) if other == one => same += 1,
            Some(other) => rows.push([
                one.quantity.clone(),
                value(one),
                value(other),
                source(one),
                source(other),
            ]),
            None => rows.push([
                one.quantity.clone(),
                value(one),
                String::new(),
                source(one),
                String::new(),
            ]),
        }
    }
    for other in &b {
        if a.iter().all(|it| it.quantity != other.quantity) {
            rows.push([
                other.quantity.clone(),
                String::new(),
                value(other),
                String::new(),
                source(other),
            ]);
        }
    }
    for row in &mut rows {
        if row[3] == row[4] {
            row[4] = "the same".into();
        }
    }
    let column = |name: &str, at: usize| Column::words(name, rows.iter().map(|it| it[at].as_str()));
    let table = Table::new(
        "Inputs that differ",
        vec![
            column("Input", 0),
            column("A", 1),
            column("B", 2),
            column("Source of A", 3),
            column("Source of B", 4),
        ],
    );
    (table, same)
}

/// What weakens the answers, each cause once.
fn warnings([a, b]: [&JointResult; 2]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for warning in &a.remarks {
        let letters = if b.remarks.contains(warning) {
            "A and B"
        } else {
            "A"
        };
        all.push(format!("{letters}: {warning}"));
    }
    let only_b = b.remarks.iter().filter(|it| !a.remarks.contains(it));
    all.extend(only_b.map(|it| format!("B: {it}")));
    all
}

fn shared_cautions(both: [&JointResult; 2]) -> Vec<Caution> {
    let mut all: Vec<Caution> = Vec::new();
    for it in both {
        let own = cautions::usual(inputs::laser_of(&it.joint), &inputs::fumes_of(&it.joint));
        for caution in own {
            if !all.contains(&caution) {
                all.push(caution);
            }
        }
    }
    all
}

/// The comparison as JSON, with the whole page of each joint under `a` and `b`.
pub fn comparison_json(both: [&JointResult; 2], report: &Report, settings: &Settings) -> Value {
    let mut value = page_json::report(report);
    if let Value::Object(all) = &mut value {
        all.insert("seed".into(), object!(SEED));
        for (key, it) in ["a", "b"].into_iter().zip(both) {
            all.insert(key.into(), joint_json(it, &joint_report(it, settings)));
        }
    }
    value
}
