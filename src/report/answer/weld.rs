//! One weld in words: verdict, numbers, criteria, and which powers would do.

use crate::report::answer::{Fact, signed};
use crate::report::number;
use crate::report::process::{self, PowerScale};
use crate::study::power_limits::{PowerLimit, PowerLimits};
use crate::weld::criteria::{Criterion, Rule, damage_share, source_of_limit};
use crate::weld::joint::Joint;
use crate::weld::simulate::Outcome;

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

/// What becomes of the recommended setpoint where the faces lie dry until melt wets them.
pub fn setpoint_dry(outcome: &Outcome) -> Fact {
    (
        "the setpoint where the faces lie dry".into(),
        weld_headline(outcome),
    )
}

/// When light goes its way as where melt has wetted the other part over a gap.
pub fn wetted_words(outcome: &Outcome) -> &'static str {
    if outcome.history.film.is_some_and(|it| it.wetted) {
        "once melt has wetted the other part"
    } else {
        "if melt wetted the other part"
    }
}

/// The numbers a process engineer asks for first.
pub fn weld_facts(joint: &Joint, outcome: &Outcome) -> Vec<Fact> {
    let history = &outcome.history;
    let light = &outcome.light;
    let fact = |name: &str, value: String| (name.to_string(), value);
    let mut facts = vec![
        fact(
            "light delivered to the interface",
            match &outcome.wetted_light {
                None => number::percent(light.delivered_to_interface(), 3),
                Some(wetted) => format!(
                    "{} over the gap, {} {}",
                    number::percent(light.delivered_to_interface(), 3),
                    number::percent(wetted.delivered_to_interface(), 3),
                    wetted_words(outcome)
                ),
            },
        ),
        fact(
            "reflected, absorbed in the upper part",
            format!(
                "{}, {}{}",
                number::percent(light.reflected, 3),
                number::percent(light.absorbed_upper(), 3),
                match outcome.wetted_light {
                    None => "",
                    Some(_) => " over the gap",
                }
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
        fact("hottest point", hottest_point(joint, outcome)),
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
        let gap = number::length(gap_m, 3);
        let closed_s = history.film.and_then(|it| it.closed_s);
        let met = closed_s.map_or("the parts do not meet".into(), |it| {
            format!("the parts meet after {}", number::duration(it, 2))
        });
        facts.push(fact(
            "swelling into the gap",
            match swelling_m(outcome) {
                Some(it) => {
                    let swelling = match closed_s {
                        Some(_) => number::length(it, 3),
                        None => number::length_at_most(it, 3),
                    };
                    format!("{swelling} over a gap of {gap}; {met}")
                }
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

/// Rise below which nothing has got warmer, K: rounding, and what steps leave.
pub const NO_RISE_K: f64 = 1e-3;

/// The highest temperature in the parts and where it was; that there is none without light.
fn hottest_point(joint: &Joint, outcome: &Outcome) -> String {
    let history = &outcome.history;
    let upper_m = joint.upper.thickness_m;
    if history.body_peak_k < joint.surroundings.ambient_k + NO_RISE_K {
        return format!(
            "none: nothing gets warmer than the {} it starts with",
            number::temperature(joint.surroundings.ambient_k)
        );
    }
    format!(
        "{}, {} {} the interface",
        number::temperature(history.body_peak_k),
        number::length((history.body_peak_depth_m - upper_m).abs(), 2),
        if history.body_peak_depth_m < upper_m {
            "above"
        } else {
            "below"
        }
    )
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

/// The sound powers of a joint as it is set, of those looked at (W): a setpoint that is weak or degraded
/// has its cure here. Behind those in contact stand those of faces that lie dry, where these were asked
/// for.
pub fn sound_powers(joint: &Joint, limits: &[PowerLimits], looked_at_w: (f64, f64)) -> Vec<Fact> {
    let (lever, setting) = (joint.motion.lever(), joint.motion.setting());
    let names = [
        format!("sound powers at {}", process::say(lever, setting)),
        "the same where the faces lie dry".into(),
    ];
    let values = limits.iter().map(|it| powers(joint, it, looked_at_w));
    names.into_iter().zip(values).collect()
}

fn powers(joint: &Joint, limits: &PowerLimits, looked_at_w: (f64, f64)) -> String {
    let scale = PowerScale::of_joint(joint);
    match (&limits.low, &limits.high) {
        (PowerLimit::Never { rule }, _) | (_, PowerLimit::Never { rule }) => format!(
            "none: {} is missed at every power looked at, {}",
            rule.name(),
            scale.say_range(looked_at_w.0, looked_at_w.1)
        ),
        (low, high) => match (low.power_w(), high.power_w()) {
            (Some(low_w), Some(high_w)) if limits.is_open() => {
                let beyond = match (low, high) {
                    (_, PowerLimit::Beyond { .. }) => "; no higher power was looked at",
                    (PowerLimit::Beyond { .. }, _) => "; no lower power was looked at",
                    _ => "",
                };
                scale.say_sound(low_w, high_w, beyond) + &of_machine(joint, (low_w, high_w))
            }
            (Some(low_w), Some(high_w)) => format!(
                "none: {} needs {}, {} allows {}",
                low.rule().map_or("the lower side", Rule::name),
                scale.say(low_w, 3),
                high.rule().map_or("the upper side", Rule::name),
                scale.say(high_w, 3),
            ),
            _ => "none".into(),
        },
    }
}

/// What the machine leaves of sound powers, where that is not all of them.
pub(super) fn of_machine(joint: &Joint, (low_w, high_w): (f64, f64)) -> String {
    let Some(machine) = joint.machine else {
        return String::new();
    };
    let (least_w, most_w) = machine.power_w;
    let (from_w, to_w) = (low_w.max(least_w), high_w.min(most_w));
    if to_w < from_w {
        "; the machine has none of them".into()
    } else if low_w < from_w || to_w < high_w {
        let range = PowerScale::of_joint(joint).say_range(from_w, to_w);
        format!("; of the machine {range}")
    } else {
        String::new()
    }
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
