//! What a melt that is clearer than its solid changes: facts, JSON and a part of the page.

use serde_json::{Value, json};

use crate::report::answer::{Fact, signed};
use crate::report::bundle::Part;
use crate::report::number;
use crate::report::table::{Column, Table};
use crate::study::clearing_sensitivity::ClearingSensitivity;
use crate::study::power_limits::PowerLimits;
use crate::units::{UM, celsius};
use crate::weld::clearing::{Cleared, FACTOR_STATUS};

/// Said where a factor is stated and changes nothing.
pub const NO_EFFECT: &str = "melt_clearing changes nothing here: the upper part does not scatter, or \
                             the method does not follow scattering";

/// Depth, rounds, and what changes at the setpoint.
pub fn setpoint_facts(cleared: &Cleared) -> Vec<Fact> {
    let (before, after) = (cleared.before(), cleared.after());
    vec![
        (
            "melt clearing".into(),
            format!(
                "µs × {} in the melt ({FACTOR_STATUS}); molten {} under the light, found in {}",
                number::short(cleared.factor, 3),
                number::length(after.molten_depth_m, 2),
                match cleared.rounds.len() {
                    1 => "1 round".to_string(),
                    rounds => format!("{rounds} rounds"),
                }
            ),
        ),
        (
            "melt clearing: light delivered".into(),
            change(before.delivered, after.delivered, |it| {
                number::percent(it, 3)
            }),
        ),
        (
            "melt clearing: interface, peak".into(),
            format!(
                "{} → {} ({} K)",
                number::temperature(before.interface_peak_k),
                number::temperature(after.interface_peak_k),
                signed(after.interface_peak_k - before.interface_peak_k)
            ),
        ),
    ]
}

/// How the sound powers move.
pub fn power_facts(sensitivity: &ClearingSensitivity) -> Vec<Fact> {
    let (without, with) = (&sensitivity.without, &sensitivity.with);
    let say = |before: Option<f64>, after: Option<f64>| match (before, after) {
        (Some(before), Some(after)) => change(before, after, |it| number::power(it, 3)),
        (None, None) => "none, with or without clearing".into(),
        (Some(_), None) => "none with clearing".into(),
        (None, Some(after)) => format!("only with clearing: {}", number::power(after, 3)),
    };
    vec![
        (
            "melt clearing: lowest sound power".into(),
            say(without.low.power_w(), with.low.power_w()),
        ),
        (
            "melt clearing: highest sound power".into(),
            say(without.high.power_w(), with.high.power_w()),
        ),
    ]
}

/// Facts of a window whose setpoint was looked at with clearing.
pub fn window_facts(factor: f64, sensitivity: &ClearingSensitivity) -> Vec<Fact> {
    let mut facts = vec![(
        "melt clearing, at the speed of the setpoint".to_string(),
        format!(
            "the window is without it; with µs × {} in the melt ({FACTOR_STATUS}):",
            number::short(factor, 3)
        ),
    )];
    facts.extend(power_facts(sensitivity));
    facts
}

fn change(before: f64, after: f64, say: impl Fn(f64) -> String) -> String {
    format!(
        "{} → {} ({} %)",
        say(before),
        say(after),
        signed(100.0 * (after / before - 1.0))
    )
}

/// The object `melt_clearing` of a weld.
pub fn weld_json(cleared: &Cleared, sensitivity: &ClearingSensitivity) -> Value {
    let mut value = window_json(cleared.factor, sensitivity);
    if let Value::Object(object) = &mut value {
        let (before, after) = (cleared.before(), cleared.after());
        let rounds: Vec<Value> = cleared
            .rounds
            .iter()
            .map(|it| {
                json!({
                    "molten_depth_um": it.molten_depth_m / UM,
                    "delivered_to_interface": it.delivered,
                    "interface_peak_c": celsius(it.interface_peak_k),
                })
            })
            .collect();
        object.insert("rounds".into(), rounds.into());
        object.insert("molten_depth_um".into(), json!(after.molten_depth_m / UM));
        object.insert(
            "delivered_change".into(),
            json!(after.delivered - before.delivered),
        );
        object.insert(
            "interface_peak_change_k".into(),
            json!(after.interface_peak_k - before.interface_peak_k),
        );
    }
    value
}

/// The object `melt_clearing` of a window.
pub fn window_json(factor: f64, sensitivity: &ClearingSensitivity) -> Value {
    let powers = |it: &PowerLimits| {
        json!({
            "low_power_w": it.low.power_w(),
            "high_power_w": it.high.power_w(),
            "latitude": it.latitude(),
        })
    };
    json!({
        "factor": factor,
        "status": FACTOR_STATUS,
        "without": powers(&sensitivity.without),
        "with": powers(&sensitivity.with),
    })
}

/// The rounds and the sound powers as tables.
pub fn clearing_part(cleared: &Cleared, sensitivity: &ClearingSensitivity) -> Part {
    let rounds = &cleared.rounds;
    let table = Table::new(
        "Light and molten depth, round by round",
        vec![
            Column::words(
                "Round",
                (0..rounds.len()).map(|i| match i {
                    0 => "without clearing".to_string(),
                    i => i.to_string(),
                }),
            ),
            Column::numbers(
                "Molten depth, mean under the light",
                "µm",
                rounds.iter().map(|it| it.molten_depth_m / UM),
            )
            .digits(3),
            Column::numbers(
                "Light delivered",
                "%",
                rounds.iter().map(|it| 100.0 * it.delivered),
            ),
            Column::numbers(
                "Interface, peak",
                "°C",
                rounds.iter().map(|it| celsius(it.interface_peak_k)),
            ),
        ],
    );
    let both = [&sensitivity.without, &sensitivity.with];
    let of = |power: fn(&PowerLimits) -> Option<f64>| {
        both.map(|it| power(it).unwrap_or(f64::NAN)).into_iter()
    };
    let powers = Table::new(
        "Sound powers at the speed of the joint",
        vec![
            Column::words(
                "Scattering of the melt",
                ["as the solid", "with the factor"],
            ),
            Column::numbers("Lowest sound power", "W", of(|it| it.low.power_w())),
            Column::numbers("Highest sound power", "W", of(|it| it.high.power_w())),
            Column::numbers("Latitude", "", of(PowerLimits::latitude)).digits(3),
        ],
    );
    Part {
        heading: "When melting clears the upper part".into(),
        text: format!(
            "The molten zone of the upper part scatters {} times as much as its solid \
             ({FACTOR_STATUS}). Light and molten depth are found together; the weld above is the \
             settled one.",
            number::short(cleared.factor, 3)
        ),
        tables: vec![table.clone(), powers],
        tables_behind: vec![("melt-clearing".into(), table)],
        ..Part::default()
    }
}
