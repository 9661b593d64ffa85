//! The window as a figure: power against speed, both boundaries with the criteria that set them.

use crate::report::figure::Band as Area;
use crate::report::figure::{
    Axis, Dash, Figure, Fill, Guides, Label, Line, Mark, Marker, Place, Points, Rectangle, Region,
    Rule as Straight, Stroke, Text,
};
use crate::report::number;
use crate::report::palette::Role;
use crate::report::process::{self, PowerScale};
use crate::study::band::Band;
use crate::study::window::{SettingLine, Window};
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;
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

/// A window in the units it is drawn in.
struct Shown<'w> {
    window: &'w Window,
    scale: PowerScale,
}

impl Shown<'_> {
    fn setting(&self, value: f64) -> f64 {
        process::shown(self.window.lever, value)
    }

    fn point(&self, setting: f64, power_w: f64) -> [f64; 2] {
        [self.setting(setting), power_w * self.scale.per_w]
    }

    /// Setting and one power of each line, where there is one.
    fn boundary(
        &self,
        lines: &[SettingLine],
        power: impl Fn(&SettingLine) -> Option<(f64, Option<Rule>)>,
    ) -> Vec<([f64; 2], Option<Rule>)> {
        lines
            .iter()
            .filter_map(|line| {
                let (power_w, rule) = power(line)?;
                Some((self.point(line.setting, power_w), rule))
            })
            .collect()
    }
}

fn lower(line: &SettingLine) -> Option<(f64, Option<Rule>)> {
    Some((line.limits.low.power_w()?, line.limits.low.rule()))
}

fn upper(line: &SettingLine) -> Option<(f64, Option<Rule>)> {
    Some((line.limits.high.power_w()?, line.limits.high.rule()))
}

/// Draws a window, with its band of uncertainty where one was traced.
pub fn window_figure(joint: &Joint, window: &Window, band: Option<&Band>) -> Figure {
    let shown = Shown {
        window,
        scale: PowerScale::of_window(window),
    };
    let settings = (
        shown.setting(window.setting.0),
        shown.setting(window.setting.1),
    );
    let powers_w = shown_powers(window);
    let powers = (
        powers_w.0 * shown.scale.per_w,
        powers_w.1 * shown.scale.per_w,
    );
    let (heading, unit) = process::heading(window.lever);
    let mut figure = Figure::new(
        "Where it welds",
        Axis::log(heading, unit).over(settings.0, settings.1),
        Axis::log(shown.scale.label, shown.scale.unit).over(powers.0, powers.1),
    );
    figure.subtitle = subtitle(joint);
    figure.size = [820.0, 560.0];

    let guides = process::energy_guides(joint, settings, powers);
    figure.marks.push(Mark::Guides(Guides {
        exponent: guides.exponent,
        constants: guides.constants,
    }));
    sound_regions(&shown, &mut figure);
    if let Some(band) = band {
        push_bands(&shown, band, &mut figure);
    }
    push_boundary(&shown.boundary(&window.lines, lower), &mut figure);
    push_boundary(&shown.boundary(&window.lines, upper), &mut figure);
    push_machine(&shown, powers_w, &mut figure);
    push_setpoint(&shown, &mut figure);
    push_stated(joint, &shown, &mut figure);
    push_shut(&shown, powers, &mut figure);
    figure
}

fn subtitle(joint: &Joint) -> String {
    format!(
        "{} {} on {}, {}, {}",
        number::length(joint.upper.thickness_m, 2),
        joint.upper.material.name,
        joint.lower.material.name,
        number::wavelength(joint.wavelength_m),
        process::spot(joint),
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

/// An area of sound power; one of them is named.
pub fn sound_area(corners: Vec<[f64; 2]>, is_named: bool) -> Mark {
    Mark::Region(Region {
        corners,
        label: if is_named {
            Label::new("sound")
        } else {
            Label::none()
        },
        role: Role::Sound,
        fill: Fill::Tint,
    })
}

/// The closed areas of sound power, one for each run of settings.
fn sound_regions(shown: &Shown, figure: &mut Figure) {
    let window = shown.window;
    let runs = window.lines.split(|it| !it.limits.is_open());
    let widest = window
        .lines
        .split(|it| !it.limits.is_open())
        .map(<[SettingLine]>::len)
        .max()
        .unwrap_or(0);
    for run in runs.filter(|run| 1 < run.len()) {
        let bottom = shown.boundary(run, lower).into_iter().map(|it| it.0);
        let top = shown.boundary(run, upper).into_iter().map(|it| it.0).rev();
        let corners = bottom.chain(top).collect();
        figure.marks.push(sound_area(corners, run.len() == widest));
    }
}

/// One standard deviation either side of each boundary.
fn push_bands(shown: &Shown, band: &Band, figure: &mut Figure) {
    let window = shown.window;
    let mut labelled = false;
    for (sigma, is_low) in [(&band.low, true), (&band.high, false)] {
        let mut edges: (Vec<[f64; 2]>, Vec<[f64; 2]>) = (Vec::new(), Vec::new());
        for (&setting, sigma) in band.setting.iter().zip(sigma) {
            let line = window.lines.iter().find(|it| it.setting == setting);
            let power = line.and_then(|line| if is_low { lower(line) } else { upper(line) });
            // Where a boundary lies beyond the powers looked at it has no band.
            if let (Some(sigma), Some((power, Some(_)))) = (sigma, power) {
                edges.0.push(shown.point(setting, power * (-sigma).exp()));
                edges.1.push(shown.point(setting, power * sigma.exp()));
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
pub fn push_boundary(points: &[([f64; 2], Option<Rule>)], figure: &mut Figure) {
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

fn push_machine(shown: &Shown, powers_w: (f64, f64), figure: &mut Figure) {
    let Some(machine) = shown.window.machine else {
        return;
    };
    let limits = [
        (machine.power_w.1, "greatest laser power"),
        (machine.power_w.0, "least laser power"),
    ];
    for (at_w, words) in limits {
        if powers_w.0 < at_w && at_w < powers_w.1 {
            figure.marks.push(Mark::HLine(Straight {
                at: at_w * shown.scale.per_w,
                label: Label::new(format!("{words}, {}", shown.scale.say(at_w, 3))),
                stroke: Stroke::fine(Role::Ink, Dash::Dotted),
            }));
        }
    }
}

fn push_setpoint(shown: &Shown, figure: &mut Figure) {
    let Some(setpoint) = shown.window.setpoint else {
        return;
    };
    let [setting, power] = shown.point(setpoint.setting, setpoint.power_w);
    if 1.0 < setpoint.ratio {
        figure.marks.push(Mark::Box(Rectangle {
            x: [setting / setpoint.ratio, setting * setpoint.ratio],
            y: [power / setpoint.ratio, power * setpoint.ratio],
            label: Label::none(),
            stroke: Stroke::solid(Role::Ink),
            fill: None,
        }));
    }
    figure.marks.push(Mark::Points(Points {
        points: vec![[setting, power]],
        errors: Vec::new(),
        label: Label::new(format!(
            "recommended: {}, {}",
            shown.scale.say(setpoint.power_w, 3),
            process::say(shown.window.lever, setpoint.setting)
        )),
        marker: Marker::Cross,
        role: Role::Ink,
        radius_px: 7.0,
    }));
}

/// The setpoint the joint file states, to compare.
fn push_stated(joint: &Joint, shown: &Shown, figure: &mut Figure) {
    if joint.beam.power_w <= 0.0 {
        return;
    }
    figure.marks.push(Mark::Points(Points {
        points: vec![shown.point(joint.motion.setting(), joint.beam.power_w)],
        errors: Vec::new(),
        label: Label::new("joint file"),
        marker: Marker::Ring,
        role: Role::Ink,
        radius_px: 5.0,
    }));
}

/// Says that there is nothing between the boundaries where they have crossed.
fn push_shut(shown: &Shown, powers: (f64, f64), figure: &mut Figure) {
    let window = shown.window;
    if window.open_settings().is_some() {
        return;
    }
    figure.marks.push(Mark::Text(Text {
        at: [
            shown.setting((window.setting.0 * window.setting.1).sqrt()),
            powers.0.powf(0.75) * powers.1.powf(0.25),
        ],
        text: format!(
            "no sound power at any {} shown",
            match window.lever {
                Lever::Speed => "feed rate",
                Lever::Passes => "number of passes",
                Lever::Turns => "number of turns",
                Lever::Time => "time",
            }
        ),
        role: Role::Ink,
        strong: true,
    }));
}
