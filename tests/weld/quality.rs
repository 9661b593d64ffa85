//! Healing and collapse as criteria: margins worked by hand, refusals, and trends an engineer knows.

use std::sync::Arc;

use approx::assert_relative_eq;
use lightseam::heat::MeltOutcome;
use lightseam::material::melt::Healing;
use lightseam::material::{Material, Sourced, Status};
use lightseam::weld::criteria::{Rule, judge, source_of_limit};
use lightseam::weld::{Interface, Joint, Limits, Verdict};

use crate::support::joints::{self, outcome};

fn limited(joint: &Joint, change: impl FnOnce(&mut Limits)) -> Joint {
    let mut limits = Limits::clone(&joint.limits);
    change(&mut limits);
    Joint {
        limits: Arc::new(limits),
        ..joint.clone()
    }
}

fn stated(value: f64) -> Option<Sourced<f64>> {
    Some(Sourced::new(value, "joint file", Status::Stated))
}

/// A shot on clear over black PMMA, pressed.
fn shot(pressure: &str) -> Joint {
    joints::from_text(&format!(
        r#"
upper = {{ material = "pmma", thickness = "1.5 mm" }}
lower = {{ material = "pmma", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.3 %" }} }}
contact = {{ pressure = "{pressure}" }}
beam = {{ wavelength = "980 nm", length = "120 mm", width = "2 mm", power_density = "0.45 W/mm2" }}
motion = {{ mode = "simultaneous", time = "0.8 s" }}
"#
    ))
}

#[test]
fn margins_by_hand() {
    let joint = limited(&shot("1 N/mm2"), |limits| {
        limits.healing = stated(0.5);
        limits.collapse_m = stated(0.2e-3);
    });
    let mut history = outcome(&joint).history;
    // ∫dt/t_r = 0.7⁴ = 0.2401: healed to 0.7, asked for 0.5: 0.7/0.5 − 1 = 0.4.
    // 0.15 mm of 0.2 mm: −0.25.
    history.melt = MeltOutcome {
        healing: Some(0.2401),
        collapse_m: Some(0.15e-3),
        collapse_reached_s: None,
    };
    let judged = judge(&joint, &history);
    let of = |rule: Rule| *judged.iter().find(|it| it.rule == rule).unwrap();
    assert_relative_eq!(of(Rule::Healing).value, 0.7, max_relative = 1e-9);
    assert_relative_eq!(of(Rule::Healing).margin, 0.4, max_relative = 1e-9);
    assert_relative_eq!(of(Rule::Collapse).margin, -0.25, max_relative = 1e-9);
    assert_eq!(
        source_of_limit(&joint, &of(Rule::Collapse)).source,
        "joint file"
    );
    // Sixteen times the time heals twice as far, and the degree stops at one; the margin does not.
    history.melt.healing = Some(16.0 * 0.2401);
    let judged = judge(&joint, &history);
    let healing = judged.iter().find(|it| it.rule == Rule::Healing).unwrap();
    assert_eq!(healing.value, 1.0);
    assert_relative_eq!(healing.margin, 1.8, max_relative = 1e-9);
}

#[test]
fn neither_is_judged_where_no_limit_is_stated() {
    let joint = shot("1 N/mm2");
    let found = outcome(&joint);
    assert!(0.0 < found.history.melt.collapse_m.unwrap());
    let rules: Vec<Rule> = found.criteria.iter().map(|it| it.rule).collect();
    assert!(!rules.contains(&Rule::Collapse) && !rules.contains(&Rule::Healing));
}

#[test]
fn more_pressure_and_more_heat_collapse_further() {
    let collapse = |joint: &Joint| outcome(joint).history.melt.collapse_m.unwrap();
    let (soft, hard) = (collapse(&shot("0.3 N/mm2")), collapse(&shot("3 N/mm2")));
    assert!(soft < hard, "{soft:e} {hard:e}");
    // While little has left, collapse is in proportion to pressure.
    let (weak, twice) = (
        collapse(&shot("0.0001 N/mm2")),
        collapse(&shot("0.0002 N/mm2")),
    );
    assert_relative_eq!(twice / weak, 2.0, max_relative = 0.02);
    let mut hotter = shot("0.3 N/mm2");
    hotter.beam.power_w *= 1.2;
    assert!(soft < collapse(&hotter));
}

/// Melt is squeezed out by parts that touch: not at all where they never meet, and later where they have
/// to swell into a gap first.
#[test]
fn nothing_is_squeezed_over_an_open_gap() {
    let over = |gap_m: f64| {
        let mut joint = limited(&shot("1 N/mm2"), |limits| {
            limits.collapse_m = stated(0.01e-3);
        });
        joint.interface = Interface::of_gap(gap_m);
        joint.beam.power_w *= 1.3;
        outcome(&joint).history
    };
    let open = over(1e-3);
    assert!(open.film.unwrap().closed_s.is_none() && 0.0 < open.lower_melt_depth_m);
    assert_eq!(open.melt.collapse_m, Some(0.0));
    assert_eq!(open.melt.collapse_reached_s, None);

    let (narrow, wide) = (over(5e-6), over(50e-6));
    let reached = [&narrow, &wide].map(|it| it.melt.collapse_reached_s.unwrap());
    let closed = [&narrow, &wide].map(|it| it.film.unwrap().closed_s.unwrap());
    assert!(closed[0] < reached[0] && closed[1] < reached[1]);
    assert!(reached[0] < reached[1], "{reached:?}");
    assert!(wide.melt.collapse_m < narrow.melt.collapse_m);
}

#[test]
fn a_contour_weld_does_not_collapse() {
    let joint = joints::from_text(
        r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
contact = { pressure = "1 N/mm2" }
beam = { wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "6 W" }
motion = { mode = "contour", speed = "50 mm/s" }
"#,
    );
    assert_eq!(outcome(&joint).history.melt.collapse_m, None);
}

#[test]
fn a_weld_too_short_to_heal_is_weak() {
    let mut material = Material::clone(&joints::clear_on_black().upper.material);
    material.melt.healing = Some(Sourced::new(
        Healing {
            time_s: 5.0,
            reference_k: 513.15,
            energy_j_per_mol: 90e3,
        },
        "made up for this test",
        Status::Invented,
    ));
    let material = Arc::new(material);
    let mut joint = joints::clear_on_black();
    joint.beam.power_w = 9.0;
    joint.upper.material = Arc::clone(&material);
    joint.lower.material = material;
    let found = outcome(&joint);
    assert_eq!(found.verdict, Verdict::Sound);
    let degree = found.history.melt.degree_of_healing().unwrap();
    assert!(0.05 < degree && degree < 1.0, "{degree}");
    let strict = limited(&joint, |limits| limits.healing = stated(1.0));
    let judged = outcome(&strict);
    assert_eq!(judged.verdict, Verdict::Weak);
    assert_eq!(judged.governing.rule, Rule::Healing);
    assert_relative_eq!(judged.governing.value, degree, max_relative = 1e-12);
    // Made-up numbers that a verdict rests on are warned about.
    let warned = lightseam::weld::warning::warnings(&strict, &judged);
    assert!(
        warned
            .iter()
            .any(|it| it.to_string().contains("healing time")),
        "{warned:?}"
    );
    // Slower is longer above flow, and heals further.
    let slower = outcome(&joint.at_setting(0.03)).history.melt;
    assert!(degree < slower.degree_of_healing().unwrap());
}
