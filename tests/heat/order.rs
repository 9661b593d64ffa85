//! Measured order of convergence in space and in time.

use std::sync::Arc;

use lightseam::heat::{Column, History, Settings, run};
use lightseam::material::Thermal;
use lightseam::numerics::interpolate::PiecewiseLinear;
use lightseam::optics::Exposure;
use lightseam::optics::beam::Shape;

use crate::heat::joints::{beer_lambert, body, plain, sourced, two_layers};

/// Least order accepted; the method is of order 2 in time and better than 2 in space.
const LEAST_ORDER: f64 = 1.9;

/// Conductivity and specific heat that vary smoothly, two materials, a Gaussian pulse: nothing
/// abrupt but the interface itself.
fn smooth_joint() -> Column {
    let varying = |k: f64, cp: f64| Thermal {
        conductivity_w_per_m_k: sourced(
            PiecewiseLinear::new(vec![250.0, 900.0], vec![k, 0.6 * k]).unwrap(),
        ),
        specific_heat_j_per_kg_k: sourced(
            PiecewiseLinear::new(vec![250.0, 900.0], vec![cp, 2.1 * cp]).unwrap(),
        ),
        ..plain(1130.0, 1.0, 1.0)
    };
    let (upper, lower) = (
        Arc::new(varying(0.31, 1300.0)),
        Arc::new(varying(0.22, 1650.0)),
    );
    let mut joint = two_layers(
        [body(&upper, 1.1e-3, 0), body(&lower, 2.0e-3, 1)],
        beer_lambert([150.0, 9e3], [1.1e-3, 2.0e-3]),
        Exposure {
            pulse: Shape::Gaussian,
            irradiance_w_per_m2: 9e6,
            dwell_s: 0.03,
            passes: 1,
            period_s: 0.0,
        },
    );
    joint.laser_side.coefficient_w_per_m2_k = 40.0;
    joint
}

fn solve(cells_per_e_fold: f64, tolerance: f64) -> History {
    let settings = Settings {
        cells_per_e_fold,
        tolerance,
        longest_s: 0.5,
        ..Settings::standard()
    };
    run(&[smooth_joint()], &settings).remove(0).unwrap()
}

#[test]
fn in_space() {
    let exact = solve(40.0, 1e-6).interface_peak_upper_k;
    // Numbers of cells are rounded up, so the order is taken over the cells there were.
    let error = |cells: f64| {
        let history = solve(cells, 1e-6);
        let off = (history.interface_peak_upper_k - exact).abs();
        (history.counters.cells as f64, off)
    };
    let (coarse, fine) = (error(2.0), error(6.0));
    let order = (coarse.1 / fine.1).ln() / (fine.0 / coarse.0).ln();
    assert!(LEAST_ORDER < order, "order {order}: {coarse:?}, {fine:?}");
}

#[test]
fn in_time() {
    let exact = solve(4.0, 2e-8);
    // The interface at the end of the run, where the errors of all steps have gathered.
    let at = |history: &History| history.interface_peak_lower_k;
    let error = |tolerance: f64| {
        let history = solve(4.0, tolerance);
        let off = (at(&history) - at(&exact)).abs();
        (history.counters.steps as f64, off)
    };
    let (coarse, fine) = (error(4e-4), error(8e-7));
    let order = (coarse.1 / fine.1).ln() / (fine.0 / coarse.0).ln();
    assert!(LEAST_ORDER < order, "order {order}: {coarse:?}, {fine:?}");
}
