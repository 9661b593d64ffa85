//! Ranked grades as a figure: a row a grade, how far its power may drift, and whether it passes.

use crate::report::figure::{Axis, Figure, Label, Mark, Marker, Place, Points, Tick};
use crate::report::number;
use crate::report::palette::Role;
use crate::report::rank_report::Ranking;
use crate::report::require_report::no_sound_power;
use crate::report::side_by_side::{Room, names_within};
use crate::study::ranking::Graded;
use crate::weld::verdict::Verdict;

/// Grades shown at most; the table has the others.
const ROWS: usize = 60;

/// Room for the name of a grade beside its row.
const NAME: Room = Room {
    size_px: 11.5,
    width_px: 250.0,
};

/// Height of a row, px.
const ROW_PX: f64 = 22.0;

/// How a grade is marked: filled for those that pass, hollow or crossed for those that do not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Class {
    Passes,
    TooCold,
    TooHot,
    NoPower,
}

impl Class {
    const ALL: [Class; 4] = [Class::Passes, Class::TooCold, Class::TooHot, Class::NoPower];

    fn of(grade: &Graded) -> Self {
        match grade.outcome.verdict {
            _ if grade.drift().is_none() => Class::NoPower,
            Verdict::Sound => Class::Passes,
            Verdict::Unfused | Verdict::Weak => Class::TooCold,
            Verdict::Degraded | Verdict::Marked => Class::TooHot,
        }
    }

    fn marker(self) -> Marker {
        match self {
            Class::Passes => Marker::Disc,
            Class::TooCold => Marker::Ring,
            Class::TooHot => Marker::Diamond,
            Class::NoPower => Marker::Saltire,
        }
    }

    /// Its entry in the legend, with the verdicts that occur.
    fn words(self, grades: &[&Graded]) -> String {
        let mut verdicts: Vec<&str> = grades.iter().map(|it| it.outcome.verdict.word()).collect();
        verdicts.sort_unstable();
        verdicts.dedup();
        let verdicts = verdicts.join(" or ");
        match self {
            Class::Passes => format!("passes: {verdicts} at the setpoint"),
            Class::TooCold | Class::TooHot => {
                format!("does not pass: {verdicts} at the setpoint")
            }
            Class::NoPower => format!(
                "does not pass: {}",
                grades
                    .first()
                    .map_or("no sound power", |it| no_sound_power(&it.joint))
            ),
        }
    }
}

/// Drift of power allowed, a row a grade, the best on top.
pub fn rank_figure(it: &Ranking) -> Figure {
    let grades: Vec<&Graded> = it.grades.iter().map(|it| &it.0).take(ROWS).collect();
    let range = drift_range(&grades);
    let count = grades.len();
    let row = |i: usize| (count - i) as f64;
    let names = stems(&grades);
    let names = names_within(&names, NAME);
    let ticks = grades
        .iter()
        .zip(&names.short)
        .enumerate()
        .map(|(i, (grade, name))| Tick {
            at: row(i),
            label: format!("{name}, T {}", number::percent(grade.transmittance, 2)),
        });
    let mut figure = Figure::new(
        "Which grade forgives most",
        Axis::linear("Drift of power allowed, either way", "%").over(range[0], range[1]),
        Axis {
            ticks: Some(ticks.collect()),
            ..Axis::linear("Grade, total transmittance in air", "").over(0.4, count as f64 + 0.6)
        },
    );
    figure.size = [820.0, 190.0 + ROW_PX * count as f64];
    for class in Class::ALL {
        let (points, members): (Vec<[f64; 2]>, Vec<&Graded>) = grades
            .iter()
            .enumerate()
            .filter(|(_, it)| Class::of(it) == class)
            .map(|(i, it)| ([it.drift().map_or(range[0], |it| 100.0 * it), row(i)], *it))
            .unzip();
        if points.is_empty() {
            continue;
        }
        figure.marks.push(Mark::Points(Points {
            points,
            errors: Vec::new(),
            label: Label::at(Place::Legend, class.words(&members)),
            marker: class.marker(),
            role: Role::Ink,
            radius_px: 5.0,
        }));
    }
    let mut notes = vec![names.note];
    if grades.iter().any(|it| it.drift().is_none()) {
        notes.push("Grades without sound power stand at the left edge, whatever its value.".into());
    }
    if count < it.grades.len() {
        notes.push(format!(
            "The first {count} of {}; the others stand in the table.",
            it.grades.len()
        ));
    }
    notes.retain(|it| !it.is_empty());
    figure.note = notes.join(" ");
    figure
}

/// Drifts to show, percent: those there are, with room around; none below zero.
fn drift_range(grades: &[&Graded]) -> [f64; 2] {
    let (low, high) = grades
        .iter()
        .filter_map(|it| it.drift())
        .map(|it| 100.0 * it)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| {
            (low.min(it), high.max(it))
        });
    if high < low {
        return [0.0, 1.0];
    }
    // Drifts are told to two digits: differences below a tenth of a percent are none.
    let room = (0.12 * (high - low)).max(0.02 * high).max(0.1);
    [(low - room).max(0.0), high + room]
}

/// Names of files without folder and ending; as given where these would be alike.
fn stems<'g>(grades: &[&'g Graded]) -> Vec<&'g str> {
    let stem = |name: &'g str| {
        let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
        file.rsplit_once('.').map_or(file, |it| it.0)
    };
    let stems: Vec<&str> = grades.iter().map(|it| stem(&it.name)).collect();
    let mut sorted = stems.clone();
    sorted.sort_unstable();
    sorted.dedup();
    if sorted.len() == stems.len() {
        stems
    } else {
        grades.iter().map(|it| it.name.as_str()).collect()
    }
}
