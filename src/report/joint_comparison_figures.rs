//! Two joints on shared axes: their windows, and their interfaces against time.

use crate::report::bundle::named;
use crate::report::figure::{
    Axis, Dash, Figure, Fill, Label, Line, Mark, Marker, Place, Points, Region, Stroke, Text,
};
use crate::report::joint_comparison::LETTERS;
use crate::report::joint_report::JointResult;
use crate::report::number;
use crate::report::page::Illustration;
use crate::report::palette::Role;
use crate::report::process::{self, PowerScale};
use crate::report::weld_figures::{course, heating_s};
use crate::report::window_figure::window_figure;
use crate::study::window::{SettingLine, Window};
use crate::units::{MM, celsius};

/// How each joint is drawn: colour, line, hatch and marker, so that none is told by colour alone.
const STYLES: [(Role, Dash, Fill, Marker); 2] = [
    (Role::Series(0), Dash::Solid, Fill::Rising, Marker::Cross),
    (Role::Series(1), Dash::Long, Fill::Falling, Marker::Saltire),
];

/// The two windows on one pair of axes, or each on its own where they are set by different things;
/// `names` say which joint is which, such as their files.
pub fn window_figures(both: [&JointResult; 2], names: [&str; 2]) -> Vec<(String, Illustration)> {
    match windows_figure(both, names) {
        Some(figure) => vec![named(
            "windows",
            figure,
            "Power against what is set beside it, both joints. Inside an outline every criterion of \
             that joint is met.",
        )],
        None => both
            .iter()
            .zip(LETTERS)
            .zip(names)
            .map(|((it, letter), name)| {
                named(
                    &format!("window-{}", letter.to_lowercase()),
                    window_figure(&it.joint, &it.window.window, Some(&it.window.band)),
                    &format!(
                        "{letter}, {name}: the joints are set by different things and share no axes."
                    ),
                )
            })
            .collect(),
    }
}

/// Which joint is which.
fn which([a, b]: [&str; 2]) -> String {
    format!("A: {a}; B: {b}")
}

/// Both windows: outline, hatch and recommended setpoint of each; none where they are set by
/// different things.
fn windows_figure(both: [&JointResult; 2], names: [&str; 2]) -> Option<Figure> {
    let windows = both.map(|it| &it.window.window);
    let lever = windows[0].lever;
    if lever != windows[1].lever {
        return None;
    }
    let (heading, unit) = process::heading(lever);
    let scale = PowerScale::of_window(windows[0]);
    let mut figure = Figure::new(
        "Where each of the two welds",
        Axis::log(heading, unit).over(
            process::shown(lever, windows[0].setting.0.min(windows[1].setting.0)),
            process::shown(lever, windows[0].setting.1.max(windows[1].setting.1)),
        ),
        Axis::log(scale.label, scale.unit),
    );
    figure.subtitle = which(names);
    figure.size = [820.0, 560.0];
    for ((window, letter), style) in windows.into_iter().zip(LETTERS).zip(STYLES) {
        push_window(&mut figure, window, letter, style);
    }
    Some(figure)
}

fn push_window(
    figure: &mut Figure,
    window: &Window,
    letter: &str,
    (role, dash, fill, marker): (Role, Dash, Fill, Marker),
) {
    let (lever, scale) = (window.lever, PowerScale::of_window(window));
    let edge = |lines: &[SettingLine], of: fn(&SettingLine) -> Option<f64>| -> Vec<[f64; 2]> {
        lines
            .iter()
            .filter_map(|line| Some([process::shown(lever, line.setting), of(line)? * scale.per_w]))
            .collect()
    };
    let mut named = false;
    for run in window.lines.split(|it| !it.limits.is_open()) {
        if run.len() < 2 {
            continue;
        }
        let low = edge(run, |it| it.limits.low.power_w());
        let high = edge(run, |it| it.limits.high.power_w());
        figure.marks.push(Mark::Region(Region {
            corners: low.iter().chain(high.iter().rev()).copied().collect(),
            label: Label::none(),
            role,
            fill,
        }));
        for (points, word) in [(high, "highest"), (low, "lowest")] {
            let label = if named {
                Label::none()
            } else {
                Label::new(format!("{letter}: {word} sound power"))
            };
            figure.marks.push(Mark::Line(Line::new(
                points,
                Stroke::dashed(role, dash),
                label,
            )));
        }
        named = true;
    }
    if let Some(it) = window.setpoint {
        let at = [process::shown(lever, it.setting), it.power_w * scale.per_w];
        // Words beside both would not fit where the setpoints are close: both stand in the legend,
        // and a letter beside each.
        figure.marks.push(Mark::Points(Points {
            points: vec![at],
            errors: Vec::new(),
            label: Label::at(
                Place::Legend,
                format!(
                    "{letter} recommended: {}, {}",
                    scale.say(it.power_w, 3),
                    process::say(lever, it.setting)
                ),
            ),
            marker,
            role: Role::Ink,
            radius_px: 7.0,
        }));
        figure.marks.push(Mark::Text(Text {
            at,
            text: letter.into(),
            role: Role::Ink,
            strong: true,
        }));
    }
}

/// The colder side of each interface against time; none where there is no record.
pub fn heat_figure(both: [&JointResult; 2], names: [&str; 2]) -> Option<Figure> {
    let mut figure = Figure::new(
        "How hot the interface gets",
        Axis::log("Time since the light reached the point", "ms"),
        Axis::linear("Temperature", "°C"),
    );
    figure.subtitle = which(names);
    for ((it, letter), (role, dash, ..)) in both.into_iter().zip(LETTERS).zip(STYLES) {
        let record = it.outcome.history.record.as_ref()?;
        // From a fiftieth of the time it takes to get hottest.
        let hottest = (0..record.time_s.len())
            .max_by(|&a, &b| record.interface_lower_k[a].total_cmp(&record.interface_lower_k[b]))?;
        let first_s = 0.02 * record.time_s[hottest];
        let colder = record
            .interface_upper_k
            .iter()
            .zip(&record.interface_lower_k);
        let colder_k: Vec<f64> = colder.map(|(upper, lower)| upper.min(*lower)).collect();
        let change_s = heating_s(&it.joint, &it.outcome);
        let points = course(&record.time_s, &colder_k, change_s)
            .into_iter()
            .filter(|it| first_s <= it.0)
            .map(|(time, t_k)| [time / MM, celsius(t_k)])
            .collect();
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(role, dash),
            Label::new(format!("{letter}: {}", it.setpoint_words())),
        )));
    }
    let flow = both.map(|it| {
        let (upper, lower) = (&it.joint.upper.material, &it.joint.lower.material);
        upper
            .thermal
            .flow_temperature_k
            .value
            .max(lower.thermal.flow_temperature_k.value)
    });
    for (i, at) in flow.into_iter().enumerate() {
        let shared = (flow[0] - flow[1]).abs() < 0.5;
        if shared && i == 1 {
            break;
        }
        let words = if shared {
            "flow"
        } else {
            ["A: flow", "B: flow"][i]
        };
        figure.marks.push(Mark::HLine(crate::report::figure::Rule {
            at: celsius(at),
            label: Label::at(
                Place::Beside,
                format!("{words}, {}", number::temperature(at)),
            ),
            stroke: Stroke::fine(Role::Ink, Dash::Dotted),
        }));
    }
    Some(figure)
}
