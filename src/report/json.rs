//! Results as JSON: SI units unless a name says otherwise; keys are stable.

use serde_json::{Map, Value, json};

use crate::report::process;
use crate::study::band::Band;
use crate::study::power_limits::{PowerLimit, PowerLimits};
use crate::study::survey::{Field, Survey};
use crate::study::window::Window;
use crate::units::{UM, celsius};
use crate::weld::criteria::{Criterion, Rule, source_of_limit};
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;
use crate::weld::simulate::{Outcome, fourier_number};

/// One weld.
pub fn weld(joint: &Joint, outcome: &Outcome, warnings: &[String]) -> Value {
    let history = &outcome.history;
    let light = &outcome.light;
    let spot = joint.spot();
    let mut value = json!({
        "question": joint.question.as_ref(),
        "verdict": outcome.verdict.word(),
        "governing_criterion": outcome.governing.rule.key(),
        "margin": outcome.governing.margin,
        "interface_peak_c": celsius(
            history.interface_peak_upper_k.min(history.interface_peak_lower_k)),
        "body_peak_c": celsius(history.body_peak_k),
        "body_peak_depth_um": history.body_peak_depth_m / UM,
        "laser_side_peak_c": celsius(history.laser_side_peak_k),
        "upper_melt_depth_um": history.upper_melt_depth_m / UM,
        "lower_melt_depth_um": history.lower_melt_depth_m / UM,
        "time_above_flow_s": history.time_above_flow_s,
        "damage_fraction": history.damage_integral.map(crate::weld::criteria::damage_share),
        "degree_of_healing": history.melt.degree_of_healing(),
        "collapse_m": history.melt.collapse_m,
        "collapse_reached_s": history.melt.collapse_reached_s,
        "gap_m": joint.interface.gap_m(),
        "gap_swelling_m": history.film.and_then(|it| it.swelling_m),
        "gap_closed_s": history.film.and_then(|it| it.closed_s),
        "gap_wetted": history.film.map(|it| it.wetted),
        "reflected": light.reflected,
        "transmitted": light.transmitted,
        "absorbed_upper": light.absorbed_upper(),
        "absorbed_lower": light.absorbed_lower(),
        "delivered_to_interface": light.delivered_to_interface(),
        "wetted": outcome.wetted_light.as_ref().map(|it| json!({
            "reflected": it.reflected,
            "transmitted": it.transmitted,
            "absorbed_upper": it.absorbed_upper(),
            "absorbed_lower": it.absorbed_lower(),
            "delivered_to_interface": it.delivered_to_interface(),
        })),
        "peak_irradiance_share": (spot.length_m * spot.width_m)
            / (outcome.beam.length_m * outcome.beam.width_m),
        "energy_residual": history.ledger.relative_residual(),
        "light_residual": light.energy_residual(),
        "fourier_number": fourier_number(joint),
        "wavelength_m": joint.wavelength_m,
        "power_w": joint.beam.power_w,
        "method": outcome.method.name(),
        "criteria": outcome.criteria.iter().map(|it| criterion(joint, it)).collect::<Vec<_>>(),
        "steps": history.counters.steps,
        "cells": history.counters.cells,
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    });
    if let Some(object) = value.as_object_mut() {
        object.extend(process::json(joint));
    }
    value
}

/// A verdict with what decides it.
pub fn verdict(outcome: &Outcome) -> Value {
    json!({
        "verdict": outcome.verdict.word(),
        "governing_criterion": outcome.governing.rule.key(),
        "margin": outcome.governing.margin,
    })
}

/// One criterion; a temperature in °C, all else SI.
fn criterion(joint: &Joint, it: &Criterion) -> Value {
    let source = source_of_limit(joint, it);
    let temperature = matches!(
        it.rule,
        Rule::Fusion | Rule::Decomposition | Rule::SurfaceMarking
    );
    let (value, limit, unit) = match it.rule {
        _ if temperature => (celsius(it.value), celsius(it.limit), "°C"),
        Rule::TimeAboveFlow => (it.value, it.limit, "s"),
        Rule::Damage | Rule::Healing => (it.value, it.limit, "1"),
        _ => (it.value, it.limit, "m"),
    };
    json!({
        "criterion": it.rule.key(),
        "value": value,
        "limit": limit,
        "unit": unit,
        "margin": it.margin,
        "source": source.source,
        "status": source.status.to_string(),
    })
}

/// A window.
pub fn window(joint: &Joint, window: &Window, band: Option<&Band>, warnings: &[String]) -> Value {
    let key = window.lever.key();
    let lines: Vec<Value> = window
        .lines
        .iter()
        .map(|line| {
            let mut row = limits(&line.limits);
            row.insert(key.into(), json!(line.setting));
            if let Some(machine) = window.machine {
                let usable = line.limits.latitude_within(machine.power_w);
                row.insert("latitude_of_machine".into(), json!(usable));
            }
            Value::Object(row)
        })
        .collect();
    let ends = |it: Option<(f64, f64)>| it.map(|it| vec![it.0, it.1]);
    json!({
        "question": joint.question.as_ref(),
        "open": window.setpoint.is_some(),
        "setpoint": window.setpoint.map(|it| json!({
            "power_w": it.power_w,
            key: it.setting,
            "tolerance_ratio": it.ratio,
        })),
        "mode": joint.motion.mode(),
        format!("open_{}", open_key(window.lever)): ends(window.open_settings_of_machine()),
        format!("open_{}_at_any_power", open_key(window.lever)): ends(window.open_settings()),
        "lines": lines,
        "band": band.map(|it| json!({
            "inputs": it.inputs.iter().zip(&it.low_share).map(|(input, share)| json!({
                "input": input.input.words(),
                "relative_standard_uncertainty": input.relative,
                "source": input.source,
                "share_of_low_variance": share,
            })).collect::<Vec<_>>(),
            key: it.setting,
            "ln_low_power_standard_deviation": it.low,
            "ln_high_power_standard_deviation": it.high,
        })),
        "wavelength_m": joint.wavelength_m,
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    })
}

/// Name of several settings in JSON.
fn open_key(lever: Lever) -> &'static str {
    match lever {
        Lever::Speed => "speeds_m_per_s",
        Lever::Passes => "passes",
        Lever::Turns => "turns",
        Lever::Time => "times_s",
    }
}

/// Both ends with the rules that set them.
pub fn limits(it: &PowerLimits) -> Map<String, Value> {
    let mut row = Map::new();
    let state = |it: &PowerLimit| match it {
        PowerLimit::At { .. } => "found",
        PowerLimit::Beyond { .. } => "beyond the powers looked at",
        PowerLimit::Never { .. } => "never met",
    };
    row.insert("low_power_w".into(), json!(it.low.power_w()));
    row.insert("low_rule".into(), json!(it.low.rule().map(Rule::key)));
    row.insert("low_state".into(), json!(state(&it.low)));
    row.insert("high_power_w".into(), json!(it.high.power_w()));
    row.insert("high_rule".into(), json!(it.high.rule().map(Rule::key)));
    row.insert("high_state".into(), json!(state(&it.high)));
    row.insert("latitude".into(), json!(it.latitude()));
    row
}

/// A map.
pub fn survey(joint: &Joint, survey: &Survey, warnings: &[String]) -> Value {
    let cells: Vec<Vec<Value>> = survey
        .cells
        .iter()
        .map(|row| {
            row.iter()
                .map(|cell| match cell {
                    Ok(cell) => {
                        let mut object = cell.limits.as_ref().map(limits).unwrap_or_default();
                        let value = match survey.field {
                            Field::InterfacePeak => cell.value.map(celsius),
                            _ => cell.value,
                        };
                        object.insert("value".into(), json!(value));
                        if let Some(verdict) = cell.verdict {
                            object.insert("verdict".into(), json!(verdict.word()));
                        }
                        Value::Object(object)
                    }
                    Err(error) => json!({ "error": error.problem().to_string() }),
                })
                .collect()
        })
        .collect();
    json!({
        "question": joint.question.as_ref(),
        "x": survey.x.word(),
        "x_values_si": survey.x_values,
        "y": survey.y.word(),
        "y_values_si": survey.y_values,
        "field": survey.field.word(),
        "cells": cells,
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    })
}
