//! What a column must fulfil to be followed.

use crate::error::HeatProblem;
use crate::heat::column::Column;
use crate::heat::column::Contact;
use crate::heat::layout::MOST_BODIES;

/// Refuses numbers without physical meaning, so that none can become a NaN further on.
pub fn check(column: &Column) -> Result<(), HeatProblem> {
    let refuse = |quantity: &'static str, value: f64| HeatProblem::NotPhysical { quantity, value };
    let count = column.bodies.len();
    if !(2..=MOST_BODIES).contains(&count) || column.upper + 2 != count {
        return Err(refuse("number of bodies", count as f64));
    }
    if column.contacts.len() + 1 != count {
        return Err(refuse("number of contacts", column.contacts.len() as f64));
    }
    let positive = |value: f64| 0.0 < value && value.is_finite();
    let not_negative = |value: f64| 0.0 <= value && value.is_finite();
    for body in &column.bodies {
        if !positive(body.thickness_m) {
            return Err(refuse("thickness", body.thickness_m));
        }
        if !positive(body.initial_k) {
            return Err(refuse("initial temperature", body.initial_k));
        }
        if !(0.0..=body.thickness_m).contains(&body.probe_m) {
            return Err(refuse("depth of the probe", body.probe_m));
        }
        let flow = body.thermal.flow_temperature_k.value;
        if !positive(flow) {
            return Err(refuse("flow temperature", flow));
        }
        for light in std::iter::once(&column.light).chain(column.wetted_light()) {
            match light.layers.get(body.light_layer) {
                None => return Err(refuse("layer of the light", body.light_layer as f64)),
                Some(profile) if !not_negative(profile.total()) => {
                    return Err(refuse("absorbed share", profile.total()));
                }
                Some(_) => {}
            }
        }
    }
    for contact in &column.contacts {
        if let Contact::Conductance {
            conductance_w_per_m2_k: conductance,
        } = *contact
            && !not_negative(conductance)
        {
            return Err(refuse("contact conductance", conductance));
        }
    }
    if let Some(film) = &column.film {
        if !not_negative(film.gap_m) {
            return Err(refuse("gap", film.gap_m));
        }
        if !positive(film.factor) {
            return Err(refuse("factor on the film's conductance", film.factor));
        }
        if column.contacts[column.upper] == Contact::Perfect {
            return Err(refuse("film of air in perfect contact", film.gap_m));
        }
    }
    for face in [column.laser_side, column.far_side] {
        if !not_negative(face.coefficient_w_per_m2_k) {
            return Err(refuse(
                "heat transfer coefficient",
                face.coefficient_w_per_m2_k,
            ));
        }
        if !positive(face.ambient_k) {
            return Err(refuse("ambient temperature", face.ambient_k));
        }
    }
    let exposure = &column.exposure;
    if !positive(exposure.dwell_s) {
        return Err(refuse("dwell time", exposure.dwell_s));
    }
    if !not_negative(exposure.irradiance_w_per_m2) {
        return Err(refuse("irradiance", exposure.irradiance_w_per_m2));
    }
    if exposure.passes == 0 || (1 < exposure.passes && !positive(exposure.period_s)) {
        return Err(refuse("period of the passes", exposure.period_s));
    }
    Ok(())
}
