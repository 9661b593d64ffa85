//! Answers in a few plain lines, for the terminal and the head of a page.

use crate::error::Error;
use crate::report::number;
use crate::report::process::{self, PowerScale};
use crate::study::band::Band;
use crate::study::power_limits::{PowerLimit, PowerLimits, at_power};
use crate::study::survey::{Field, Survey};
use crate::study::window::Window;
use crate::weld::criteria::{Criterion, Rule, damage_share, source_of_limit};
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;
use crate::weld::simulate::Outcome;

/// A fact in words: name, value.
pub type Fact = (String, String);

/// The verdict in one sentence.
pub fn weld_headline(outcome: &Outcome) -> String {
    let it = &outcome.governing;
    if it.rule == Rule::GapClosure && swelling_m(outcome).is_none() {
        return format!(
            "{}: nothing known closes the gap of {}, and parts that do not meet do not weld",
            outcome.verdict,
            number::length(it.limit, 2),
        );
    }
    let margin = number::percent(it.margin.abs(), 2);
    let measure = match it.rule {
        Rule::GapClosure => "the gap",
        Rule::TimeAboveFlow | Rule::Healing | Rule::Collapse => "its limit",
        _ => "the allowed temperature rise",
    };
    if 0.0 <= it.margin {
        format!(
            "{}: nearest limit is {}, {margin} of {measure} away",
            outcome.verdict,
            it.rule.name(),
        )
    } else {
        format!(
            "{}: {} is missed by {margin} of {measure}",
            outcome.verdict,
            it.rule.name(),
        )
    }
}

/// The numbers a process engineer asks for first.
pub fn weld_facts(joint: &Joint, outcome: &Outcome) -> Vec<Fact> {
    let history = &outcome.history;
    let light = &outcome.light;
    let upper_m = joint.upper.thickness_m;
    let fact = |name: &str, value: String| (name.to_string(), value);
    let mut facts = vec![
        fact(
            "light delivered to the interface",
            number::percent(light.delivered_to_interface(), 3),
        ),
        fact(
            "reflected, absorbed in the upper part",
            format!(
                "{}, {}",
                number::percent(light.reflected, 3),
                number::percent(light.absorbed_upper(), 3)
            ),
        ),
    ];
    let spot = joint.spot();
    let spread = (outcome.beam.length_m * outcome.beam.width_m) / (spot.length_m * spot.width_m);
    if 1.0 + 1e-9 < spread {
        facts.push(fact(
            "spot at the interface, widened by scattering",
            format!(
                "peak irradiance {} of the spot on the part",
                number::percent(1.0 / spread, 3)
            ),
        ));
    }
    facts.extend([
        fact(
            "interface, peak",
            number::temperature(
                history
                    .interface_peak_upper_k
                    .min(history.interface_peak_lower_k),
            ),
        ),
        fact(
            "hottest point",
            format!(
                "{}, {} {} the interface",
                number::temperature(history.body_peak_k),
                number::length((history.body_peak_depth_m - upper_m).abs(), 2),
                if history.body_peak_depth_m < upper_m {
                    "above"
                } else {
                    "below"
                }
            ),
        ),
        fact(
            "laser-side surface, peak",
            number::temperature(history.laser_side_peak_k),
        ),
        fact(
            "melt depth, upper and lower part",
            format!(
                "{}, {}",
                number::length(history.upper_melt_depth_m, 2),
                number::length(history.lower_melt_depth_m, 2)
            ),
        ),
        fact(
            "time above flow",
            number::duration(history.time_above_flow_s, 2),
        ),
    ]);
    if let Some(gap_m) = joint.interface.gap_m() {
        let gap = number::length(gap_m, 2);
        let closed_s = history.film.and_then(|it| it.closed_s);
        let met = closed_s.map_or("the parts do not meet".into(), |it| {
            format!("the parts meet after {}", number::duration(it, 2))
        });
        facts.push(fact(
            "swelling into the gap",
            match swelling_m(outcome) {
                Some(it) => format!("{} of {gap}; {met}", number::length(it, 2)),
                None => format!("none is followed, {gap} stay open; {met}"),
            },
        ));
    }
    if let Some(degree) = history.melt.degree_of_healing() {
        facts.push(fact("degree of healing", number::percent(degree, 2)));
    }
    if let Some(collapse_m) = history.melt.collapse_m {
        facts.push(fact(
            "collapse (estimate)",
            match (history.melt.collapse_reached_s, &joint.limits.collapse_m) {
                (Some(time_s), Some(limit)) => format!(
                    "{}; {} reached after {}",
                    number::length(collapse_m, 2),
                    number::length(limit.value, 2),
                    number::duration(time_s, 2)
                ),
                _ => number::length(collapse_m, 2),
            },
        ));
    }
    if let Some(integral) = history.damage_integral {
        facts.push(fact(
            "damaged share at the worst place",
            number::percent(damage_share(integral), 2),
        ));
    }
    facts.push(process::energy(joint));
    facts.extend(process::time_facts(joint));
    facts
}

/// How far the parts swell towards each other, m; none where that is not followed.
fn swelling_m(outcome: &Outcome) -> Option<f64> {
    outcome.history.film.and_then(|it| it.swelling_m)
}

/// Value and limit of a criterion in the units an engineer reads.
pub fn criterion_values(it: &Criterion) -> (String, String) {
    let say = |value: f64| match it.rule {
        Rule::Fusion | Rule::Decomposition | Rule::SurfaceMarking => number::temperature(value),
        Rule::GapClosure | Rule::UpperMeltDepth | Rule::LowerMeltDepth | Rule::Collapse => {
            number::length(value, 3)
        }
        Rule::Healing => number::percent(value, 2),
        Rule::TimeAboveFlow => number::duration(value, 3),
        Rule::Damage => number::percent(value, 2),
    };
    let sign = if it.rule.wants_heat() { "≥" } else { "≤" };
    (say(it.value), format!("{sign} {}", say(it.limit)))
}

/// All criteria as rows: name, value, limit, margin, source.
pub fn criteria_rows(joint: &Joint, outcome: &Outcome) -> Vec<[String; 5]> {
    outcome
        .criteria
        .iter()
        .map(|it| {
            let (value, limit) = criterion_values(it);
            let source = source_of_limit(joint, it);
            [
                it.rule.name().to_string(),
                value,
                limit,
                signed(it.margin),
                format!("{} ({})", source.source, source.status),
            ]
        })
        .collect()
}

/// A signed number with its sign shown.
pub fn signed(value: f64) -> String {
    let text = number::significant(value, 2);
    if 0.0 < value {
        format!("+{text}")
    } else {
        text
    }
}

/// The window in one sentence.
pub fn window_headline(window: &Window) -> String {
    let word = process::word(window.lever);
    match &window.setpoint {
        Some(it) => format!(
            "it welds: {} {} {}; power and {word} may both drift by {} either way",
            PowerScale::of_window(window).say(it.power_w, 3),
            if window.lever == Lever::Time {
                "for"
            } else {
                "at"
            },
            process::say(window.lever, it.setting),
            number::percent(it.tolerance(), 2)
        ),
        None => match window.open_settings() {
            Some(_) => "it would weld, but not within what the machine can deliver".into(),
            None => format!("it does not weld at any power and {word} looked at"),
        },
    }
}

/// The sound powers of a joint as it is set; a setpoint that is weak or degraded has its cure here.
pub fn sound_powers(joint: &Joint, limits: &PowerLimits) -> Fact {
    let (lever, setting) = (joint.motion.lever(), joint.motion.setting());
    let scale = PowerScale::of_joint(joint);
    let value = match (&limits.low, &limits.high) {
        (PowerLimit::Never { rule }, _) | (_, PowerLimit::Never { rule }) => {
            format!("none: {} is missed at every power looked at", rule.name())
        }
        (low, high) => match (low.power_w(), high.power_w()) {
            (Some(low_w), Some(high_w)) if limits.is_open() => format!(
                "{} (latitude {})",
                scale.say_range(low_w, high_w),
                number::significant(high_w / low_w, 3)
            ),
            (Some(low_w), Some(high_w)) => format!(
                "none: {} needs {}, {} allows {}",
                low.rule().map_or("the lower side", Rule::name),
                scale.say(low_w, 3),
                high.rule().map_or("the upper side", Rule::name),
                scale.say(high_w, 3),
            ),
            _ => "none".into(),
        },
    };
    (
        format!("sound powers at {}", process::say(lever, setting)),
        value,
    )
}

/// What the machine cannot deliver of the setpoint a joint states.
pub fn beyond_machine(joint: &Joint) -> Vec<String> {
    let Some(machine) = joint.machine else {
        return Vec::new();
    };
    let lever = joint.motion.lever();
    let scale = PowerScale::of_joint(joint);
    let outside = |value: f64, (least, most): (f64, f64)| {
        value < least * (1.0 - ROUNDING) || most * (1.0 + ROUNDING) < value
    };
    let say = |of: &dyn Fn(f64) -> String, value: f64, (least, most): (f64, f64)| {
        format!(
            "the setpoint of {} is not within the {} to {} of the machine",
            of(value),
            of(least),
            of(most)
        )
    };
    let (power_w, setting) = (joint.beam.power_w, joint.motion.setting());
    let mut remarks = Vec::new();
    if outside(power_w, machine.power_w) {
        remarks.push(say(&|it| scale.say(it, 3), power_w, machine.power_w));
    }
    if outside(setting, machine.setting) {
        remarks.push(say(&|it| process::say(lever, it), setting, machine.setting));
    }
    remarks
}

/// Share by which a setpoint may lie outside the machine by rounding.
const ROUNDING: f64 = 1e-9;

/// The numbers of a window a process engineer asks for first.
pub fn window_facts(joint: &Joint, window: &Window, band: Option<&Band>) -> Vec<Fact> {
    let mut facts = Vec::new();
    let scale = PowerScale::of_window(window);
    if let Some(it) = &window.setpoint {
        if let Some((low, high)) = window.limits_at(it.setting) {
            facts.push((
                format!("sound powers at {}", process::say(window.lever, it.setting)),
                format!(
                    "{} (latitude {})",
                    scale.say_range(low, high),
                    number::significant(high / low, 3)
                ),
            ));
        }
        let best = at_power(&joint.at_setting(it.setting), it.power_w);
        let (words, value) = process::energy(&best);
        facts.push((format!("{words} at the setpoint"), value));
        facts.extend(process::time_facts(&best));
    }
    for (words, wants_low) in [("lower side set by", true), ("upper side set by", false)] {
        let rules = governing(window, wants_low);
        if !rules.is_empty() {
            facts.push((words.into(), rules));
        }
    }
    facts.extend(settings_fact(window));
    if let Some(band) = band {
        facts.extend(band_fact(window, band));
    }
    facts
}

/// The settings at which the machine welds, and those at which it would with other powers.
fn settings_fact(window: &Window) -> Option<Fact> {
    let range = |(slow, fast): (f64, f64)| {
        format!(
            "{} to {}",
            number::short(process::shown(window.lever, slow), 3),
            process::say(window.lever, fast)
        )
    };
    let open = window.open_settings()?;
    let looked_at = format!("of {} looked at", range(window.setting));
    let value = match window.open_settings_of_machine() {
        Some(own) if own == open => format!("{} {looked_at}", range(own)),
        Some(own) => format!(
            "{} {looked_at}; {} with powers the machine does not have",
            range(own),
            range(open)
        ),
        None => format!(
            "none {looked_at}; {} with powers the machine does not have",
            range(open)
        ),
    };
    Some((
        format!("{} that weld", process::plural(window.lever)),
        value,
    ))
}

/// How well the boundaries are known at the setpoint.
fn band_fact(window: &Window, band: &Band) -> Option<Fact> {
    let setting = window.setpoint?.setting;
    let nearest = (0..band.setting.len()).min_by(|&a, &b| {
        let far = |i: usize| (band.setting[i] / setting).ln().abs();
        far(a).total_cmp(&far(b))
    })?;
    let say = |sigma: Option<f64>| {
        sigma.map_or("not traced".to_string(), |it| {
            format!("± {}", number::percent(it.exp_m1(), 2))
        })
    };
    Some((
        "boundaries known to (one standard deviation)".into(),
        format!(
            "lower {}, upper {} in power",
            say(band.low[nearest]),
            say(band.high[nearest]),
        ),
    ))
}

/// The uncertain inputs behind a band, in one line; a page has them in a table.
pub fn band_inputs(band: &Band) -> Fact {
    let inputs: Vec<String> = band
        .inputs
        .iter()
        .map(|it| format!("{} ± {}", it.input.words(), number::percent(it.relative, 2)))
        .collect();
    ("uncertain inputs".into(), inputs.join("; "))
}

/// Rules that set one side over the open speeds, in order of first appearance.
fn governing(window: &Window, low: bool) -> String {
    let mut rules: Vec<&str> = Vec::new();
    for line in window.lines.iter().filter(|it| it.limits.is_open()) {
        let PowerLimits { low: l, high: h } = &line.limits;
        let name = match if low { l } else { h }.rule() {
            Some(rule) => rule.name(),
            None => "nothing within the powers looked at",
        };
        if !rules.contains(&name) {
            rules.push(name);
        }
    }
    rules.join(", then ")
}

/// A map in one sentence.
pub fn survey_headline(survey: &Survey) -> String {
    let values: Vec<(usize, usize, f64)> = survey
        .cells
        .iter()
        .enumerate()
        .flat_map(|(row, cells)| {
            cells.iter().enumerate().filter_map(move |(column, cell)| {
                cell.as_ref()
                    .ok()
                    .and_then(|it| it.value)
                    .map(|value| (row, column, value))
            })
        })
        .collect();
    let unanswered: Vec<&Error> = survey
        .cells
        .iter()
        .flatten()
        .filter_map(|it| it.as_ref().err())
        .collect();
    let all = survey.x_values.len() * survey.y_values.len();
    let missing = match unanswered.first() {
        Some(first) => format!(
            "; {} of the map has no answer, such as: {}",
            number::percent(unanswered.len() as f64 / all as f64, 2),
            first.problem()
        ),
        None => String::new(),
    };
    let Some(best) = values.iter().max_by(|a, b| a.2.total_cmp(&b.2)) else {
        return match survey.field {
            Field::Latitude if unanswered.len() < all => {
                format!("no cell of the map has a sound power{missing}")
            }
            _ => format!("no cell of the map has an answer{missing}"),
        };
    };
    let place = format!(
        "{}, {}",
        say_axis(survey.x, survey.x_values[best.1]),
        say_axis(survey.y, survey.y_values[best.0])
    );
    match survey.field {
        Field::Latitude => {
            let open = values.iter().filter(|it| 1.0 < it.2).count();
            if open == 0 {
                return format!("no cell of the map has a sound power{missing}");
            }
            format!(
                "{} of the map has a sound power; greatest latitude {} at {place}{missing}",
                number::percent(open as f64 / all as f64, 2),
                number::significant(best.2, 3)
            )
        }
        Field::InterfacePeak => format!(
            "hottest interface {} at {place}{missing}",
            number::temperature(best.2)
        ),
        Field::Margin => format!("best margin {} at {place}{missing}", signed(best.2)),
    }
}

/// A value of an axis in words.
pub fn say_axis(axis: crate::study::survey::Axis, value: f64) -> String {
    use crate::study::survey::Axis;
    match axis {
        Axis::Wavelength => number::wavelength(value),
        Axis::UpperThickness => number::length(value, 3),
        Axis::Speed => number::speed(value, 3),
        Axis::Passes => process::say(Lever::Passes, value),
        Axis::Turns => process::say(Lever::Turns, value),
        Axis::Time => process::say(Lever::Time, value),
        Axis::PowerDensity => format!("{} W/mm²", number::significant(value / 1e6, 3)),
        Axis::Power => number::power(value, 3),
        Axis::AbsorberContent => format!("{} carbon black", number::percent(value, 2)),
        Axis::Gap => format!("gap {}", number::length(value, 3)),
    }
}

/// Facts as aligned lines.
pub fn lines(facts: &[Fact]) -> String {
    let width = facts
        .iter()
        .map(|it| it.0.chars().count())
        .max()
        .unwrap_or(0);
    facts
        .iter()
        .map(|(name, value)| {
            let gap = " ".repeat(width - name.chars().count());
            format!("  {name}{gap}  {value}\n")
        })
        .collect()
}
