//! What every outcome owes: numbers. Shared by the property tests beside it and the fuzz target
//! `benches/fuzz`.

use lightseam::weld::Outcome;

/// The part of an outcome that holds something else than numbers; none where all is well.
pub fn not_a_number(outcome: &Outcome) -> Option<String> {
    let history = &outcome.history;
    let light = &outcome.light;
    let numbers = [
        history.interface_peak_upper_k,
        history.interface_peak_lower_k,
        history.laser_side_peak_k,
        history.time_above_flow_s,
        history.upper_melt_depth_m,
        history.lower_melt_depth_m,
        history.body_peak_k,
        history.body_peak_depth_m,
        history.damage_integral.unwrap_or(0.0),
        history.end_s,
        history.ledger.absorbed_j_per_m2,
        history.ledger.stored_j_per_m2,
        history.ledger.lost_j_per_m2,
        light.reflected,
        light.transmitted,
        light.absorbed_upper(),
        light.absorbed_lower(),
        outcome.governing.margin,
    ];
    if !numbers.iter().all(|it| it.is_finite()) {
        return Some(format!("{numbers:?} of {history:?}"));
    }
    let odd = outcome.criteria.iter().find(|it| it.margin.is_nan());
    odd.map(|it| format!("{it:?}"))
}
