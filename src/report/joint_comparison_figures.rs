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
use crate::report::weld_figures::{
    course, heating_s, is_long, shown_times, time_axis, time_unit_s,
};
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
                        "{letter}, {name}: {} beside the power. The joints are set by different \
                         things and share no axes.",
                        process::plural(it.window.window.lever)
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

/// Where a single passage begins on a logarithmic axis, as a share of the time it takes to get hottest.
const FROM_HOTTEST: f64 = 0.02;

/// Where a first pulse of several begins on a logarithmic axis, as a share of its time.
const FROM_PULSE: f64 = 0.1;

/// The axis over time that two joints share.
struct SharedTime {
    axis: Axis,
    unit_s: f64,
    first_s: f64,
    last_s: f64,
}

impl SharedTime {
    /// Even where in both the light returns or stays; else logarithmic, from the first pulse on.
    /// None where there is no record.
    fn of(both: [&JointResult; 2]) -> Option<Self> {
        let even = both.iter().all(|it| is_long(&it.joint));
        let any = both.iter().any(|it| is_long(&it.joint));
        let (mut first_s, mut last_s) = (f64::INFINITY, 0.0f64);
        for it in both {
            let record = it.outcome.history.record.as_ref()?;
            let lower_k = &record.interface_lower_k;
            let hottest = (0..lower_k.len()).max_by(|&a, &b| lower_k[a].total_cmp(&lower_k[b]))?;
            let pulse_s = it.joint.exposure(&it.outcome.beam).pulse_s();
            first_s = first_s.min(if is_long(&it.joint) {
                FROM_PULSE * pulse_s
            } else {
                FROM_HOTTEST * record.time_s[hottest]
            });
            last_s = last_s.max(if even {
                shown_times(&it.joint, &it.outcome, record).1
            } else {
                *record.time_s.last()?
            });
        }
        if even {
            first_s = 0.0;
        }
        let unit_s = if even {
            time_unit_s(&both[0].joint)
        } else {
            MM
        };
        let axis = if any && !even {
            Axis::log("Time since the first light reached the point", "ms")
        } else {
            time_axis(&both[0].joint)
        };
        Some(SharedTime {
            axis: axis.over(first_s / unit_s, last_s / unit_s),
            unit_s,
            first_s,
            last_s,
        })
    }
}

/// What the figure over time shows of passes that are not followed one by one.
fn spread_note(both: [&JointResult; 2]) -> String {
    let words = both.map(|it| process::spread_words(&it.joint));
    match words {
        [Some(a), Some(b)] if a == b => format!("A and B: {a}"),
        words => {
            let said = words.into_iter().zip(LETTERS);
            let said = said.filter_map(|(it, letter)| Some(format!("{letter}: {}", it?)));
            said.collect::<Vec<_>>().join(" ")
        }
    }
}

/// The colder side of each interface against time; none where there is no record.
pub fn heat_figure(both: [&JointResult; 2], names: [&str; 2]) -> Option<Figure> {
    let axis = SharedTime::of(both)?;
    let mut figure = Figure::new(
        "How hot the interface gets",
        axis.axis.clone(),
        Axis::linear("Temperature", "°C"),
    );
    figure.subtitle = which(names);
    figure.note = spread_note(both);
    for ((it, letter), (role, dash, ..)) in both.into_iter().zip(LETTERS).zip(STYLES) {
        let record = it.outcome.history.record.as_ref()?;
        let colder = record
            .interface_upper_k
            .iter()
            .zip(&record.interface_lower_k);
        let colder_k: Vec<f64> = colder.map(|(upper, lower)| upper.min(*lower)).collect();
        let change_s = heating_s(&it.joint, &it.outcome);
        // One point beyond either end, so that curves run to the frame, which cuts them.
        let course = course(&record.time_s, &colder_k, change_s);
        let from = course.partition_point(|it| it.0 < axis.first_s).max(1) - 1;
        let until = course.partition_point(|it| it.0 <= axis.last_s) + 1;
        let points = course
            .into_iter()
            .take(until)
            .skip(from)
            .map(|(time, t_k)| [time / axis.unit_s, celsius(t_k)])
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
