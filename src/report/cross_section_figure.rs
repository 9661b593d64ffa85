//! The cross-section of a weld drawn to scale, as a microtome section shows it.

use ndarray::Array2;

use crate::heat::cross_section::CrossSection;
use crate::report::figure::{
    Axis, Dash, Field, Figure, Fill, Label, Line, Mark, Marker, Place, Region, Rule as Straight,
    Stroke,
};
use crate::report::isoband::Lattice;
use crate::report::number;
use crate::report::palette::{Map, Role};
use crate::units::{MM, celsius};
use crate::weld::joint::Joint;
use crate::weld::simulate::Outcome;

/// Rise relative to the highest that is still shown.
const SHOWN_SHARE: f64 = 0.12;

/// Share of the figure's width that is left beside what is shown.
const ROOM: f64 = 0.08;

/// Narrowest and widest height of the section over its width.
const SHAPE: (f64, f64) = (0.35, 1.1);

/// Peak temperatures over width and depth, the melt, and the seam's width.
pub fn cross_section_figure(joint: &Joint, outcome: &Outcome, cut: &CrossSection) -> Figure {
    let upper_mm = joint.upper.thickness_m / MM;
    let shown = Shown::new(joint, cut);
    let mut figure = Figure::new(
        "The weld in cross-section",
        Axis::linear("Distance from the middle of the seam", "mm").over(-shown.half, shown.half),
        Axis::linear("Depth from the laser side", "mm").over(shown.bottom, shown.top),
    );
    figure.subtitle = format!(
        "{} on {}: highest temperature reached; width and depth to one scale",
        joint.upper.material.name, joint.lower.material.name
    );
    figure.size = [820.0, 560.0];
    figure.equal_scale = true;
    let sampled = Sampled::new(cut, &shown);
    figure.marks.push(Mark::Field(Field {
        x: sampled.x.clone(),
        y: sampled.y.clone(),
        values: sampled.values.clone(),
        label: "Highest temperature".into(),
        unit: "°C".into(),
        map: Map::Dusk,
        levels: levels(cut),
        none_below: None,
        none_label: String::new(),
        unknown: None,
    }));
    push_melt(joint, &sampled, &mut figure);
    figure.marks.push(Mark::HLine(Straight {
        at: upper_mm,
        label: Label::new("interface"),
        stroke: Stroke::fine(Role::Ink, Dash::Solid),
    }));
    push_one_dimension(joint, outcome, &mut figure);
    if 0.0 < cut.seam_width_m {
        push_width(joint, cut, &shown, &mut figure);
    }
    figure.note = format!(
        "Half of the section is computed and mirrored. Temperatures above {} are final.{}",
        number::temperature(cut.final_above_k),
        match cut.bridge.map(|it| it.closed_width_m) {
            None => String::new(),
            Some(0.0) => " The gap stays open.".into(),
            Some(met_m) => format!(" The gap closes over {}.", number::length(met_m, 3)),
        }
    );
    figure
}

/// The part of the section worth showing, mm.
struct Shown {
    half: f64,
    top: f64,
    bottom: f64,
}

impl Shown {
    fn new(joint: &Joint, cut: &CrossSection) -> Self {
        let start_k = joint.surroundings.ambient_k;
        let level = start_k + SHOWN_SHARE * (cut.body_peak_k - start_k);
        let upper = joint.upper.thickness_m / MM;
        let whole = upper + joint.lower.thickness_m / MM;
        let mut half = 0.6 * joint.beam.width_m / MM;
        let (mut top, mut bottom) = (upper, upper);
        for row in cut.part_rows[0].start..cut.part_rows[1].end {
            for (j, &t) in cut.peak_k[row].iter().enumerate() {
                if level <= t {
                    half = half.max(cut.across_m[j] / MM);
                    top = top.min(cut.depth_m[row] / MM);
                    bottom = bottom.max(cut.depth_m[row] / MM);
                }
            }
        }
        let half = half * (1.0 + ROOM);
        let room = ROOM * half;
        let (mut top, mut bottom) = ((top - room).max(0.0), (bottom + room).min(whole));
        // Neither a ribbon nor a tower.
        let (least, most) = (2.0 * half * SHAPE.0, 2.0 * half * SHAPE.1);
        if bottom - top < least {
            let more = 0.5 * (least - (bottom - top));
            (top, bottom) = ((top - more).max(0.0), (bottom + more).min(whole));
        }
        if most < bottom - top {
            (top, bottom) = (
                (upper - 0.5 * most).max(top),
                (upper + 0.5 * most).min(bottom),
            );
        }
        Shown { half, top, bottom }
    }
}

/// The computed half and its mirror image, °C over mm.
struct Sampled {
    x: Vec<f64>,
    y: Vec<f64>,
    values: Array2<f64>,
    /// Rows of the upper and of the lower part.
    parts: [std::ops::Range<usize>; 2],
}

impl Sampled {
    fn new(cut: &CrossSection, shown: &Shown) -> Self {
        // One column and one row beyond what is shown.
        let columns = cut
            .across_m
            .partition_point(|it| it / MM <= shown.half)
            .min(cut.across_m.len() - 1);
        let inside = |row: &usize| {
            let depth = cut.depth_m[*row] / MM;
            shown.top <= depth && depth <= shown.bottom
        };
        let all = cut.part_rows[0].start..cut.part_rows[1].end;
        let first = all.clone().find(inside).unwrap_or(all.start);
        let last = all.clone().rev().find(inside).unwrap_or(all.start);
        let rows = first.saturating_sub(1).max(all.start)..(last + 2).min(all.end);
        let x: Vec<f64> = (1..=columns)
            .rev()
            .map(|j| -cut.across_m[j] / MM)
            .chain((0..=columns).map(|j| cut.across_m[j] / MM))
            .collect();
        let values = Array2::from_shape_fn((rows.len(), x.len()), |(i, j)| {
            celsius(cut.peak_k[rows.start + i][j.abs_diff(columns)])
        });
        Sampled {
            x,
            y: rows.clone().map(|row| cut.depth_m[row] / MM).collect(),
            values,
            parts: cut.part_rows.clone().map(|it| {
                it.start.max(rows.start) - rows.start
                    ..it.end.min(rows.end).max(rows.start) - rows.start
            }),
        }
    }
}

/// Isotherms: round numbers between what is final and the highest.
fn levels(cut: &CrossSection) -> Vec<f64> {
    let (low, high) = (celsius(cut.final_above_k), celsius(cut.body_peak_k));
    let step = [10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1000.0]
        .into_iter()
        .find(|step| (high - low) / step <= 8.0)
        .unwrap_or(2000.0);
    let first = (low / step).ceil() as i32;
    let last = (high / step).floor() as i32;
    (first..=last).map(|it| f64::from(it) * step).collect()
}

/// The melt of both parts, each with its own hatch.
fn push_melt(joint: &Joint, sampled: &Sampled, figure: &mut Figure) {
    let parts = [
        ("melt of the upper part", &joint.upper, Fill::Rising),
        ("melt of the lower part", &joint.lower, Fill::Falling),
    ];
    for ((words, part, fill), rows) in parts.into_iter().zip(sampled.parts.clone()) {
        if rows.len() < 2 {
            continue;
        }
        let values = sampled
            .values
            .slice_axis(ndarray::Axis(0), ndarray::Slice::from(rows.clone()));
        let flow = celsius(part.material.thermal.flow_temperature_k.value);
        let lattice = Lattice::new(&sampled.x, &sampled.y[rows], values).refined([3, 3]);
        for (number, ring) in lattice.at_least(flow).rings.into_iter().enumerate() {
            let label = if number == 0 {
                Label::at(Place::Legend, format!("{words}, above {flow:.0} °C"))
            } else {
                Label::none()
            };
            let outline = ring.iter().chain(ring.first()).copied().collect();
            figure.marks.push(Mark::Line(Line::new(
                outline,
                Stroke::solid(Role::Ink),
                Label::none(),
            )));
            figure.marks.push(Mark::Region(Region {
                corners: ring,
                label,
                role: Role::Ink,
                fill,
            }));
        }
    }
}

/// Melt depths of the one-dimensional answer, dashed over the width of the light.
fn push_one_dimension(joint: &Joint, outcome: &Outcome, figure: &mut Figure) {
    let upper = joint.upper.thickness_m;
    let half = 0.5 * joint.beam.width_m / MM;
    let depths = [
        upper - outcome.history.upper_melt_depth_m,
        upper + outcome.history.lower_melt_depth_m,
    ];
    for (number, depth) in depths.into_iter().enumerate() {
        if depth == upper {
            continue;
        }
        let label = if number == 1 {
            Label::at(Place::Legend, "melt depths in one dimension")
        } else {
            Label::none()
        };
        figure.marks.push(Mark::Line(Line::new(
            vec![[-half, depth / MM], [half, depth / MM]],
            Stroke::dashed(Role::Degraded, Dash::Dashed),
            label,
        )));
    }
}

/// A dimension line for the width of the seam, in the upper part clear of the melt.
fn push_width(joint: &Joint, cut: &CrossSection, shown: &Shown, figure: &mut Figure) {
    let upper = joint.upper.thickness_m / MM;
    let half = 0.5 * cut.seam_width_m / MM;
    let at = upper - (cut.melt_depth_m[0] / MM + 0.16 * (shown.bottom - shown.top));
    let at = at.max(shown.top + 0.06 * (shown.bottom - shown.top));
    for side in [-half, half] {
        figure.marks.push(Mark::Line(Line::new(
            vec![[side, upper], [side, at]],
            Stroke::fine(Role::Ink, Dash::Solid),
            Label::none(),
        )));
    }
    let mut line = Line::new(
        vec![[-half, at], [half, at]],
        Stroke::fine(Role::Ink, Dash::Solid),
        Label::new(format!(
            "seam width {}",
            number::length(cut.seam_width_m, 3)
        )),
    );
    line.marker = Some(Marker::Disc);
    figure.marks.push(Mark::Line(line));
}
