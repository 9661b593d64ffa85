//! Requirements: a hair either side of each limit latitude and verdict differ; reasons where none is.

use lightseam::study::Silent;
use lightseam::study::power_limits::{at_power, power_limits};
use lightseam::study::requirement::{
    Ask, EDGE_TOLERANCE, End, Range, Requirement, Vary, Why, requirement,
};
use lightseam::study::scatter::{Draw, Quantity};
use lightseam::weld::{Joint, Rule, Settings, Verdict, simulate};

use crate::support::joints;

const ASK: Ask = Ask { drift: 0.15 };

fn required(joint: &Joint) -> Requirement {
    requirement(joint, ASK, &Settings::standard(), &Silent).unwrap()
}

/// Latitude of the joint with one input multiplied, and the verdicts at the ends of ± 15 %.
fn latitude(joint: &Joint, quantity: Quantity, factor: f64, found: &Requirement) -> f64 {
    let moved = Draw::around(joint)
        .unwrap()
        .at(&[quantity], &[factor])
        .joint;
    let limits = power_limits(&[moved], found.power_w, &Settings::standard(), &Silent)
        .remove(0)
        .unwrap();
    limits.latitude_within(found.laser_w).unwrap_or(0.0)
}

#[test]
fn a_hair_either_side_of_each_limit_the_latitude_is_on_either_side_of_the_one_asked() {
    let joint = joints::clear_on_black();
    let found = required(&joint);
    let settings = Settings::standard();
    let mut checked = 0;
    for (vary, quantity) in [
        (Vary::Absorption, Quantity::UpperAbsorption),
        (Vary::Thickness, Quantity::UpperThickness),
        (Vary::Absorber, Quantity::Absorber),
    ] {
        let Some(Range::Found(least, most)) = found.range(vary) else {
            panic!("{vary:?} has no answer");
        };
        for (end, outwards) in [(least, -1.0), (most, 1.0)] {
            let End::At(point) = end else { continue };
            let hair = (4.0 * EDGE_TOLERANCE * outwards).exp();
            let inside = latitude(&joint, quantity, point.factor / hair, &found);
            let outside = latitude(&joint, quantity, point.factor * hair, &found);
            assert!(ASK.ratio() <= inside, "{vary:?}: {inside}");
            assert!(outside < ASK.ratio(), "{vary:?}: {outside}");
            // Inside, a set power exists that may drift by ± 15 % and stays sound.
            let low = point.limits.low.power_w().unwrap().max(found.laser_w.0);
            let set = low / 0.85 * 1.001;
            let moved = Draw::around(&joint)
                .unwrap()
                .at(&[quantity], &[point.factor / hair])
                .joint;
            for drift in [0.85, 1.0, 1.15 * 0.998] {
                let outcome = simulate(&[at_power(&moved, set * drift)], &settings)
                    .remove(0)
                    .unwrap();
                assert_eq!(outcome.verdict, Verdict::Sound, "{vary:?} at {drift}");
            }
            checked += 1;
        }
    }
    assert!(3 <= checked, "only {checked} limits");
    assert!(found.complies());
    let (_, least) = found.least_transmittance().unwrap();
    assert!(0.02 < least.transmittance && least.transmittance < found.own.transmittance);
}

#[test]
fn a_weak_laser_is_named_with_the_power_that_is_needed() {
    let mut joint = joints::clear_on_black();
    let strong = required(&joint);
    let mut machine = joint.machine.unwrap();
    machine.power_w = (0.05, 0.4);
    joint.machine = Some(machine);
    let found = required(&joint);
    assert!(!found.complies());
    let Some(Range::Nowhere(_, Why::LaserTooWeak { needs_w, has_w })) =
        found.range(Vary::Absorption)
    else {
        panic!("{:?}", found.range(Vary::Absorption));
    };
    assert_eq!(*has_w, 0.4);
    let low = strong.own.limits.low.power_w().unwrap();
    assert!(
        has_w < needs_w && *needs_w <= low * ASK.ratio() * 1.01,
        "{needs_w} {low}"
    );
}

/// A surface that softens before the interface has melted deep enough: marks first, and says so.
#[test]
fn a_surface_that_marks_first_is_named() {
    let mut joint = joints::clear_on_black();
    let mut material = (*joint.upper.material).clone();
    material.thermal.surface_temperature_k.value = 296.9;
    joint.upper.material = std::sync::Arc::new(material);
    let found = required(&joint);
    let Some(Range::Nowhere(_, Why::TooNarrow { high, .. })) = found.range(Vary::Absorber) else {
        panic!("{:?}", found.range(Vary::Absorber));
    };
    assert_eq!(*high, Some(Rule::SurfaceMarking));
}

/// A time to heal that no power reaches: never welds.
#[test]
fn a_rule_that_is_never_met_is_named() {
    let mut joint = joints::clear_on_black();
    let mut limits = (*joint.limits).clone();
    limits.time_above_flow_s = Some(lightseam::material::Sourced::new(
        1e4,
        "test",
        lightseam::material::Status::Stated,
    ));
    joint.limits = std::sync::Arc::new(limits);
    let found = required(&joint);
    let Some(Range::Nowhere(_, Why::NeverHot { rule })) = found.range(Vary::Absorption) else {
        panic!("{:?}", found.range(Vary::Absorption));
    };
    assert_eq!(*rule, Rule::TimeAboveFlow);
}
