//! Power against gap: figure, table, answer and JSON.

use serde_json::{Value, json};

use crate::report::answer::Fact;
use crate::report::bundle::{Part, Report, named};
use crate::report::figure::{
    Axis, Dash, Figure, Label, Mark, Marker, Points, Rule as Straight, Stroke,
};
use crate::report::json;
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::palette::Role;
use crate::report::process::{self, PowerScale};
use crate::report::table::{Cell, Column, Table};
use crate::report::weld_report::weld_part;
use crate::report::window_figure::{push_boundary, sound_area};
use crate::study::gap_window::{Bridged, GapLine, GapWindow};
use crate::units::UM;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::Outcome;

/// The answer in one sentence.
pub fn gap_headline(joint: &Joint, window: &GapWindow) -> String {
    let scale = PowerScale::of_joint(joint);
    let say = |it: &Bridged| {
        format!(
            "gaps up to {} at {}",
            number::length_at_most(it.gap_m, 2),
            scale.say(it.power_w, 3)
        )
    };
    match (&window.from_contact, &window.widest) {
        (Some(it), _) => format!("one power welds from contact to {}", say(it)),
        (None, Some(it)) => format!("it bridges {}, but no power welds contact too", say(it)),
        (None, None) if nothing_swells(joint) => {
            "not known: no card says how its polymer swells, and nothing else closes a gap".into()
        }
        (None, None) => "no gap is bridged at this setting".into(),
    }
}

/// True where no gap can close for want of data.
fn nothing_swells(joint: &Joint) -> bool {
    let parts = [&joint.upper, &joint.lower];
    parts.iter().all(|it| it.material.expansion.is_none())
}

/// The numbers asked for first.
pub fn gap_facts(joint: &Joint, window: &GapWindow) -> Vec<Fact> {
    let scale = PowerScale::of_joint(joint);
    let mut facts = vec![(
        "setting".to_string(),
        process::say(joint.motion.lever(), joint.motion.setting()),
    )];
    let machine = window.machine.as_ref();
    let line = |name: String, it: &GapLine| {
        let value = match it.usable_w(machine) {
            Some((low, high)) => scale.say_sound(low, high, ""),
            None => "none".into(),
        };
        (name, value)
    };
    if let Some(contact) = window.lines.first().filter(|it| it.gap_m == 0.0) {
        facts.push(line("sound powers in contact".into(), contact));
    }
    if let Some(widest) = &window.widest {
        facts.push((
            "widest gap bridged".into(),
            format!(
                "{} at {}",
                number::length_at_most(widest.gap_m, 2),
                scale.say(widest.power_w, 3)
            ),
        ));
        let half = window.lines.iter().min_by(|a, b| {
            let off = |it: &GapLine| (it.gap_m - 0.5 * widest.gap_m).abs();
            off(a).total_cmp(&off(b))
        });
        if let Some(half) = half {
            let name = format!("sound powers at {}", number::length(half.gap_m, 2));
            facts.push(line(name, half));
        }
    }
    facts
}

/// The figure: gap across, power up.
pub fn gap_figure(joint: &Joint, window: &GapWindow) -> Figure {
    let scale = PowerScale::of_joint(joint);
    let last_m = window.lines.last().map_or(1e-3, |it| it.gap_m);
    let lower = |it: &GapLine| Some((it.limits.low.power_w()?, it.limits.low.rule()));
    let upper = |it: &GapLine| Some((it.limits.high.power_w()?, it.limits.high.rule()));
    type Side<'a> = &'a dyn Fn(&GapLine) -> Option<(f64, Option<Rule>)>;
    let boundary = |lines: &[GapLine], side: Side| -> Vec<([f64; 2], Option<Rule>)> {
        lines
            .iter()
            .filter_map(|line| {
                let (power_w, rule) = side(line)?;
                Some(([line.gap_m / UM, power_w * scale.per_w], rule))
            })
            .collect()
    };
    let powers: Vec<f64> = window
        .lines
        .iter()
        .flat_map(|it| [lower(it), upper(it)])
        .flatten()
        .map(|it| it.0 * scale.per_w)
        .collect();
    let (least, most) = powers.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &it| {
        (a.min(it), b.max(it))
    });
    let range = if 0.0 < most {
        (least / 1.4, most * 1.4)
    } else {
        (
            window.power_w.0 * scale.per_w,
            window.power_w.1 * scale.per_w,
        )
    };
    let mut figure = Figure::new(
        "Which gap it bridges",
        Axis::linear("Gap between the parts", "µm").over(0.0, last_m / UM),
        Axis::log(scale.label, scale.unit).over(range.0, range.1),
    );
    figure.subtitle = format!(
        "{} {} on {}, {}, {}",
        number::length(joint.upper.thickness_m, 2),
        joint.upper.material.name,
        joint.lower.material.name,
        process::spot(joint),
        process::say(joint.motion.lever(), joint.motion.setting()),
    );
    figure.size = [820.0, 560.0];
    figure.note =
        "At zero the parts touch and reflect nothing; over a gap both faces reflect until melt has wetted \
         the other part. Closing by swelling alone; bubbles, melt from beside and bending parts are left \
         out."
            .into();
    // Contact stands apart: between it and the narrowest gap two faces begin to reflect.
    let gaps = &window.lines[window.lines.partition_point(|it| it.gap_m <= 0.0)..];
    let runs = gaps.split(|it| !it.limits.is_open());
    let widest = runs.clone().map(<[GapLine]>::len).max().unwrap_or(0);
    for run in runs.filter(|it| 1 < it.len()) {
        let bottom = boundary(run, &lower).into_iter().map(|it| it.0);
        let top = boundary(run, &upper).into_iter().map(|it| it.0).rev();
        let corners = bottom.chain(top).collect();
        figure.marks.push(sound_area(corners, run.len() == widest));
    }
    push_boundary(&boundary(gaps, &lower), &mut figure);
    push_boundary(&boundary(gaps, &upper), &mut figure);
    let contact: Vec<[f64; 2]> = window
        .lines
        .iter()
        .filter(|it| it.gap_m == 0.0)
        .flat_map(|it| [lower(it), upper(it)])
        .flatten()
        .map(|it| [0.0, it.0 * scale.per_w])
        .collect();
    if !contact.is_empty() {
        figure
            .marks
            .push(points(contact, "in contact", Marker::Disc));
    }
    push_machine(window, &scale, range, &mut figure);
    if let Some(it) = &window.from_contact {
        let words = format!(
            "{} welds from contact to {}",
            scale.say(it.power_w, 3),
            number::length_at_most(it.gap_m, 2)
        );
        let at = vec![[it.gap_m / UM, it.power_w * scale.per_w]];
        figure.marks.push(points(at, &words, Marker::Cross));
    }
    let stated = joint.beam.power_w * scale.per_w;
    if let Some(gap_m) = joint.interface.gap_m()
        && gap_m <= last_m
        && (range.0..=range.1).contains(&stated)
    {
        let at = vec![[gap_m / UM, stated]];
        figure.marks.push(points(at, "joint file", Marker::Ring));
    }
    figure
}

fn points(points: Vec<[f64; 2]>, words: &str, marker: Marker) -> Mark {
    Mark::Points(Points {
        points,
        errors: Vec::new(),
        label: Label::new(words),
        marker,
        role: Role::Ink,
        radius_px: 5.0,
    })
}

fn push_machine(window: &GapWindow, scale: &PowerScale, range: (f64, f64), figure: &mut Figure) {
    let Some(machine) = window.machine else {
        return;
    };
    for (at_w, words) in [
        (machine.power_w.1, "greatest laser power"),
        (machine.power_w.0, "least laser power"),
    ] {
        let at = at_w * scale.per_w;
        if range.0 < at && at < range.1 {
            figure.marks.push(Mark::HLine(Straight {
                at,
                label: Label::new(format!("{words}, {}", scale.say(at_w, 3))),
                stroke: Stroke::fine(Role::Ink, Dash::Dotted),
            }));
        }
    }
}

/// Page, figure and table; `best` is the joint at the recommended power and gap, with its outcome.
pub fn gap_report(
    joint: &Joint,
    window: &GapWindow,
    best: (&Joint, &Outcome),
    warnings: &[String],
) -> Report {
    let answer = Answer {
        headline: gap_headline(joint, window),
        tone: if window.widest.is_some() {
            Tone::Sound
        } else {
            Tone::NotSound
        },
        text: String::new(),
        facts: gap_facts(joint, window),
    };
    let part = Part {
        heading: "Power against gap".into(),
        text: "Between the boundaries every criterion is met at that gap. The heated parts swell \
               into the gap; until they meet, heat crosses it by conduction in air and by \
               radiation. The cross marks the power that welds contact and every gap up to there."
            .into(),
        figures: vec![named(
            "gap",
            gap_figure(joint, window),
            "Sound powers against the gap between the cold parts.",
        )],
        tables: Vec::new(),
        tables_behind: vec![("gap".into(), table(window))],
    };
    let mut weld = weld_part(best.0, best.1);
    weld.heading = match window.widest {
        Some(_) => "The weld at that power and gap".into(),
        None => "The narrowest gap looked at".into(),
    };
    let parts = vec![part, weld];
    // What the files state, which is neither the gap nor the power found.
    Report::of(joint, &Settings::standard(), answer, warnings, parts)
}

fn table(window: &GapWindow) -> Table {
    let column = |name: &str, unit: &str, of: &dyn Fn(&GapLine) -> Option<f64>| Column {
        cells: window
            .lines
            .iter()
            .map(|it| of(it).map_or(Cell::Missing, Cell::Number))
            .collect(),
        ..Column::numbers(name, unit, [])
    };
    let rules = |of: &dyn Fn(&GapLine) -> Option<Rule>| -> Vec<&'static str> {
        let lines = window.lines.iter();
        lines.map(|it| of(it).map_or("", Rule::name)).collect()
    };
    Table::new(
        "Sound powers against the gap",
        vec![
            column("Gap", "µm", &|it| Some(it.gap_m / UM)),
            column("Lowest sound power", "W", &|it| it.limits.low.power_w()),
            Column::words("Set by", rules(&|it| it.limits.low.rule()).into_iter()),
            column("Highest sound power", "W", &|it| it.limits.high.power_w()),
            Column::words(
                "Set by (upper)",
                rules(&|it| it.limits.high.rule()).into_iter(),
            ),
            column("Latitude", "", &|it| it.limits.latitude()),
        ],
    )
}

/// The window against gap as JSON, SI.
pub fn gap_json(joint: &Joint, window: &GapWindow, warnings: &[String]) -> Value {
    let lines: Vec<Value> = window
        .lines
        .iter()
        .map(|line| {
            let mut row = json::limits(&line.limits);
            row.insert("gap_m".into(), json!(line.gap_m));
            Value::Object(row)
        })
        .collect();
    let bridged =
        |it: &Option<Bridged>| it.map(|it| json!({ "gap_m": it.gap_m, "power_w": it.power_w }));
    let mut value = json!({
        "question": joint.question.as_ref(),
        "against": "gap",
        "open": window.widest.is_some(),
        "widest_gap": bridged(&window.widest),
        "from_contact": bridged(&window.from_contact),
        "mode": joint.motion.mode(),
        "lines": lines,
        "wavelength_m": joint.wavelength_m,
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    });
    if let Some(object) = value.as_object_mut() {
        let lever = joint.motion.lever();
        object.insert(lever.key().into(), json!(joint.motion.setting()));
    }
    value
}
