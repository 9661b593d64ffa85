//! From criteria to a verdict, and the margins against numbers worked by hand.

use approx::assert_relative_eq;
use lightseam::weld::criteria::{Criterion, Rule, damage_share, judge, source_of_limit};
use lightseam::weld::verdict::{Verdict, decide};
use lightseam::weld::{Settings, simulate};

use crate::support::joints;

fn criterion(rule: Rule, margin: f64) -> Criterion {
    Criterion {
        rule,
        value: 1.0,
        limit: 1.0,
        margin,
    }
}

#[test]
fn the_smallest_margin_governs_a_sound_weld() {
    let criteria = [
        criterion(Rule::Fusion, 0.4),
        criterion(Rule::UpperMeltDepth, 0.12),
        criterion(Rule::Damage, 0.3),
    ];
    let (verdict, governing) = decide(&criteria).unwrap();
    assert_eq!(verdict, Verdict::Sound);
    assert_eq!(governing.rule, Rule::UpperMeltDepth);
}

#[test]
fn a_weld_that_is_not_fused_is_nothing_else() {
    // Depth always fails with fusion, and by more; damage below a cold interface is still no weld.
    let criteria = [
        criterion(Rule::Fusion, -0.1),
        criterion(Rule::UpperMeltDepth, -0.4),
        criterion(Rule::Damage, -0.7),
    ];
    let (verdict, governing) = decide(&criteria).unwrap();
    assert_eq!(verdict, Verdict::Unfused);
    assert_eq!(governing.rule, Rule::Fusion);
}

#[test]
fn every_broken_rule_has_its_verdict() {
    let expected = [
        (Rule::Fusion, Verdict::Unfused),
        (Rule::GapClosure, Verdict::Unfused),
        (Rule::UpperMeltDepth, Verdict::Weak),
        (Rule::LowerMeltDepth, Verdict::Weak),
        (Rule::TimeAboveFlow, Verdict::Weak),
        (Rule::Healing, Verdict::Weak),
        (Rule::Collapse, Verdict::Weak),
        (Rule::Damage, Verdict::Degraded),
        (Rule::Decomposition, Verdict::Degraded),
        (Rule::SurfaceMarking, Verdict::Marked),
    ];
    assert_eq!(expected.map(|it| it.0), Rule::ALL);
    for (rule, verdict) in expected {
        let criteria = Rule::ALL.map(|it| criterion(it, if it == rule { -0.2 } else { 0.1 }));
        let (found, governing) = decide(&criteria).unwrap();
        assert_eq!((found, governing.rule), (verdict, rule));
    }
    assert!(decide(&[]).is_none());
}

/// Margins of one real history, worked again by hand from its temperatures.
#[test]
fn margins_are_shares_of_a_temperature_rise() {
    let joint = joints::clear_on_black();
    let outcome = simulate(std::slice::from_ref(&joint), &Settings::standard())
        .remove(0)
        .unwrap();
    let ambient = joint.surroundings.ambient_k;
    let flow = joint.lower.material.thermal.flow_temperature_k.value;
    let history = &outcome.history;
    let find = |rule| *outcome.criteria.iter().find(|it| it.rule == rule).unwrap();

    let fusion = find(Rule::Fusion);
    let coldest = history
        .interface_peak_upper_k
        .min(history.interface_peak_lower_k);
    assert_relative_eq!(fusion.margin, (coldest - flow) / (flow - ambient));

    let marking = find(Rule::SurfaceMarking);
    let limit = joint.upper.material.thermal.surface_temperature_k.value;
    assert_relative_eq!(
        marking.margin,
        (limit - history.laser_side_peak_k) / (limit - ambient)
    );

    // The damage margin: hold the hottest point at T for the time t that gives the integral found;
    // at T_limit the same time gives the limit.
    let damage = find(Rule::Damage);
    let kinetics = joint.lower.material.damage.as_ref().unwrap();
    let integral = history.damage_integral.unwrap();
    let time_s = integral / kinetics.rate_per_s(history.damage_peak_k);
    let t_limit = history.damage_peak_k
        + damage.margin * (history.damage_peak_k - ambient) / (1.0 - damage.margin);
    assert_relative_eq!(
        damage_share(kinetics.rate_per_s(t_limit) * time_s),
        joint.limits.damage.value,
        max_relative = 1e-6
    );
    assert_relative_eq!(damage.value, damage_share(integral));
}

#[test]
fn no_light_gives_the_coldest_margins() {
    let mut joint = joints::clear_on_black();
    joint.beam.power_w = 0.0;
    let outcome = simulate(std::slice::from_ref(&joint), &Settings::standard())
        .remove(0)
        .unwrap();
    assert_eq!(outcome.verdict, Verdict::Unfused);
    for it in judge(&joint, &outcome.history) {
        let expected = if it.rule.wants_heat() { -1.0 } else { 1.0 };
        assert_relative_eq!(it.margin, expected, epsilon = 1e-6);
    }
}

/// The flow temperature a fusion limit is of comes with its own source.
#[test]
fn the_source_of_fusion_is_that_of_the_part_it_is_of() {
    let joint = joints::from_text(
        r#"
upper = { material = "pe-hd", thickness = "1 mm" }
lower = { material = "pom", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "6 W" }
motion = { mode = "contour", speed = "50 mm/s" }
"#,
    );
    let outcome = simulate(std::slice::from_ref(&joint), &Settings::standard())
        .remove(0)
        .unwrap();
    let fusion = outcome.criteria.iter().find(|it| it.rule == Rule::Fusion);
    let flows = [&joint.upper, &joint.lower].map(|it| &it.material.thermal.flow_temperature_k);
    assert_ne!(flows[0].source, flows[1].source);
    assert_eq!(fusion.unwrap().limit, flows[1].value);
    let found = source_of_limit(&joint, fusion.unwrap());
    assert_eq!(found.source, flows[1].source);
    assert_eq!(found.status, flows[1].status);
}
