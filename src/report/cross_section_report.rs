//! The cross-section of a weld as facts, JSON and a part of the page, beside the one-dimensional
//! answer.

use serde_json::{Value, json};

use crate::heat::StopReason;
use crate::heat::cross_section::CrossSection;
use crate::report::answer::{self, Fact, NO_RISE_K};
use crate::report::bundle::{Part, named};
use crate::report::cross_section_figure::cross_section_figure;
use crate::report::number;
use crate::report::table::{Cell, Column, Table};
use crate::units::{MM, UM, celsius};
use crate::weld::across::Across;
use crate::weld::criteria::{Criterion, damage_share};
use crate::weld::joint::Joint;
use crate::weld::simulate::{Outcome, fourier_number};
use crate::weld::verdict::Verdict;

/// One quantity in one and in two dimensions, in the unit it is read in.
struct Compared {
    name: &'static str,
    unit: &'static str,
    /// None where one dimension knows no such thing.
    line: Option<f64>,
    /// None where it was not final when the run ended.
    cut: Option<f64>,
    /// Value from which a difference is a share, for temperatures the start.
    zero: f64,
}

fn compared(joint: &Joint, outcome: &Outcome, cut: &CrossSection) -> Vec<Compared> {
    let history = &outcome.history;
    let row = |name, unit, line, cut: f64, zero| Compared {
        name,
        unit,
        line,
        cut: Some(cut),
        zero,
    };
    let start = celsius(joint.surroundings.ambient_k);
    let degrees =
        |name, line: f64, cut: f64| row(name, "°C", Some(celsius(line)), celsius(cut), start);
    let depth = |name, line: f64, cut: f64| row(name, "µm", Some(line / UM), cut / UM, 0.0);
    let mut all = vec![
        row("seam width", "mm", None, cut.seam_width_m / MM, 0.0),
        row(
            "widest melt, upper part",
            "mm",
            None,
            cut.melt_width_m[0] / MM,
            0.0,
        ),
        row(
            "widest melt, lower part",
            "mm",
            None,
            cut.melt_width_m[1] / MM,
            0.0,
        ),
    ];
    // A film that no swelling closes has nothing to show.
    if let Some((bridge, swelling_m)) = cut.bridge.and_then(|it| Some((it, it.swelling_m?))) {
        let line = history.film.and_then(|it| it.swelling_m);
        all.push(row(
            "width over which the parts met",
            "mm",
            None,
            bridge.closed_width_m / MM,
            0.0,
        ));
        all.push(depth(
            "swelling into the gap in the middle",
            line.unwrap_or(0.0),
            swelling_m,
        ));
    }
    all.extend([
        depth(
            "melt depth in the middle, upper part",
            history.upper_melt_depth_m,
            cut.melt_depth_m[0],
        ),
        depth(
            "melt depth in the middle, lower part",
            history.lower_melt_depth_m,
            cut.melt_depth_m[1],
        ),
        degrees(
            "interface, peak",
            history
                .interface_peak_upper_k
                .min(history.interface_peak_lower_k),
            cut.interface_peak_k[0].min(cut.interface_peak_k[1]),
        ),
        degrees(HOTTEST, history.body_peak_k, cut.body_peak_k),
        degrees(
            "laser-side surface, peak",
            history.laser_side_peak_k,
            cut.laser_side_peak_k,
        ),
    ]);
    if cut.body_peak_k < joint.surroundings.ambient_k + NO_RISE_K {
        all.retain(|it| it.name != HOTTEST);
    }
    if !surface_is_final(cut) {
        if let Some(laser_side) = all.last_mut() {
            laser_side.cut = None;
        }
        let by_then = celsius(cut.laser_side_peak_k);
        all.push(row(SURFACE_BY_THEN, "°C", None, by_then, start));
    }
    if let (Some(line), Some(cut)) = (history.damage_integral, cut.damage_integral) {
        let share = |it| 100.0 * damage_share(it);
        all.push(row(
            "damaged share at the worst place",
            "%",
            Some(share(line)),
            share(cut),
            0.0,
        ));
    }
    all
}

/// What the cross-section says of the verdict, which rests on depth alone; none where it agrees.
pub fn across_words(outcome: &Outcome, across: &Across) -> Option<String> {
    let say = |it: &Criterion| {
        let (value, limit) = answer::criterion_values(it);
        format!("{} is {value} where {limit} is asked for", it.rule.name())
    };
    let mut said: Vec<String> = across.missed.iter().map(say).collect();
    if across.no_seam {
        said.insert(0, "the parts are fused nowhere".into());
    }
    let said = said.join("; ");
    match (outcome.verdict, &across.relieved) {
        (Verdict::Sound, _) if across.is_sound() => None,
        (Verdict::Sound, _) => Some(format!("across the seam it is not sound: {said}")),
        (_, Some(it)) if across.is_sound() => Some(format!(
            "across the seam nothing that is followed there speaks against it: {}",
            say(it)
        )),
        (_, Some(it)) => Some(format!(
            "across the seam {}, but it is not sound for other reasons: {said}",
            say(it)
        )),
        _ => None,
    }
}

/// Name of the row of the hottest point, which is left out where nothing gets warmer.
const HOTTEST: &str = "hottest point";

/// Name of the row of the laser-side surface where its peak may still come.
const SURFACE_BY_THEN: &str = "laser-side surface, until the run ended";

/// Whether the laser-side surface cannot get hotter after the end of the run.
fn surface_is_final(cut: &CrossSection) -> bool {
    cut.final_above_k <= cut.laser_side_peak_k
}

/// What the laser-side surface may still come to after the end of the run, and whether that marks
/// it; none where its peak was seen.
fn surface_words(joint: &Joint, cut: &CrossSection) -> Option<String> {
    if surface_is_final(cut) {
        return None;
    }
    let marked_k = joint.upper.material.thermal.surface_temperature_k.value;
    let marked = number::temperature(marked_k);
    // Nothing gets hotter than the hottest point once the light is off.
    let most_k = cut.final_above_k;
    Some(format!(
        "The laser-side surface had reached {} by {}, when the run ended; its peak may come later, at \
         most {}, the highest temperature in the parts at that moment: {}.",
        number::temperature(cut.laser_side_peak_k),
        number::duration(cut.end_s, 2),
        number::temperature(most_k),
        if marked_k <= cut.laser_side_peak_k {
            format!("it is marked, for that takes {marked}")
        } else if most_k < marked_k {
            format!("it is not marked, for that takes {marked}")
        } else {
            format!("whether it is marked, at {marked}, the section does not tell")
        }
    ))
}

impl Compared {
    /// Difference as a share of the one-dimensional value above its zero.
    fn change(&self) -> Option<f64> {
        let line = self.line? - self.zero;
        let cut = self.cut? - self.zero;
        (0.0 < line.abs()).then(|| cut / line - 1.0)
    }
}

/// The numbers as lines for the terminal.
pub fn facts(
    joint: &Joint,
    outcome: &Outcome,
    (cut, across): (&CrossSection, &Across),
) -> Vec<Fact> {
    let mut facts: Vec<Fact> = compared(joint, outcome, cut)
        .iter()
        .filter_map(|it| {
            let found = it.cut?;
            let say = |value: f64| format!("{} {}", number::short(value, 3), it.unit);
            let words = match (it.line, it.change()) {
                (Some(line), Some(change)) => format!(
                    "{} (in one dimension {}, {}{})",
                    say(found),
                    say(line),
                    if change < 0.0 { "−" } else { "+" },
                    number::percent(change.abs(), 2),
                ),
                (Some(line), None) => format!("{} (in one dimension {})", say(found), say(line)),
                (None, _) => say(found),
            };
            Some((format!("across: {}", it.name), words))
        })
        .collect();
    if let Some(said) = facts.iter_mut().find(|it| it.0.ends_with(SURFACE_BY_THEN)) {
        said.1 = format!(
            "{} by {}; its peak may come later, {} at most (in one dimension {})",
            said.1,
            number::duration(cut.end_s, 2),
            number::temperature(cut.final_above_k),
            number::temperature(outcome.history.laser_side_peak_k),
        );
    }
    facts.push((
        "across: Fourier number α t / w²".into(),
        number::short(fourier_number(joint), 3),
    ));
    if !across.open.is_empty() {
        let names: Vec<&str> = across.open.iter().map(|it| it.name()).collect();
        facts.push(("across: not judged".into(), names.join(", ")));
    }
    facts
}

/// The numbers beside each other.
pub fn table(joint: &Joint, outcome: &Outcome, cut: &CrossSection) -> Table {
    let rows = compared(joint, outcome, cut);
    let numbers = |name: &str, of: &dyn Fn(&Compared) -> Option<f64>| {
        let mut column = Column::numbers(name, "", []);
        column.cells = rows
            .iter()
            .map(|it| of(it).map_or(Cell::Missing, Cell::Number))
            .collect();
        column
    };
    let mut change = numbers("Difference of the rise or depth", &|it| {
        it.change().map(|it| 100.0 * it)
    });
    change.unit = "%".into();
    Table::new(
        "Depth alone, and depth and width",
        vec![
            Column::words("Quantity", rows.iter().map(|it| it.name)),
            Column::words("Unit", rows.iter().map(|it| it.unit)),
            numbers("In one dimension", &|it| it.line),
            numbers("Across the seam", &|it| it.cut),
            change.digits(2),
        ],
    )
}

/// The object `cross_section` of a weld, SI unless a name says otherwise.
pub fn json(joint: &Joint, outcome: &Outcome, (cut, across): (&CrossSection, &Across)) -> Value {
    let history = &outcome.history;
    json!({
        "seam_width_um": cut.seam_width_m / UM,
        "gap_swelling_um": cut.bridge.and_then(|it| it.swelling_m).map(|it| it / UM),
        "gap_closed_width_um": cut.bridge.map(|it| it.closed_width_m / UM),
        "upper_melt_width_um": cut.melt_width_m[0] / UM,
        "lower_melt_width_um": cut.melt_width_m[1] / UM,
        "upper_melt_depth_um": cut.melt_depth_m[0] / UM,
        "lower_melt_depth_um": cut.melt_depth_m[1] / UM,
        "interface_peak_c": celsius(cut.interface_peak_k[0].min(cut.interface_peak_k[1])),
        "body_peak_c": celsius(cut.body_peak_k),
        "laser_side_peak_c": surface_is_final(cut).then(|| celsius(cut.laser_side_peak_k)),
        "laser_side_peak_is_final": surface_is_final(cut),
        "laser_side_until_end_c": celsius(cut.laser_side_peak_k),
        "laser_side_at_most_c": celsius(cut.final_above_k.max(cut.laser_side_peak_k)),
        "damage_fraction": cut.damage_integral.map(damage_share),
        "one_dimension": {
            "upper_melt_depth_um": history.upper_melt_depth_m / UM,
            "lower_melt_depth_um": history.lower_melt_depth_m / UM,
            "interface_peak_c":
                celsius(history.interface_peak_upper_k.min(history.interface_peak_lower_k)),
            "body_peak_c": celsius(history.body_peak_k),
            "laser_side_peak_c": celsius(history.laser_side_peak_k),
        },
        "missed": across.missed.iter().map(|it| it.rule.key()).collect::<Vec<_>>(),
        "not_followed": across.open.iter().map(|it| it.key()).collect::<Vec<_>>(),
        "fourier_number": fourier_number(joint),
        "final_above_c": celsius(cut.final_above_k),
        "energy_residual": cut.ledger.relative_residual(),
        "cells": cut.counters.cells,
        "steps": cut.counters.steps,
        "end_s": cut.end_s,
    })
}

/// Figure and table of the page, and the field behind the figure.
pub fn part(joint: &Joint, outcome: &Outcome, (cut, across): (&CrossSection, &Across)) -> Part {
    let table = table(joint, outcome, cut);
    Part {
        heading: "Across the seam".into(),
        text: format!(
            "Conduction in depth and width: what leaves sideways, and what a section cut across \
             the seam would show. The verdict above rests on depth alone{}. Absorbed {:.4} J per \
             metre of seam, of which {:.4} J were still stored at {}{}; the sums close to {:.0e}.{}{}",
            across_words(outcome, across).map_or(String::new(), |it| format!("; {it}")),
            cut.ledger.absorbed_j_per_m,
            cut.ledger.stored_j_per_m,
            number::duration(cut.end_s, 2),
            match cut.stop {
                StopReason::Settled => "",
                StopReason::TimeLimit => ", the longest time followed",
            },
            cut.ledger.relative_residual().abs().max(1e-16),
            if cut.bridge.is_some() {
                " At every place across the seam the gap closes by the swelling there, in the middle \
                 first; there is a seam only where the parts met."
            } else {
                ""
            },
            surface_words(joint, cut).map_or(String::new(), |it| format!(" {it}")),
        ),
        figures: vec![named(
            "cross-section",
            cross_section_figure(joint, outcome, cut),
            "Highest temperature reached at every place, and the melt of both parts. The parts \
             are fused where the melt of both meets the interface: the width of the seam.",
        )],
        tables: vec![table.clone()],
        tables_behind: vec![
            ("cross-section".into(), table),
            ("cross-section-peaks".into(), field_table(cut)),
        ],
    }
}

fn field_table(cut: &CrossSection) -> Table {
    let mut columns = vec![Column::numbers(
        "Depth",
        "mm",
        cut.depth_m.iter().map(|it| it / MM),
    )];
    for (j, across_m) in cut.across_m.iter().enumerate() {
        columns.push(Column::numbers(
            format!("Peak at {:.6} mm from the middle", across_m / MM),
            "°C",
            cut.peak_k.iter().map(|row| celsius(row[j])),
        ));
    }
    Table::new("Highest temperature over depth and width", columns)
}
