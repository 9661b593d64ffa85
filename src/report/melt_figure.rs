//! How deep either side flows against time, and how far the parts come together.

use crate::heat::Record;
use crate::report::figure::{
    Axis, Dash, Figure, Label, Line, Mark, Place, Rule as Straight, Stroke,
};
use crate::report::number;
use crate::report::palette::Role;
use crate::report::process;
use crate::report::table::{Column, Table};
use crate::report::weld_figures::{heating_s, shown_times, subtitle, time_axis, time_unit_s};
use crate::units::UM;
use crate::weld::joint::Joint;
use crate::weld::simulate::Outcome;

/// Depths that flow at every recorded time, from the interface, m.
struct Depths {
    upper_m: Vec<f64>,
    lower_m: Vec<f64>,
}

impl Depths {
    /// None where nothing ever flows at the interface.
    fn of(joint: &Joint, record: &Record) -> Option<Self> {
        // The interface stands twice among the depths: once for either side.
        let upper = (1..record.depth_m.len()).rfind(|&i| {
            record.depth_m[i] == record.depth_m[i - 1]
                && (record.depth_m[i] - joint.upper.thickness_m).abs() < 1e-9
        })? - 1;
        let flow_k =
            [&joint.upper, &joint.lower].map(|part| part.material.thermal.flow_temperature_k.value);
        let last = record.depth_m.len() - 1;
        let mut depths = Depths {
            upper_m: Vec::new(),
            lower_m: Vec::new(),
        };
        for row in &record.temperature_k {
            let above = reach(&record.depth_m, row, (0..=upper).rev(), flow_k[0]);
            let below = reach(&record.depth_m, row, upper + 1..=last, flow_k[1]);
            // In a clamp nothing is counted: depths end at the laser-side face.
            depths.upper_m.push(above.min(joint.upper.thickness_m));
            depths.lower_m.push(below);
        }
        let any = depths.upper_m.iter().chain(&depths.lower_m);
        any.copied().any(|it| 0.0 < it).then_some(depths)
    }
}

/// Distance from the first of the nodes to where the temperature falls below `flow_k`, m.
fn reach(depth_m: &[f64], row: &[f64], nodes: impl Iterator<Item = usize>, flow_k: f64) -> f64 {
    let mut start = None;
    let mut before: Option<usize> = None;
    for i in nodes {
        let origin = *start.get_or_insert(depth_m[i]);
        if row[i] < flow_k {
            return before.map_or(0.0, |j| {
                let share = (row[j] - flow_k) / (row[j] - row[i]);
                (depth_m[j] + share * (depth_m[i] - depth_m[j]) - origin).abs()
            });
        }
        before = Some(i);
    }
    match (start, before) {
        (Some(origin), Some(j)) => (depth_m[j] - origin).abs(),
        _ => 0.0,
    }
}

/// A figure is lengthened for the melt up to this many times the time of heating; longer, the heating
/// itself would hardly show.
const LONGEST_MELT: f64 = 10.0;

/// Room behind the end of the melt, as a share of its time.
const BEHIND_MELT: f64 = 0.05;

/// How long to show so that the interface is solid again, s; where that takes too long, or longer than
/// the run was followed, what comes after.
fn until_solid(
    last_s: f64,
    heating_s: f64,
    record: &Record,
    depths: &Depths,
) -> (f64, Option<String>) {
    let flows = |row: usize| 0.0 < depths.upper_m[row].max(depths.lower_m[row]);
    let rows = record.time_s.len();
    let Some(solid_s) = (0..rows)
        .rfind(|&row| flows(row))
        .map(|row| record.time_s[(row + 1).min(rows - 1)])
    else {
        return (last_s, None);
    };
    let ended_s = record.time_s.last().copied().unwrap_or(last_s);
    let longest_s = LONGEST_MELT * heating_s;
    let shown = solid_s <= last_s.max(longest_s);
    let until_s = if shown {
        ((1.0 + BEHIND_MELT) * solid_s).min(ended_s)
    } else {
        longest_s
    };
    let later = if flows(rows - 1) {
        let ended = number::duration(ended_s, 2);
        Some(format!("Still molten at {ended}, when the run ended."))
    } else if shown {
        None
    } else {
        let solid = number::duration(solid_s, 2);
        Some(format!(
            "Later than shown: the interface is solid at {solid}."
        ))
    };
    (last_s.max(until_s), later)
}

/// Melt depth of both parts against time; none without a record or where nothing flows.
pub fn melt_figure(joint: &Joint, outcome: &Outcome) -> Option<Figure> {
    let record = outcome.history.record.as_ref()?;
    let depths = Depths::of(joint, record)?;
    let mut figure = Figure::new(
        "How deep it flows",
        time_axis(joint),
        Axis::linear("Depth from the interface", "µm"),
    );
    figure.subtitle = subtitle(joint);
    let (first_s, usual_s) = shown_times(joint, outcome, record);
    let (last_s, later) = until_solid(usual_s, heating_s(joint, outcome), record, &depths);
    figure.note = [process::spread_words(joint), later]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" ");
    let unit_s = time_unit_s(joint);
    figure.x = figure.x.over(first_s / unit_s, last_s / unit_s);
    let mut push = |values: &[f64], words: &str, dash: Dash, series: usize| {
        // One point beyond the end, so that curves run to the frame, which cuts them.
        let until = record.time_s.partition_point(|it| *it <= last_s) + 1;
        let points = record
            .time_s
            .iter()
            .zip(values)
            .take(until)
            .filter(|(time, _)| first_s <= **time)
            .map(|(time, depth)| [time / unit_s, depth / UM])
            .collect();
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(Role::Series(series), dash),
            Label::at(Place::Legend, words),
        )));
    };
    push(&depths.upper_m, "upper part", Dash::Solid, 0);
    push(&depths.lower_m, "lower part", Dash::Long, 1);
    if outcome.history.melt.collapse_m.is_some() {
        push(&record.collapse_m, "collapse (estimate)", Dash::DashDot, 3);
    }
    figure.marks.push(Mark::VLine(Straight {
        at: heating_s(joint, outcome) / unit_s,
        label: Label::new("light off"),
        stroke: Stroke::fine(Role::Quiet, Dash::Dotted),
    }));
    Some(figure)
}

/// The numbers behind the figure.
pub fn melt_table(joint: &Joint, outcome: &Outcome) -> Option<Table> {
    let record = outcome.history.record.as_ref()?;
    let depths = Depths::of(joint, record)?;
    let in_um = |all: &[f64]| all.iter().map(|it| it / UM).collect::<Vec<_>>();
    let mut columns = vec![
        Column::numbers("Time", "s", record.time_s.iter().copied()),
        Column::numbers("Melt depth, upper part", "µm", in_um(&depths.upper_m)),
        Column::numbers("Melt depth, lower part", "µm", in_um(&depths.lower_m)),
    ];
    if outcome.history.melt.collapse_m.is_some() {
        columns.push(Column::numbers(
            "Collapse (estimate)",
            "µm",
            in_um(&record.collapse_m),
        ));
    }
    Some(Table::new("Melt depth against time", columns))
}
