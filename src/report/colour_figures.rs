//! Figures of coloured plaques: swatches, spectra, control charts.

use crate::report::colour_tables::{decimals, heading, least_possible, shown};
use crate::report::figure::{
    Axis, Dash, Figure, Fill, Label, Line, Mark, Marker, Place, Points, Rectangle, Rule, Stroke,
    Text, Tick,
};
use crate::report::number;
use crate::report::palette::{Colour as Ink, Role};
use crate::report::side_by_side::{Names, Room, names_within};
use crate::study::colour_batches::{Batch, Chart, ColourStudy};
use crate::study::colours::Colour;
use crate::study::specification::Characteristic;
use crate::units::NM;

/// Swatches in one row.
const ROW: usize = 4;

/// Batch names under a chart, at most; more would run into each other.
const NAMES: usize = 12;

/// Room for a name below a swatch.
const SWATCH_NAME: Room = Room {
    size_px: 12.0,
    width_px: 168.0,
};

/// Width of a chart between its ends, px, about.
const CHART_PX: f64 = 680.0;

/// One swatch of a figure.
pub struct Patch {
    /// Its name.
    pub name: String,
    /// Its colour.
    pub colour: Colour,
    /// What stands below the name.
    pub text: String,
}

/// Swatches side by side, each with its name below.
pub fn swatches_figure(title: &str, subtitle: &str, patches: &[Patch]) -> Figure {
    let across = patches.len().clamp(1, ROW);
    let rows = patches.len().div_ceil(across).max(1);
    let blank = |last: f64| Axis {
        ticks: Some(Vec::new()),
        ..Axis::linear("", "").over(0.0, last)
    };
    let mut figure = Figure::new(title, blank(across as f64), blank(rows as f64));
    figure.subtitle = subtitle.into();
    figure.size = [760.0, 110.0 + 150.0 * rows as f64];
    for (i, patch) in patches.iter().enumerate() {
        let left = (i % across) as f64;
        let bottom = (rows - 1 - i / across) as f64;
        figure.marks.push(Mark::Box(Rectangle {
            x: [left + 0.06, left + 0.94],
            y: [bottom + 0.36, bottom + 0.94],
            label: Label::none(),
            stroke: Stroke::fine(Role::Guide, Dash::Solid),
            fill: Some(Fill::Full),
        }));
        if let Some(Mark::Box(it)) = figure.marks.last_mut() {
            it.stroke.role = Role::Own(Ink {
                rgb: patch.colour.swatch.rgb,
            });
        }
        figure.marks.push(Mark::Text(Text {
            at: [left + 0.5, bottom + 0.19],
            text: format!("{}\n{}", patch.name, patch.text),
            role: Role::Ink,
            strong: false,
        }));
    }
    let clipped = patches.iter().any(|it| it.colour.swatch.clipped);
    figure.note = if clipped {
        "sRGB (IEC 61966-2-1), D65, 2° observer. A colour outside the gamut of sRGB is shown clipped."
    } else {
        "sRGB (IEC 61966-2-1), D65, 2° observer; no colour had to be clipped."
    }
    .into();
    figure
}

/// Swatches of the standard and of all batches, with names that tell them apart.
pub fn batches_figure(study: &ColourStudy, subtitle: &str) -> Figure {
    let names = batch_names(study, SWATCH_NAME);
    let patches: Vec<Patch> = study
        .standard
        .iter()
        .map(|it| patch("standard", it, study))
        .chain(
            study
                .batches
                .iter()
                .zip(&names.short)
                .map(|(it, name)| patch(name, it.colour(), study)),
        )
        .collect();
    let mut figure = swatches_figure("The batches", subtitle, &patches);
    figure.note = format!("{} {}", figure.note, names.note).trim_end().into();
    figure
}

/// Names of the batches for places of the given room.
fn batch_names(study: &ColourStudy, room: Room) -> Names {
    let names: Vec<&str> = study
        .batches
        .iter()
        .map(|it| it.sample.name.as_str())
        .collect();
    names_within(&names, room)
}

/// Swatch of a batch with L*a*b* below it.
pub fn patch(name: &str, colour: &Colour, study: &ColourStudy) -> Patch {
    let lab = colour.to(study.observer).lab;
    Patch {
        name: name.into(),
        colour: colour.clone(),
        text: format!(
            "L* {}  a* {}  b* {}",
            decimals(lab.lightness, 1),
            decimals(lab.a, 1),
            decimals(lab.b, 1)
        ),
    }
}

/// Spectra of one batch as measured, with the laser line.
pub fn spectra_figure(batch: &Batch, line_m: f64) -> Figure {
    let curves = &batch.sample.curves;
    let ends = curves
        .iter()
        .filter_map(|it| it.1.range_m())
        .fold((f64::INFINITY, 0.0f64), |ends, it| {
            (ends.0.min(it.0 / NM), ends.1.max(it.1 / NM))
        });
    let mut figure = Figure::new(
        "What was measured",
        Axis::linear("Wavelength", "nm").over(ends.0, ends.1),
        Axis::linear("Share of the light", "%"),
    );
    figure.subtitle = batch.sample.file.clone();
    let dashes = [Dash::Solid, Dash::Dashed, Dash::Dotted, Dash::DashDot];
    for (i, (seen, spectrum)) in curves.iter().enumerate() {
        let points = spectrum
            .points()
            .into_iter()
            .map(|(wavelength_m, share)| [wavelength_m / NM, 100.0 * share])
            .collect();
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(Role::Series(i), dashes[i % dashes.len()]),
            Label::at(Place::Legend, seen.words()),
        )));
    }
    let line_nm = line_m / NM;
    if ends.0 <= line_nm && line_nm <= ends.1 {
        figure.marks.push(Mark::VLine(Rule {
            at: line_nm,
            label: Label::new(format!("laser {}", number::wavelength(line_m))),
            stroke: Stroke::fine(Role::Ink, Dash::Dotted),
        }));
    }
    figure
}

/// An individuals chart.
pub fn chart_figure(study: &ColourStudy, chart: &Chart) -> Figure {
    let of = chart.characteristic;
    let (name, unit) = heading(of);
    let control = &chart.chart;
    let values: Vec<f64> = control.values.iter().map(|it| shown(of, *it)).collect();
    let count = values.len();
    let stride = count.div_ceil(NAMES).max(1);
    let names = batch_names(
        study,
        Room {
            size_px: 11.5,
            width_px: CHART_PX * stride as f64 / (count as f64 + 0.2) - 8.0,
        },
    );
    let ticks = names
        .short
        .into_iter()
        .enumerate()
        .step_by(stride)
        .map(|(i, label)| Tick {
            at: (i + 1) as f64,
            label,
        })
        .collect();
    let at = |value: f64| shown(of, value);
    let lower = least_possible(chart);
    // The lines of a chart are part of it, though the values may lie far from them.
    let all = values.iter().copied().chain(
        [
            Some(lower),
            Some(control.upper),
            chart.limits.least,
            chart.limits.most,
        ]
        .into_iter()
        .flatten()
        .map(at),
    );
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |ends, it| {
        (ends.0.min(it), ends.1.max(it))
    });
    let room = 0.08 * (high - low).max(1e-9 * high.abs()).max(1e-9);
    let mut figure = Figure::new(
        format!("{name}, batch by batch"),
        Axis {
            ticks: Some(ticks),
            ..Axis::linear("Batch", "").over(0.4, count as f64 + 0.6)
        },
        Axis::linear(name, unit).over(low - room, high + room),
    );
    figure.subtitle = match of {
        Characteristic::Transmittance | Characteristic::Extinction => {
            number::wavelength(study.line_m)
        }
        Characteristic::Latitude => "highest over lowest sound power at the joint's speed".into(),
        _ => format!("{}, D65, {}", study.seen.words(), study.observer.name()),
    };
    figure.size = [760.0, 350.0];
    figure.note = names.note;
    let rule = |value: f64, text: &str, stroke: Stroke| {
        Mark::HLine(Rule {
            at: at(value),
            label: if text.is_empty() {
                Label::none()
            } else {
                Label::at(Place::Legend, text)
            },
            stroke,
        })
    };
    figure.marks.push(rule(
        control.mean,
        "mean",
        Stroke::fine(Role::Quiet, Dash::Solid),
    ));
    for (value, text) in [(lower, "control limits"), (control.upper, "")] {
        figure
            .marks
            .push(rule(value, text, Stroke::fine(Role::Quiet, Dash::Dashed)));
    }
    let specified = [chart.limits.least, chart.limits.most];
    for (i, value) in specified.into_iter().flatten().enumerate() {
        figure.marks.push(rule(
            value,
            if i == 0 { "specified" } else { "" },
            Stroke {
                width_px: 1.6,
                ..Stroke::fine(Role::Degraded, Dash::Long)
            },
        ));
    }
    let points: Vec<[f64; 2]> = values
        .iter()
        .enumerate()
        .map(|(i, it)| [(i + 1) as f64, *it])
        .collect();
    figure.marks.push(Mark::Line(Line::new(
        points.clone(),
        Stroke::fine(Role::Ink, Dash::Solid),
        Label::none(),
    )));
    let some = |kept: &dyn Fn(usize) -> bool| -> Vec<[f64; 2]> {
        (0..count).filter(|i| kept(*i)).map(|i| points[i]).collect()
    };
    let signals = |i: usize| control.outside.contains(&i) || control.shifted.contains(&i);
    let dots = |points: Vec<[f64; 2]>, label: &str, marker, role| Points {
        points,
        errors: Vec::new(),
        label: Label::at(Place::Legend, label),
        marker,
        role,
        radius_px: 4.5,
    };
    figure.marks.push(Mark::Points(dots(
        some(&|i| !signals(i)),
        "steady",
        Marker::Disc,
        Role::Ink,
    )));
    if (0..count).any(signals) {
        figure.marks.push(Mark::Points(dots(
            some(&signals),
            "signal",
            Marker::Diamond,
            Role::Degraded,
        )));
    }
    let unsound = |i: usize| {
        let weld = study.batches[i].weld.as_ref();
        weld.is_some_and(|it| !it.is_sound())
    };
    if (0..count).any(unsound) {
        figure.marks.push(Mark::Points(Points {
            radius_px: 9.0,
            ..dots(
                some(&unsound),
                "does not weld",
                Marker::Saltire,
                Role::Marked,
            )
        }));
    }
    figure
}
