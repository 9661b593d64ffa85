//! One weld as figures: temperature against depth, and temperature against time.

use crate::heat::Record;
use crate::material::Material;
use crate::numerics::interpolate::MonotoneCubic;
use crate::report::figure::{
    Axis, Dash, Figure, Label, Line, Mark, Place, Rule as Straight, Stroke,
};
use crate::report::number;
use crate::report::palette::Role;
use crate::report::process;
use crate::units::{GAS_CONSTANT_J_PER_MOL_K, MM, celsius};
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;
use crate::weld::simulate::Outcome;

/// Temperature against depth at several times; none without a record.
pub fn depth_figure(joint: &Joint, outcome: &Outcome) -> Option<Figure> {
    let record = outcome.history.record.as_ref()?;
    let chosen = times_to_show(joint, outcome, record);
    let upper_mm = joint.upper.thickness_m / MM;
    let shown = shown_depths(record, &chosen, joint);
    let mut figure = Figure::new(
        "How hot, how deep",
        Axis::linear("Depth from the laser side of the upper part", "mm").over(shown.0, shown.1),
        Axis::linear("Temperature", "°C"),
    );
    figure.subtitle = subtitle(joint);
    for (place, &row) in chosen.iter().enumerate() {
        let points = record
            .depth_m
            .iter()
            .zip(&record.temperature_k[row])
            .map(|(&depth, &t_k)| [depth / MM, celsius(t_k)])
            .filter(|it| shown.0 <= it[0] && it[0] <= shown.1)
            .collect();
        let share = place as f64 / (chosen.len().max(2) - 1) as f64;
        let dash = if record.time_s[row] <= heating_s(joint, outcome) * (1.0 + 1e-9) {
            Dash::Solid
        } else {
            Dash::Dashed
        };
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(Role::Along(share), dash),
            Label::at(Place::Legend, number::duration(record.time_s[row], 2)),
        )));
    }
    figure.marks.push(Mark::VLine(Straight {
        at: upper_mm,
        label: Label::new("interface"),
        stroke: Stroke::fine(Role::Ink, Dash::Solid),
    }));
    push_limits(joint, outcome, &mut figure);
    figure.note = "Solid: light on; dashed: cooling.".into();
    Some(figure)
}

/// Interface and laser-side surface against time; none without a record.
pub fn time_figure(joint: &Joint, outcome: &Outcome) -> Option<Figure> {
    let record = outcome.history.record.as_ref()?;
    let mut figure = Figure::new(
        "How hot, how long",
        time_axis(joint),
        Axis::linear("Temperature", "°C"),
    );
    figure.subtitle = subtitle(joint);
    let (first_s, mut last_s) = shown_times(joint, outcome, record);
    let (shown_until_s, later) = with_peaks(last_s, heating_s(joint, outcome), record);
    last_s = shown_until_s;
    let unit_s = time_unit_s(joint);
    figure.x = figure.x.over(first_s / unit_s, last_s / unit_s);
    figure.note = [process::spread_words(joint), later]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" ");
    let change_s = heating_s(joint, outcome);
    let curve = |values: &[f64]| -> Vec<[f64; 2]> {
        // One point beyond the end, so that curves run to the frame, which cuts them.
        let course = course(&record.time_s, values, change_s);
        let until = course.partition_point(|it| it.0 <= last_s) + 1;
        course
            .into_iter()
            .take(until)
            .filter(|it| first_s <= it.0)
            .map(|(time, t_k)| [time / unit_s, celsius(t_k)])
            .collect()
    };
    let two_sided = record
        .interface_upper_k
        .iter()
        .zip(&record.interface_lower_k)
        .any(|(upper, lower)| 1.0 < (upper - lower).abs());
    let curves = if two_sided {
        vec![
            (
                &record.interface_upper_k,
                "interface, upper side",
                Dash::Solid,
                0,
            ),
            (
                &record.interface_lower_k,
                "interface, lower side",
                Dash::Long,
                1,
            ),
            (&record.laser_side_k, "laser-side surface", Dash::DashDot, 3),
        ]
    } else {
        vec![
            (&record.interface_upper_k, "interface", Dash::Solid, 0),
            (&record.laser_side_k, "laser-side surface", Dash::DashDot, 3),
        ]
    };
    for (values, words, dash, series) in curves {
        figure.marks.push(Mark::Line(Line::new(
            curve(values),
            Stroke::dashed(Role::Series(series), dash),
            Label::new(words),
        )));
    }
    figure.marks.push(Mark::VLine(Straight {
        at: heating_s(joint, outcome) / unit_s,
        label: Label::new("light off"),
        stroke: Stroke::fine(Role::Quiet, Dash::Dotted),
    }));
    push_limits(joint, outcome, &mut figure);
    Some(figure)
}

/// A figure over time is lengthened for a late peak up to this many times the time of heating; longer,
/// the heating itself would hardly show.
const LONGEST_SHOWN: f64 = 5.0;

/// Room behind the last peak, as a share of its time.
const BEHIND_PEAK: f64 = 0.15;

/// A rise that is worth the name of a peak, K.
const LEAST_PEAK_K: f64 = 1.0;

/// How long to show so that every peak has come, s; of one that comes too late for that, when.
fn with_peaks(last_s: f64, heating_s: f64, record: &Record) -> (f64, Option<String>) {
    let ended_s = record.time_s.last().copied().unwrap_or(last_s);
    let (mut until_s, mut late) = (last_s, Vec::new());
    for (values, words) in [
        (&record.interface_upper_k, "the upper side of the interface"),
        (&record.interface_lower_k, "the lower side of the interface"),
        (&record.laser_side_k, "the laser-side surface"),
    ] {
        let peak = (0..values.len()).max_by(|&a, &b| values[a].total_cmp(&values[b]));
        // What still rises when the run ends has no peak to name.
        let is_peak =
            |row: &usize| row + 1 < values.len() && values[0] + LEAST_PEAK_K < values[*row];
        let Some(row) = peak.filter(is_peak) else {
            continue;
        };
        let peak_s = record.time_s[row];
        if peak_s <= last_s {
            continue;
        }
        if peak_s <= LONGEST_SHOWN * heating_s {
            until_s = until_s.max((1.0 + BEHIND_PEAK) * peak_s).min(ended_s);
        } else {
            late.push(format!(
                "{words} is hottest at {} with {}",
                number::duration(peak_s, 2),
                number::temperature(values[row])
            ));
        }
    }
    let later = (!late.is_empty()).then(|| format!("Later than shown: {}.", late.join("; ")));
    (until_s, later)
}

/// Points drawn in every step of a course.
const DRAWN_IN_A_STEP: usize = 6;

/// A course with points between the times followed, so that long steps show no corners: monotone
/// cubics before and after the light changes.
pub(super) fn course(time_s: &[f64], values: &[f64], change_s: f64) -> Vec<(f64, f64)> {
    let at = time_s.partition_point(|it| *it < change_s * (1.0 - 1e-9));
    let parts = [0..(at + 1).min(time_s.len()), at..time_s.len()];
    let mut points = Vec::new();
    for part in parts {
        let (time_s, values) = (&time_s[part.clone()], &values[part]);
        let Ok(curve) = MonotoneCubic::new(time_s.to_vec(), values.to_vec()) else {
            points.extend(time_s.iter().copied().zip(values.iter().copied()));
            continue;
        };
        for pair in time_s.windows(2) {
            points.extend((0..DRAWN_IN_A_STEP).map(|k| {
                let t = pair[0] + (pair[1] - pair[0]) * k as f64 / DRAWN_IN_A_STEP as f64;
                (t, curve.at(t))
            }));
        }
        points.extend(time_s.last().copied().zip(values.last().copied()));
    }
    points.dedup();
    points
}

/// True where the light returns or stays, so that all of the time matters alike.
pub(super) fn is_long(joint: &Joint) -> bool {
    1 < joint.motion.passes() || joint.motion.lever() == Lever::Time
}

/// Unit of the time axis, s: a passage lasts ms, all passes s.
pub(super) fn time_unit_s(joint: &Joint) -> f64 {
    if is_long(joint) { 1.0 } else { MM }
}

/// Axis over time: even where the light returns or stays, logarithmic for one passage.
pub fn time_axis(joint: &Joint) -> Axis {
    if is_long(joint) {
        Axis::linear("Time since the first light reached the point", "s")
    } else {
        Axis::log("Time since the light reached the point", "ms")
    }
}

/// Times to show, s: from the first light, or a fiftieth of one passage, until it is cool.
pub(super) fn shown_times(joint: &Joint, outcome: &Outcome, record: &Record) -> (f64, f64) {
    let heating = heating_s(joint, outcome);
    let end = record.time_s.last().copied().unwrap_or(heating);
    if is_long(joint) {
        (0.0, end.min(2.5 * heating).max(1.2 * heating))
    } else {
        let first = 0.02 * heating;
        (first, end.max(10.0 * first))
    }
}

pub(super) fn subtitle(joint: &Joint) -> String {
    format!(
        "{}, {}, {}",
        process::setpoint(joint),
        number::wavelength(joint.wavelength_m),
        process::spot(joint),
    )
}

/// Time from the first light to the last at the interface, where scattering widens the spot, s.
pub fn heating_s(joint: &Joint, outcome: &Outcome) -> f64 {
    joint.exposure(&outcome.beam).heating_s()
}

/// Rows of the record nearest to a few telling times, in order.
fn times_to_show(joint: &Joint, outcome: &Outcome, record: &Record) -> Vec<usize> {
    let heating = heating_s(joint, outcome);
    let peak = record
        .interface_upper_k
        .iter()
        .zip(&record.time_s)
        .max_by(|a, b| a.0.total_cmp(b.0))
        .map_or(heating, |it| *it.1);
    let mut wanted = vec![0.25 * heating, 0.5 * heating, heating, 2.0 * heating];
    if 1.2 * heating < peak {
        wanted.push(peak);
    }
    wanted.extend([5.0 * heating, 15.0 * heating]);
    wanted.sort_by(f64::total_cmp);
    let mut rows: Vec<usize> = wanted
        .into_iter()
        .filter_map(|time| {
            (0..record.time_s.len()).min_by(|&a, &b| {
                (record.time_s[a] - time)
                    .abs()
                    .total_cmp(&(record.time_s[b] - time).abs())
            })
        })
        .collect();
    rows.dedup();
    rows
}

/// The depths where something happens, mm: around the interface, and the laser side where it warms.
fn shown_depths(record: &Record, rows: &[usize], joint: &Joint) -> (f64, f64) {
    let ambient_k = joint.surroundings.ambient_k;
    let hottest = |i: usize| {
        rows.iter()
            .map(|&row| record.temperature_k[row][i] - ambient_k)
            .fold(0.0f64, f64::max)
    };
    let peak = (0..record.depth_m.len()).map(hottest).fold(0.0, f64::max);
    let warm: Vec<f64> = (0..record.depth_m.len())
        .filter(|&i| 0.02 * peak <= hottest(i))
        .map(|i| record.depth_m[i] / MM)
        .collect();
    let upper = joint.upper.thickness_m / MM;
    let whole = upper + joint.lower.thickness_m / MM;
    let (first, last) = warm
        .iter()
        .fold((upper, upper), |(a, b), &it| (a.min(it), b.max(it)));
    let room = 0.08 * (last - first).max(0.02 * whole);
    (
        (first - room).max(record.depth_m[0] / MM).max(-room),
        (last + room).min(whole),
    )
}

/// Lines at the flow temperatures and where the limit of damage lies for the time of heating.
fn push_limits(joint: &Joint, outcome: &Outcome, figure: &mut Figure) {
    let (upper, lower) = (&joint.upper.material, &joint.lower.material);
    let flow = |it: &Material| it.thermal.flow_temperature_k.value;
    let mut lines = Vec::new();
    if (flow(upper) - flow(lower)).abs() < 1.0 {
        lines.push((flow(upper), "flow".to_string(), Dash::Long, Role::Unfused));
    } else {
        lines.push((
            flow(upper),
            "flow, upper part".into(),
            Dash::Long,
            Role::Unfused,
        ));
        lines.push((
            flow(lower),
            "flow, lower part".into(),
            Dash::DashDot,
            Role::Unfused,
        ));
    }
    if let Some((limit_k, words)) = degradation_line(joint, outcome) {
        lines.push((limit_k, words, Dash::Dashed, Role::Degraded));
    }
    for (at_k, words, dash, role) in lines {
        figure.marks.push(Mark::HLine(Straight {
            at: celsius(at_k),
            label: Label::new(format!("{words}, {}", number::temperature(at_k))),
            stroke: Stroke::fine(role, dash),
        }));
    }
}

/// The temperature that, held for the time of heating, brings the damage limit; or the onset.
fn degradation_line(joint: &Joint, outcome: &Outcome) -> Option<(f64, String)> {
    let by_kinetics = [&joint.upper.material, &joint.lower.material]
        .into_iter()
        .filter_map(|it| it.damage.as_ref())
        .map(|it| {
            let hold = it.frequency_per_s.value * heating_s(joint, outcome)
                / -(-joint.limits.damage.value).ln_1p();
            it.energy_j_per_mol.value / (GAS_CONSTANT_J_PER_MOL_K * hold.ln())
        })
        .filter(|it| 0.0 < *it && it.is_finite())
        .min_by(f64::total_cmp);
    if let Some(limit_k) = by_kinetics {
        let words = format!(
            "{} damage if held for {}",
            number::percent(joint.limits.damage.value, 1),
            number::duration(heating_s(joint, outcome), 2)
        );
        return Some((limit_k, words));
    }
    outcome
        .criteria
        .iter()
        .find(|it| it.rule == crate::weld::criteria::Rule::Decomposition)
        .map(|it| (it.limit, "onset of decomposition".to_string()))
}
