//! Bands: the spread of a boundary against moving the input by hand.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use lightseam::study::Silent;
use lightseam::study::band::{Input, band, uncertain_inputs};
use lightseam::study::power_limits::{POWER_TOLERANCE, power_limits};
use lightseam::study::window::{at_speed, window};
use lightseam::weld::{Settings, Uncertainty};

use crate::support::joints;

#[test]
fn one_uncertain_input_spreads_the_boundary_by_its_own_shift() {
    let mut joint = joints::clear_on_black();
    joint.uncertainty = Uncertainty {
        spot: Some(0.07),
        absorber: Some(0.0),
        thermal: Some(0.0),
        ..Uncertainty::default()
    };
    let settings = Settings::standard();
    let window = window(&joint, &settings, &Silent).unwrap();
    let band = band(&joint, &window, &settings).unwrap();
    assert_eq!(band.inputs.len(), 1);
    let speed = band.setting[4];
    let power = |factor: f64| {
        let mut moved = at_speed(&joint, speed);
        moved.beam.length_m *= factor;
        moved.beam.width_m *= factor;
        power_limits(&[moved], window.power_w, &settings, &Silent)
            .remove(0)
            .unwrap()
            .low
            .power_w()
            .unwrap()
    };
    let expected = 0.5 * (power(1.07) / power(0.93)).ln();
    // Powers are bracketed to that width, from wherever the search starts.
    assert_abs_diff_eq!(band.low[4].unwrap(), expected, epsilon = POWER_TOLERANCE);
    // A spot wider by a share s needs at least that share of power more to melt.
    assert!(0.07 < expected, "{expected}");
}

#[test]
fn uncertain_power_is_its_own_spread_and_squares_add() {
    let mut joint = joints::clear_on_black();
    let settings = Settings::standard();
    let spread = |joint: &lightseam::weld::Joint| {
        let window = window(joint, &settings, &Silent).unwrap();
        band(joint, &window, &settings).unwrap().low[3].unwrap()
    };
    let only = |power, spot| Uncertainty {
        power,
        spot,
        absorber: Some(0.0),
        thermal: Some(0.0),
        ..Uncertainty::default()
    };
    joint.uncertainty = only(Some(0.03), None);
    let power = spread(&joint);
    assert_relative_eq!(power, 0.03, max_relative = 1e-12);
    joint.uncertainty = only(None, Some(0.05));
    let spot = spread(&joint);
    joint.uncertainty = only(Some(0.03), Some(0.05));
    assert_relative_eq!(spread(&joint), power.hypot(spot), max_relative = 1e-9);
}

#[test]
fn what_a_card_cannot_know_is_uncertain_by_default() {
    let joint = joints::clear_on_black();
    let inputs: Vec<Input> = uncertain_inputs(&joint).iter().map(|it| it.input).collect();
    assert_eq!(inputs, [Input::Absorber, Input::Thermal]);
}
