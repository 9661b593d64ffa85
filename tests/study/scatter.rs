//! Drawn joints: thermal factors against scaled property tables, inputs and defaults.

use std::sync::Arc;

use approx::assert_relative_eq;
use lightseam::study::scatter::{Draw, Quantity, Scattered, scatter_of};
use lightseam::weld::{Interface, Joint, Rule, Settings, simulate};

use crate::support::joints;

/// The joint with conductivity and specific heat of both parts really scaled.
fn with_tables(joint: &Joint, a: f64, b: f64) -> Joint {
    let mut joint = joint.clone();
    let mut material = (*joint.upper.material).clone();
    let thermal = &mut material.thermal;
    let k = &mut thermal.conductivity_w_per_m_k.value;
    *k = k.scaled(a);
    let c = &mut thermal.specific_heat_j_per_kg_k.value;
    *c = c.scaled(b);
    if let Some(it) = &mut thermal.latent_heat {
        it.value.heat_j_per_kg *= b;
    }
    joint.upper.material = Arc::new(material);
    joint.lower.material = Arc::clone(&joint.upper.material);
    joint
}

/// Factors on conductivity and specific heat by similarity give the margins of scaled tables, with
/// convection, contact resistance, damage and a time to heal in play.
#[test]
fn thermal_factors_are_those_of_scaled_tables() {
    let mut joint = joints::from_text(
        r#"
upper = { material = "pp", thickness = "1.5 mm", absorption = "0.2 /mm" }
lower = { material = "pp", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
contact = { conductance = "9000 W/m2/K" }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "12 W" }
motion = { mode = "contour", speed = "40 mm/s" }
limits = { time_above_flow = "30 ms" }
"#,
    );
    joint.surroundings.convection_w_per_m2_k = 40.0;
    let settings = Settings::standard();
    let draw = Draw::around(&joint).unwrap();
    for (a, b) in [(1.3, 0.8), (0.7, 1.4), (1.2, 1.2)] {
        let drawn = draw.at(&[Quantity::Conductivity, Quantity::SpecificHeat], &[a, b]);
        let near = simulate(&[drawn.joint], &settings).remove(0).unwrap();
        let scaled = with_tables(&joint, a, b);
        let exact = simulate(&[scaled], &settings).remove(0).unwrap();
        assert_eq!(near.verdict, exact.verdict);
        assert!(exact.criteria.iter().any(|it| it.rule == Rule::Damage));
        for (near, exact) in near.criteria.iter().zip(&exact.criteria) {
            assert_eq!(near.rule, exact.rule);
            assert_relative_eq!(
                near.margin,
                exact.margin,
                epsilon = 2e-3,
                max_relative = 2e-3
            );
        }
    }
}

#[test]
fn a_joint_drawn_in_the_middle_is_the_joint() {
    let joint = joints::clear_on_black();
    let settings = Settings::standard();
    let middle = Draw::around(&joint).unwrap().middle();
    let [a, b] = [&joint, &middle].map(|it| {
        simulate(std::slice::from_ref(it), &settings)
            .remove(0)
            .unwrap()
    });
    assert_relative_eq!(a.governing.margin, b.governing.margin, max_relative = 1e-9);
}

#[test]
fn power_and_speed_set_are_those_simulated_without_scatter() {
    let joint = joints::clear_on_black();
    let drawn = Draw::around(&joint)
        .unwrap()
        .at(&[Quantity::Power, Quantity::Speed], &[1.1, 0.9]);
    let set = drawn.set_to(10.0, 0.03);
    assert_relative_eq!(set.beam.power_w, 11.0);
    assert_relative_eq!(set.motion.setting(), 0.027);
}

#[test]
fn factors_are_lognormal_about_the_stated_value() {
    let input = Scattered {
        quantity: Quantity::Power,
        relative: 0.5,
        source: String::new(),
    };
    assert_relative_eq!(input.factor(0.5), 1.0, epsilon = 1e-12);
    assert_relative_eq!(input.factor(0.1) * input.factor(0.9), 1.0, epsilon = 1e-12);
    // Relative standard deviation by a fine sum over the distribution.
    let count = 200_000;
    let all: Vec<f64> = (0..count)
        .map(|i| input.factor((f64::from(i) + 0.5) / f64::from(count)))
        .collect();
    let mean = all.iter().sum::<f64>() / f64::from(count);
    let variance = all.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / f64::from(count);
    assert_relative_eq!(variance.sqrt() / mean, 0.5, max_relative = 2e-3);
}

#[test]
fn the_joint_file_goes_before_cards_and_cards_before_nothing() {
    let text = |uncertainty: &str| {
        format!(
            r#"
upper = {{ material = "pa6", thickness = "1.5 mm" }}
lower = {{ material = "pa6", thickness = "2 mm", absorber = {{ kind = "carbon black", content = "0.3 %" }} }}
beam = {{ wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "9 W" }}
motion = {{ mode = "contour", speed = "40 mm/s" }}
uncertainty = {{ {uncertainty} }}
"#
        )
    };
    let of = |uncertainty: &str| scatter_of(&joints::from_text(&text(uncertainty)));
    let spread = |scatter: &lightseam::study::scatter::Scatter, wanted: Quantity| {
        let found = scatter.inputs.iter().find(|it| it.quantity == wanted);
        found.map(|it| it.relative)
    };
    let cards = of("power = \"2 %\"");
    assert_eq!(spread(&cards, Quantity::UpperAbsorption), Some(1.0));
    assert_eq!(spread(&cards, Quantity::UpperScattering), Some(0.5));
    assert_eq!(spread(&cards, Quantity::Absorber), Some(0.5));
    assert_eq!(spread(&cards, Quantity::Conductivity), Some(0.15));
    assert_eq!(spread(&cards, Quantity::Power), Some(0.02));
    assert!(cards.exact.contains(&Quantity::Spot));
    // Perfect contact has nothing to scatter.
    assert!(!cards.exact.contains(&Quantity::Contact));
    let stated = of("upper_optics = \"8 %\", absorber = \"0 %\"");
    assert_eq!(spread(&stated, Quantity::UpperOptics), Some(0.08));
    assert_eq!(spread(&stated, Quantity::UpperAbsorption), None);
    assert_eq!(spread(&stated, Quantity::Absorber), None);
    assert!(stated.exact.contains(&Quantity::Absorber));
}

/// A gap is scattered in width, and its air conducts accordingly.
#[test]
fn a_gap_scatters_in_width() {
    let mut joint = joints::clear_on_black();
    joint.interface = Interface::of_gap(20e-6);
    let drawn = Draw::around(&joint)
        .unwrap()
        .at(&[Quantity::Contact], &[1.5]);
    assert!(matches!(
        drawn.joint.interface,
        Interface::Gap { gap_m, conductance_w_per_m2_k: None, closes: true, .. }
            if (gap_m / 30e-6 - 1.0).abs() < 1e-12
    ));
    // More conduction in the parts is less across the air, in units of theirs.
    let drawn = Draw::around(&joint)
        .unwrap()
        .at(&[Quantity::Conductivity], &[1.25]);
    let Interface::Gap {
        gap_m, film_factor, ..
    } = drawn.joint.interface
    else {
        panic!("the gap is gone");
    };
    assert_relative_eq!(gap_m, 20e-6);
    assert_relative_eq!(film_factor, 0.8, max_relative = 1e-12);
}

/// The time of a shot scatters as stated, in place of a speed, which a shot has not.
#[test]
fn the_time_of_a_shot_scatters() {
    let joint = joints::from_text(
        r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "80 mm", width = "1.5 mm", power = "40 W" }
motion = { mode = "simultaneous", time = "1.5 s" }
uncertainty = { time = "2 %" }
"#,
    );
    let scatter = scatter_of(&joint);
    let of = |quantity| scatter.inputs.iter().find(|it| it.quantity == quantity);
    assert_eq!(of(Quantity::Time).unwrap().relative, 0.02);
    assert!(of(Quantity::Speed).is_none() && !scatter.exact.contains(&Quantity::Speed));
    let drawn = Draw::around(&joint).unwrap().at(&[Quantity::Time], &[1.1]);
    assert_relative_eq!(drawn.joint.motion.setting(), 1.65, max_relative = 1e-12);
    // Where there is a speed, there is no time.
    let scatter = scatter_of(&joints::clear_on_black());
    assert!(scatter.exact.contains(&Quantity::Speed) && !scatter.exact.contains(&Quantity::Time));
}
