//! The window as a figure: power against speed, both boundaries with the criteria that set them.

use crate::report::figure::Band as Area;
use crate::report::figure::{
    Axis, Dash, Figure, Fill, Guides, Label, Line, Mark, Marker, Place, Points, Rectangle, Region,
    Rule as Straight, Stroke, Text, Tick,
};
use crate::report::number;
use crate::report::palette::Role;
use crate::study::band::Band;
use crate::study::window::{SpeedLine, Window};
use crate::units::MM;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::verdict::Verdict;

/// The colour role of what a broken rule makes of a weld.
pub fn role_of(rule: Rule) -> Role {
    match Verdict::of_broken(rule) {
        Verdict::Sound => Role::Sound,
        Verdict::Unfused => Role::Unfused,
        Verdict::Weak => Role::Weak,
        Verdict::Degraded => Role::Degraded,
        Verdict::Marked => Role::Marked,
    }
}

/// Speed in mm/s and one power of each line, where there is one.
fn boundary(
    lines: &[SpeedLine],
    power: impl Fn(&SpeedLine) -> Option<(f64, Option<Rule>)>,
) -> Vec<([f64; 2], Option<Rule>)> {
    lines
        .iter()
        .filter_map(|line| {
            let (power_w, rule) = power(line)?;
            Some(([line.speed_m_per_s / MM, power_w], rule))
        })
        .collect()
}

fn lower(line: &SpeedLine) -> Option<(f64, Option<Rule>)> {
    Some((line.limits.low.power_w()?, line.limits.low.rule()))
}

fn upper(line: &SpeedLine) -> Option<(f64, Option<Rule>)> {
    Some((line.limits.high.power_w()?, line.limits.high.rule()))
}

/// Draws a window, with its band of uncertainty where one was traced.
pub fn window_figure(joint: &Joint, window: &Window, band: Option<&Band>) -> Figure {
    let speeds = window.speed_m_per_s;
    let powers = shown_powers(window);
    let mut figure = Figure::new(
        "Where it welds",
        Axis::log("Feed rate", "mm/s").over(speeds.0 / MM, speeds.1 / MM),
        Axis::log("Laser power at the part", "W").over(powers.0, powers.1),
    );
    figure.subtitle = subtitle(joint);
    figure.size = [820.0, 560.0];

    figure.marks.push(Mark::Guides(Guides {
        exponent: 1.0,
        constants: line_energies(speeds, powers),
    }));
    sound_regions(window, &mut figure);
    if let Some(band) = band {
        push_bands(window, band, &mut figure);
    }
    push_boundary(&boundary(&window.lines, lower), &mut figure);
    push_boundary(&boundary(&window.lines, upper), &mut figure);
    push_machine(window, powers, &mut figure);
    push_setpoint(window, &mut figure);
    push_stated(joint, &mut figure);
    push_shut(window, powers, &mut figure);
    figure
}

fn subtitle(joint: &Joint) -> String {
    format!(
        "{} {} on {}, {}, spot {} × {}",
        number::length(joint.upper.thickness_m, 2),
        joint.upper.material.name,
        joint.lower.material.name,
        number::wavelength(joint.wavelength_m),
        number::length(joint.beam.length_m, 2),
        number::length(joint.beam.width_m, 2),
    )
}

/// Powers on the axis: the sound powers and the machine's, with room around.
fn shown_powers(window: &Window) -> (f64, f64) {
    let sound = window
        .lines
        .iter()
        .flat_map(|it| [it.limits.low.power_w(), it.limits.high.power_w()])
        .flatten();
    let machine = window
        .machine
        .map(|it| [it.power_w.1, it.power_w.0.max(it.power_w.1 / 100.0)]);
    let (low, high) = sound
        .chain(machine.into_iter().flatten())
        .fold((f64::INFINITY, 0.0f64), |(low, high), it| {
            (low.min(it), high.max(it))
        });
    if high <= 0.0 {
        return window.power_w;
    }
    (
        (low / 1.4).max(window.power_w.0),
        (high * 1.4).min(window.power_w.1),
    )
}

/// Round line energies in J/mm that cross the plot, as guides P = e · v.
fn line_energies(speeds: (f64, f64), powers: (f64, f64)) -> Vec<Tick> {
    let (least, most) = (powers.0 / (speeds.1 / MM), powers.1 / (speeds.0 / MM));
    let mut ticks = Vec::new();
    for decade in -6i32..6 {
        for digit in [1.0, 2.0, 5.0] {
            let at = digit * 10f64.powi(decade);
            if least * 1.3 < at && at < most / 1.3 {
                ticks.push(Tick {
                    at,
                    label: format!("{} J/mm", number::short(at, 2)),
                });
            }
        }
    }
    // More than seven guides crowd the plot: keep whole decades and halves of them.
    if 7 < ticks.len() {
        ticks.retain(|it| {
            let digit = it.at / 10f64.powf(it.at.log10().floor());
            (digit - 2.0).abs() > 0.5
        });
    }
    ticks
}

/// The closed areas of sound power, one for each run of speeds.
fn sound_regions(window: &Window, figure: &mut Figure) {
    let runs = window.lines.split(|it| !it.limits.is_open());
    let widest = window
        .lines
        .split(|it| !it.limits.is_open())
        .map(<[SpeedLine]>::len)
        .max()
        .unwrap_or(0);
    for run in runs.filter(|run| 1 < run.len()) {
        let bottom = boundary(run, lower).into_iter().map(|it| it.0);
        let top = boundary(run, upper).into_iter().map(|it| it.0).rev();
        figure.marks.push(Mark::Region(Region {
            corners: bottom.chain(top).collect(),
            label: if run.len() == widest {
                Label::new("sound")
            } else {
                Label::none()
            },
            role: Role::Sound,
            fill: Fill::Tint,
        }));
    }
}

/// One standard deviation either side of each boundary.
fn push_bands(window: &Window, band: &Band, figure: &mut Figure) {
    let mut labelled = false;
    for (sigma, is_low) in [(&band.low, true), (&band.high, false)] {
        let mut edges: (Vec<[f64; 2]>, Vec<[f64; 2]>) = (Vec::new(), Vec::new());
        for (&speed, sigma) in band.speed_m_per_s.iter().zip(sigma) {
            let line = window.lines.iter().find(|it| it.speed_m_per_s == speed);
            let power = line.and_then(|line| if is_low { lower(line) } else { upper(line) });
            // Where a boundary lies beyond the powers looked at it has no band.
            if let (Some(sigma), Some((power, Some(_)))) = (sigma, power) {
                edges.0.push([speed / MM, power * (-sigma).exp()]);
                edges.1.push([speed / MM, power * sigma.exp()]);
            }
        }
        if edges.0.len() < 2 {
            continue;
        }
        figure.marks.push(Mark::Band(Area {
            lower: edges.0,
            upper: edges.1,
            label: if labelled {
                Label::none()
            } else {
                Label::at(Place::Legend, "boundary, ± one standard deviation")
            },
            role: Role::Quiet,
            fill: if is_low { Fill::Rising } else { Fill::Falling },
        }));
        labelled = true;
    }
}

/// A boundary in pieces, each named by the criterion that sets it.
fn push_boundary(points: &[([f64; 2], Option<Rule>)], figure: &mut Figure) {
    let mut start = 0;
    while start < points.len() {
        let rule = points[start].1;
        let mut end = start;
        while end + 1 < points.len() && points[end + 1].1 == rule {
            end += 1;
        }
        if let Some(rule) = rule {
            // Pieces meet in the first point of the next.
            let last = (end + 1).min(points.len() - 1);
            let piece: Vec<[f64; 2]> = points[start..=last].iter().map(|it| it.0).collect();
            let dash = match Verdict::of_broken(rule) {
                Verdict::Degraded => Dash::Long,
                Verdict::Marked => Dash::DashDot,
                _ => Dash::Solid,
            };
            let long = start + 2 < last;
            figure.marks.push(Mark::Line(Line::new(
                piece,
                Stroke::dashed(role_of(rule), dash),
                if long {
                    Label::new(edge_label(rule))
                } else {
                    Label::none()
                },
            )));
        }
        start = end + 1;
    }
}

fn edge_label(rule: Rule) -> String {
    let side = if rule.wants_heat() { "below" } else { "above" };
    format!(
        "{side}: {} ({})",
        Verdict::of_broken(rule).word(),
        rule.name()
    )
}

fn push_machine(window: &Window, powers: (f64, f64), figure: &mut Figure) {
    let Some(machine) = window.machine else {
        return;
    };
    let limits = [
        (machine.power_w.1, "greatest laser power"),
        (machine.power_w.0, "least laser power"),
    ];
    for (at, words) in limits {
        if powers.0 < at && at < powers.1 {
            figure.marks.push(Mark::HLine(Straight {
                at,
                label: Label::new(format!("{words}, {}", number::power(at, 3))),
                stroke: Stroke::fine(Role::Ink, Dash::Dotted),
            }));
        }
    }
}

fn push_setpoint(window: &Window, figure: &mut Figure) {
    let Some(setpoint) = window.setpoint else {
        return;
    };
    let (speed, power) = (setpoint.speed_m_per_s / MM, setpoint.power_w);
    if 1.0 < setpoint.ratio {
        figure.marks.push(Mark::Box(Rectangle {
            x: [speed / setpoint.ratio, speed * setpoint.ratio],
            y: [power / setpoint.ratio, power * setpoint.ratio],
            label: Label::none(),
            stroke: Stroke::solid(Role::Ink),
            fill: None,
        }));
    }
    figure.marks.push(Mark::Points(Points {
        points: vec![[speed, power]],
        errors: Vec::new(),
        label: Label::new(format!(
            "recommended: {}, {}",
            number::power(power, 3),
            number::speed(setpoint.speed_m_per_s, 3)
        )),
        marker: Marker::Cross,
        role: Role::Ink,
        radius_px: 7.0,
    }));
}

/// The setpoint the joint file states, to compare.
fn push_stated(joint: &Joint, figure: &mut Figure) {
    let crate::weld::joint::Motion::Contour { speed_m_per_s } = joint.motion;
    if joint.beam.power_w <= 0.0 {
        return;
    }
    figure.marks.push(Mark::Points(Points {
        points: vec![[speed_m_per_s / MM, joint.beam.power_w]],
        errors: Vec::new(),
        label: Label::new("joint file"),
        marker: Marker::Ring,
        role: Role::Ink,
        radius_px: 5.0,
    }));
}

/// Says that there is nothing between the boundaries where they have crossed.
fn push_shut(window: &Window, powers: (f64, f64), figure: &mut Figure) {
    if window.open_speeds_m_per_s().is_some() {
        return;
    }
    figure.marks.push(Mark::Text(Text {
        at: [
            (window.speed_m_per_s.0 * window.speed_m_per_s.1).sqrt() / MM,
            powers.0.powf(0.75) * powers.1.powf(0.25),
        ],
        text: "no sound power at any feed rate shown".into(),
        role: Role::Ink,
        strong: true,
    }));
}
