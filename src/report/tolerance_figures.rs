//! The figures of a tolerance study.

use ndarray::Array2;

use crate::report::figure::{
    Axis, Dash, Field, Figure, Fill, Label, Line, Mark, Marker, Place, Points, Rectangle,
    Rule as Straight, Stroke, Tick,
};
use crate::report::number;
use crate::report::palette::{Map, Role};
use crate::report::process::{self, PowerScale};
use crate::report::tolerance_report::share;
use crate::study::chance_window::ChanceWindow;
use crate::study::tolerance::{Between, Tolerance};
use crate::weld::joint::Joint;

/// Levels of the contours of chance.
const LEVELS: [f64; 6] = [0.1, 0.5, 0.8, 0.9, 0.95, 0.99];

/// Points a distribution is drawn with.
const POINTS: usize = 300;

/// Distribution of the least margin.
pub fn margin_figure(it: &Tolerance) -> Figure {
    let count = it.margins.len();
    let points: Vec<[f64; 2]> = (0..=POINTS)
        .map(|i| {
            let at = (i * (count - 1)) / POINTS;
            [it.margins[at], 100.0 * (at as f64 + 0.5) / count as f64]
        })
        .collect();
    let mut figure = Figure::new(
        "How near to the limits",
        Axis::linear("Least margin of all criteria", ""),
        Axis::linear("Share of welds below", "%").over(0.0, 100.0),
    );
    figure.size = [760.0, 400.0];
    figure.marks.push(Mark::Line(Line::new(
        points,
        Stroke::solid(Role::Series(0)),
        Label::none(),
    )));
    figure.marks.push(Mark::VLine(Straight {
        at: 0.0,
        label: Label::new("limit"),
        stroke: Stroke::fine(Role::Ink, Dash::Dashed),
    }));
    figure
}

/// Effects of the inputs as bars.
pub fn effect_figure(it: &Tolerance) -> Figure {
    let rows = it.effects.len() as f64;
    let mut y = Axis::linear("", "").over(rows - 0.5, -0.5);
    y.ticks = Some(
        it.effects
            .iter()
            .enumerate()
            .map(|(i, it)| Tick {
                at: i as f64,
                label: it.input.quantity.words().into(),
            })
            .collect(),
    );
    let most = it
        .effects
        .iter()
        .map(|it| it.on_margin[1].value + it.on_margin[1].half)
        .fold(0.1, f64::max);
    let mut figure = Figure::new(
        "What makes the margin vary",
        // A little below zero: a marker there keeps clear of the names.
        Axis::linear("Total effect, share of the variance", "").over(-0.02 * most, 1.05 * most),
        y,
    );
    figure.size = [760.0, 130.0 + 34.0 * rows];
    for (i, row) in it.effects.iter().enumerate() {
        let at = i as f64;
        let Between { value, half } = row.on_margin[1];
        figure.marks.push(Mark::Box(Rectangle {
            x: [0.0, value.max(0.0)],
            y: [at - 0.3, at + 0.3],
            label: Label::none(),
            stroke: Stroke::fine(Role::Series(0), Dash::Solid),
            fill: Some(Fill::Tint),
        }));
        figure.marks.push(Mark::Line(Line::new(
            vec![[(value - half).max(0.0), at], [value + half, at]],
            Stroke::solid(Role::Ink),
            Label::none(),
        )));
    }
    figure.marks.push(Mark::Points(Points {
        points: it
            .effects
            .iter()
            .enumerate()
            .map(|(i, it)| [it.on_margin[0].value.max(0.0), i as f64])
            .collect(),
        errors: Vec::new(),
        label: Label::at(Place::Legend, "first-order effect"),
        marker: Marker::Diamond,
        role: Role::Ink,
        radius_px: 5.0,
    }));
    figure
}

/// Chance over power and what is set beside it.
pub fn chance_figure(joint: &Joint, window: &ChanceWindow) -> Figure {
    let ends = |all: &[f64]| (all[0], all[all.len() - 1]);
    let (heading, unit) = process::heading(window.lever);
    let shown = |value: f64| process::shown(window.lever, value);
    let scale = PowerScale::of_joint(joint);
    let (settings, powers) = (ends(&window.setting), ends(&window.power_w));
    let mut figure = Figure::new(
        "How likely it welds",
        Axis::log(heading, unit).over(shown(settings.0), shown(settings.1)),
        Axis::log(scale.label, scale.unit).over(powers.0 * scale.per_w, powers.1 * scale.per_w),
    );
    figure.size = [820.0, 540.0];
    figure.subtitle = format!(
        "{} on {}, {}",
        joint.upper.material.name,
        joint.lower.material.name,
        number::wavelength(joint.wavelength_m)
    );
    let shape = (window.power_w.len(), window.setting.len());
    figure.marks.push(Mark::Field(Field {
        x: window.setting.iter().map(|it| shown(*it)).collect(),
        y: window.power_w.iter().map(|it| it * scale.per_w).collect(),
        values: Array2::from_shape_fn(shape, |(row, column)| window.chance[row][column]),
        label: "Chance of a sound weld".into(),
        unit: String::new(),
        map: Map::Water,
        levels: LEVELS.to_vec(),
        none_below: None,
        none_label: String::new(),
        unknown: None,
    }));
    let mut point = |at: [f64; 2], words: String, marker: Marker| {
        figure.marks.push(Mark::Points(Points {
            points: vec![at],
            errors: Vec::new(),
            label: Label::at(Place::Legend, words),
            marker,
            role: Role::Ink,
            radius_px: 6.0,
        }));
    };
    point(
        [
            shown(joint.motion.setting()),
            joint.beam.power_w * scale.per_w,
        ],
        "joint file".into(),
        Marker::Ring,
    );
    if let Some((power_w, setting, chance)) = window.best {
        point(
            [shown(setting), power_w * scale.per_w],
            format!(
                "best: {}, {}: {}",
                scale.say(power_w, 3),
                process::say(window.lever, setting),
                share(chance)
            ),
            Marker::Cross,
        );
    }
    if let Some(machine) = joint.machine
        && powers.0 < machine.power_w.1
        && machine.power_w.1 < powers.1
    {
        figure.marks.push(Mark::HLine(Straight {
            at: machine.power_w.1 * scale.per_w,
            label: Label::new(format!(
                "greatest laser power, {}",
                scale.say(machine.power_w.1, 3)
            )),
            stroke: Stroke::fine(Role::Ink, Dash::Dotted),
        }));
    }
    figure
}
