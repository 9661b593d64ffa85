//! The two-layer reference problem with melting, at the standard settings.
//!
//! Source: `tests/published/heat-two-layer.csv`, converged by another program and discretisation.

use lightseam::heat::{History, Settings, run};
use lightseam::units::celsius;

use crate::heat::joints::reference_joint;

/// The extrapolated value of a quantity of a case.
fn converged(case: &str, quantity: &str) -> f64 {
    let text = include_str!("../published/heat-two-layer.csv");
    text.lines()
        .map(|line| line.split(',').collect::<Vec<_>>())
        .find(|row| row[0] == case && row[1] == quantity)
        .map(|row| row[4].parse().unwrap())
        .unwrap()
}

fn solve(irradiance_w_per_m2: f64) -> History {
    let joint = reference_joint(irradiance_w_per_m2);
    run(&[joint], &Settings::standard()).remove(0).unwrap()
}

/// Demanded of the standard settings.
const PEAK_K: f64 = 0.5;
const DEPTH: f64 = 0.02;
const NEAR_THRESHOLD_DEPTH: f64 = 0.05;
const TIME: f64 = 0.01;

fn check(case: &str, irradiance_w_per_m2: f64, upper_depth: f64) {
    let history = solve(irradiance_w_per_m2);
    let near = |found: f64, quantity: &str, limit: f64| {
        let exact = converged(case, quantity);
        assert!(
            (found - exact).abs() <= limit,
            "{case} {quantity}: {found} against {exact}"
        );
    };
    let within = |found: f64, quantity: &str, share: f64| {
        near(found, quantity, share * converged(case, quantity));
    };
    near(celsius(history.interface_peak_upper_k), "T_peak", PEAK_K);
    near(celsius(history.interface_peak_lower_k), "T_peak", PEAK_K);
    near(celsius(history.body_peak_k), "Tmax_body", PEAK_K);
    within(history.first_flow_s.unwrap(), "t_up", TIME);
    within(history.time_above_flow_s, "t_above", TIME);
    within(1e3 * history.upper_melt_depth_m, "d_up_mm", upper_depth);
    within(1e3 * history.lower_melt_depth_m, "d_lo_mm", DEPTH);
}

#[test]
fn strong_case() {
    check("A1", 20e6, DEPTH);
}

#[test]
fn mild_case_just_above_the_threshold() {
    check("B", 8e6, NEAR_THRESHOLD_DEPTH);
}

/// At fine settings the converged values are met as closely as they are known.
#[test]
fn fine_settings_meet_the_converged_values() {
    for (case, irradiance) in [("A1", 20e6), ("B", 8e6)] {
        let history = run(&[reference_joint(irradiance)], &Settings::fine())
            .remove(0)
            .unwrap();
        let peak = celsius(history.interface_peak_upper_k) - converged(case, "T_peak");
        assert!(peak.abs() < 0.02, "{case}: {peak}");
        let depth = 1e3 * history.upper_melt_depth_m / converged(case, "d_up_mm") - 1.0;
        assert!(depth.abs() < 2e-3, "{case}: {depth}");
        let time = history.time_above_flow_s / converged(case, "t_above") - 1.0;
        assert!(time.abs() < 1e-3, "{case}: {time}");
    }
}
