//! The figures of a requirement.

use crate::material::Absorber;
use crate::report::figure::{Axis, Dash, Figure, Label, Line, Mark, Rule as Straight, Stroke};
use crate::report::number;
use crate::report::palette::Role;
use crate::report::require_report::{no_sound_power, say_point};
use crate::study::requirement::{Point, Range, Requirement, Vary, drift_of};
use crate::units::{MM, PER_MM};
use crate::weld::joint::Joint;

/// Drift allowed in percent; none drawn below no sound power.
fn drift_percent(point: &Point) -> f64 {
    match point.latitude {
        Some(latitude) if -0.25 < drift_of(latitude) => 100.0 * drift_of(latitude),
        _ => f64::NAN,
    }
}

fn drift_axis() -> Axis {
    Axis::linear("Drift of power allowed, either way", "%")
}

fn asked_line(joint: &Joint, it: &Requirement, figure: &mut Figure) {
    figure.marks.push(Mark::HLine(Straight {
        at: 100.0 * it.ask.drift,
        label: Label::new(format!("asked: ± {}", number::percent(it.ask.drift, 2))),
        stroke: Stroke::fine(Role::Ink, Dash::Dashed),
    }));
    figure.marks.push(Mark::HLine(Straight {
        at: 0.0,
        label: Label::new(format!("below: {}", no_sound_power(joint))),
        stroke: Stroke::fine(Role::Quiet, Dash::Dotted),
    }));
}

/// Drift against transmittance, by what makes the part dark.
pub fn transmittance_figure(joint: &Joint, it: &Requirement) -> Figure {
    let mut figure = Figure::new(
        "How much light must pass",
        Axis::linear(
            format!(
                "Total transmittance at {}, {}",
                number::wavelength(joint.wavelength_m),
                number::length(joint.upper.thickness_m, 3)
            ),
            "%",
        ),
        drift_axis(),
    );
    figure.size = [820.0, 480.0];
    let styles = [Dash::Solid, Dash::Long, Dash::DashDot];
    let ways = it
        .answers
        .iter()
        .filter(|row| !matches!(row.0, Vary::Thickness | Vary::Absorber));
    for (i, (vary, _, grid)) in ways.enumerate() {
        let points = grid
            .iter()
            .map(|it| [100.0 * it.transmittance, drift_percent(it)])
            .collect();
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(Role::Series(i), styles[i % styles.len()]),
            Label::new(vary.words().0),
        )));
    }
    asked_line(joint, it, &mut figure);
    figure.marks.push(Mark::VLine(Straight {
        at: 100.0 * it.own.transmittance,
        label: Label::new("this grade"),
        stroke: Stroke::fine(Role::Ink, Dash::Dotted),
    }));
    if let Some((_, least)) = it.least_transmittance() {
        figure.marks.push(Mark::VLine(Straight {
            at: 100.0 * least.transmittance,
            label: Label::new(format!("least {}", number::percent(least.transmittance, 3))),
            stroke: Stroke::fine(Role::Ink, Dash::Solid),
        }));
    }
    figure
}

/// Drift against thickness or absorber; none where it was not varied.
pub fn range_figure(joint: &Joint, it: &Requirement, vary: Vary) -> Option<Figure> {
    let (_, range, grid) = it.answers.iter().find(|row| row.0 == vary)?;
    let content = match &joint.lower.absorber {
        Some(Absorber::CarbonBlack { content, .. }) => Some(*content),
        _ => None,
    };
    let x = |point: &Point| match (vary, content) {
        (Vary::Thickness, _) => point.joint.upper.thickness_m / MM,
        (_, Some(content)) => 100.0 * content * point.factor,
        (_, None) => point
            .joint
            .lower
            .optical_at(point.joint.wavelength_m)
            .map_or(f64::NAN, |it| it.mu_a_per_m / PER_MM),
    };
    let axis = match (vary, content) {
        (Vary::Thickness, _) => Axis::log("Thickness of the upper part", "mm"),
        (_, Some(_)) => Axis::log("Carbon black in the lower part", "wt%"),
        (_, None) => Axis::log("Absorption of the lower part", "1/mm"),
    };
    let title = match vary {
        Vary::Thickness => "How thick it may be",
        _ => "How black it must be",
    };
    let mut figure = Figure::new(title, axis, drift_axis());
    figure.size = [820.0, 400.0];
    figure.marks.push(Mark::Line(Line::new(
        grid.iter().map(|it| [x(it), drift_percent(it)]).collect(),
        Stroke::solid(Role::Series(0)),
        Label::none(),
    )));
    asked_line(joint, it, &mut figure);
    figure.marks.push(Mark::VLine(Straight {
        at: x(&it.own),
        label: Label::new("this joint"),
        stroke: Stroke::fine(Role::Ink, Dash::Dotted),
    }));
    if let Range::Found(least, most) = range {
        for end in [least, most].into_iter().filter(|it| it.is_limit()) {
            figure.marks.push(Mark::VLine(Straight {
                at: x(end.point()),
                label: Label::new(say_point(joint, vary, end.point())),
                stroke: Stroke::fine(Role::Ink, Dash::Solid),
            }));
        }
    }
    Some(figure)
}
