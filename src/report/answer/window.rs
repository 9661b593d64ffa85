//! A window in words: its setpoint, what sets its sides, how far it reaches.

use crate::report::answer::Fact;
use crate::report::answer::weld::of_machine;
use crate::report::number;
use crate::report::process::{self, PowerScale};
use crate::study::band::Band;
use crate::study::power_limits::{PowerLimits, at_power};
use crate::study::window::Window;
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;

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

/// The numbers of a window a process engineer asks for first.
pub fn window_facts(joint: &Joint, window: &Window, band: Option<&Band>) -> Vec<Fact> {
    let mut facts = Vec::new();
    let scale = PowerScale::of_window(window);
    if let Some(it) = &window.setpoint {
        if let Some((low, high)) = window.limits_at(it.setting) {
            facts.push((
                format!("sound powers at {}", process::say(window.lever, it.setting)),
                scale.say_sound(low, high, "") + &of_machine(joint, (low, high)),
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
    // Beyond the machine's too the powers have an end, which may be what ends these settings.
    let beyond = format!(
        "{} with powers the machine does not have, of {} looked at",
        range(open),
        PowerScale::of_window(window).say_range(window.power_w.0, window.power_w.1)
    );
    let value = match window.open_settings_of_machine() {
        Some(own) if own == open => format!("{} {looked_at}", range(own)),
        Some(own) => format!("{} {looked_at}; {beyond}", range(own)),
        None => format!("none {looked_at}; {beyond}"),
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
