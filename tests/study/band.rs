//! Bands: the spread of a boundary against moving the input by hand.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use lightseam::study::Silent;
use lightseam::study::band::{Input, band, uncertain_inputs};
use lightseam::study::power_limits::{POWER_TOLERANCE, power_limits};
use lightseam::study::scatter::{Quantity, scatter_of};
use lightseam::study::window::{at_speed, window};
use lightseam::weld::{Settings, Uncertainty};

use crate::support::joints;

#[test]
fn one_uncertain_input_spreads_the_boundary_by_its_own_shift() {
    let mut joint = joints::clear_on_black();
    joint.uncertainty = Uncertainty {
        upper_optics: Some(0.0),
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
        upper_optics: Some(0.0),
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

/// What `tolerance` scatters by default is in the band too: coefficients of the upper part as its card
/// knows them, and in place of them what the joint states.
#[test]
fn the_band_holds_what_the_card_says_of_the_upper_part() {
    let mut joint = joints::from_text(
        r#"
upper = { material = "pa6", thickness = "2 mm" }
lower = { material = "pa6", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.1 %" } }
beam = { wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "28 W" }
motion = { mode = "contour", speed = "20 mm/s" }
"#,
    );
    let scattered = scatter_of(&joint).inputs;
    let inputs = uncertain_inputs(&joint);
    for (input, quantity) in [
        (Input::UpperAbsorption, Quantity::UpperAbsorption),
        (Input::UpperScattering, Quantity::UpperScattering),
        (Input::Absorber, Quantity::Absorber),
    ] {
        let here = inputs.iter().find(|it| it.input == input).unwrap();
        let there = scattered.iter().find(|it| it.quantity == quantity).unwrap();
        assert_eq!(here.relative, there.relative, "{input:?}");
    }
    let of_card = inputs.iter().find(|it| it.input == Input::UpperScattering);
    assert_eq!(of_card.unwrap().source, "uncertainty on the card");

    joint.uncertainty.upper_optics = Some(0.2);
    let inputs: Vec<Input> = uncertain_inputs(&joint).iter().map(|it| it.input).collect();
    assert!(inputs.contains(&Input::UpperOptics) && !inputs.contains(&Input::UpperScattering));
}

#[test]
fn what_a_card_cannot_know_is_uncertain_by_default() {
    let joint = joints::clear_on_black();
    let inputs: Vec<Input> = uncertain_inputs(&joint).iter().map(|it| it.input).collect();
    assert_eq!(
        inputs,
        [Input::UpperAbsorption, Input::Absorber, Input::Thermal]
    );
}
