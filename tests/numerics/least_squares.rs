//! Non-linear least squares on known minima.

use lightseam::numerics::least_squares::{Settings, Start, fit};

const SETTINGS: Settings = Settings {
    most_evaluations: 400,
    least_gain: 1e-20,
    least_gain_share: 0.0,
    largest_step: 2.0,
    difference: 1e-6,
};

fn start(parameters: [f64; 2]) -> Start {
    Start {
        parameters: parameters.to_vec(),
        lower: vec![-10.0, -10.0],
        upper: vec![10.0, 10.0],
        jacobian: None,
    }
}

#[test]
fn bent_valley() {
    // H. H. Rosenbrock, Comput. J. 3 (1960) 175: minimum at (1, 1) from (−1.2, 1).
    let got = fit(start([-1.2, 1.0]), SETTINGS, |p| {
        vec![10.0 * (p[1] - p[0] * p[0]), 1.0 - p[0]]
    });
    assert!(got.converged, "{got:?}");
    assert!((got.parameters[0] - 1.0).abs() < 1e-6 && (got.parameters[1] - 1.0).abs() < 1e-6);
}

#[test]
fn straight_line_with_its_covariance() {
    // y = a + b x with σ = 0.5: covariance σ² (XᵀX)⁻¹ by hand. Σx = 12, Σx² = 58, n = 4, det 88.
    let x = [1.0, 2.0, 2.0, 7.0];
    let y = [2.0, 2.5, 4.0, 9.0];
    let got = fit(start([0.0, 0.0]), SETTINGS, |p| {
        (0..4).map(|i| (p[0] + p[1] * x[i] - y[i]) / 0.5).collect()
    });
    let det = 4.0 * 58.0 - 144.0;
    let (sum, weighted) = (17.5, 78.0);
    let b = (4.0 * weighted - 12.0 * sum) / det;
    assert!((got.parameters[1] - b).abs() < 1e-7);
    assert!((got.parameters[0] - (sum - 12.0 * b) / 4.0).abs() < 1e-7);
    let covariance = got.covariance();
    assert!((covariance.row(0)[0] - 0.25 * 58.0 / det).abs() < 1e-6);
    assert!((covariance.row(0)[1] + 0.25 * 12.0 / det).abs() < 1e-6);
    assert!((covariance.row(1)[1] - 0.25 * 4.0 / det).abs() < 1e-6);
}

#[test]
fn a_bound_is_kept_and_the_rest_still_fitted() {
    let mut bounded = start([3.0, 3.0]);
    bounded.lower = vec![0.5, -10.0];
    // Without the bound (−1, 2.5); with p₀ = 0.5 the best p₁ minimises the coupled sum.
    let got = fit(bounded, SETTINGS, |p| {
        vec![p[0] + 1.0, 2.0 * (p[1] - 2.5) + 0.3 * (p[0] + 1.0)]
    });
    assert!(got.converged);
    assert_eq!(got.parameters[0], 0.5);
    assert!(
        (got.parameters[1] - (2.5 - 0.3 * 1.5 / 2.0)).abs() < 1e-6,
        "{got:?}"
    );
}

#[test]
fn a_jacobian_from_nearby_saves_calls() {
    let model = |p: &[f64]| vec![(p[0]).exp() - 2.0, (0.5 * p[1]).exp() + 0.2 * p[0] - 3.0];
    let cold = fit(start([0.0, 0.0]), SETTINGS, model);
    let mut warm = start([cold.parameters[0] + 0.01, cold.parameters[1] - 0.01]);
    warm.jacobian = Some(cold.jacobian.clone());
    let again = fit(warm, SETTINGS, model);
    assert!(again.converged && again.evaluations < cold.evaluations);
    assert!((again.parameters[0] - 2.0_f64.ln()).abs() < 1e-6);
}
