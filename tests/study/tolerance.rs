//! Tolerance: the chance against a closed form and plain random draws, effects, seeds.

use lightseam::numerics::random::Stream;
use lightseam::study::Silent;
use lightseam::study::chance_window::chance_window;
use lightseam::study::power_limits::{at_power, power_limits};
use lightseam::study::scatter::{Quantity, scatter_of};
use lightseam::study::tolerance::{Plan, tolerance};
use lightseam::weld::{Joint, Settings, Uncertainty, Verdict, simulate};

use crate::support::joints;

const PLAN: Plan = Plan {
    samples: 4_000,
    seed: 4,
};

/// A joint near its lowest sound power, of which only some inputs scatter.
fn near_the_edge(uncertainty: Uncertainty, ratio: f64) -> Joint {
    let mut joint = joints::clear_on_black();
    joint.uncertainty = uncertainty;
    let limits = power_limits(
        std::slice::from_ref(&joint),
        (0.1, 200.0),
        &Settings::standard(),
        &Silent,
    )
    .remove(0)
    .unwrap();
    at_power(&joint, limits.low.power_w().unwrap() * ratio)
}

/// If power alone scatters, the weld is sound where exp(σ z) ≥ lowest / power: a normal tail.
#[test]
fn scattered_power_alone_gives_the_normal_tail() {
    let uncertainty = Uncertainty {
        power: Some(0.05),
        upper_optics: Some(0.0),
        absorber: Some(0.0),
        thermal: Some(0.0),
        ..Uncertainty::default()
    };
    let joint = near_the_edge(uncertainty, 1.05);
    // 256 points a scramble: the grain of the share is a few 1e-4.
    let plan = Plan {
        samples: 16_000,
        ..PLAN
    };
    let found = tolerance(&joint, &plan, &Settings::standard(), &Silent).unwrap();
    let z = 1.05f64.ln() / 0.05f64.powi(2).ln_1p().sqrt();
    let expected = 0.5 * (1.0 + libm::erf(z / 2f64.sqrt()));
    assert!(
        (found.sound.value() - expected).abs() < 2e-3,
        "{} {expected}",
        found.sound.value()
    );
    assert!(found.sound.interval.0 < expected && expected < found.sound.interval.1);
    // One input brings all the variance.
    assert_eq!(found.effects.len(), 1);
    for effect in found.effects[0].on_margin {
        assert!((effect.value - 1.0).abs() < 0.02, "{effect:?}");
    }
    // Half the spread moves the edge from z to 2 z.
    let halved = 0.5 * (1.0 + libm::erf(2.0 * z / 2f64.sqrt()));
    assert!((found.effects[0].halved.value() - halved).abs() < 5e-3);
    assert_eq!(
        found.hold_tighter().map(|it| it.input.quantity),
        Some(Quantity::Power)
    );
}

/// The same chance by plain random draws and single simulations that share nothing but the joint.
#[test]
fn the_chance_is_that_of_plain_random_draws() {
    let uncertainty = Uncertainty {
        power: Some(0.06),
        spot: Some(0.08),
        upper_thickness: Some(0.1),
        upper_optics: Some(0.0),
        absorber: Some(0.3),
        thermal: Some(0.0),
        ..Uncertainty::default()
    };
    let joint = near_the_edge(uncertainty, 1.1);
    let settings = Settings::standard();
    let found = tolerance(&joint, &PLAN, &settings, &Silent).unwrap();
    let inputs = scatter_of(&joint).inputs;
    let draws = 1500;
    let joints: Vec<Joint> = (0..draws)
        .map(|i| {
            let mut stream = Stream::new(99, 1, i);
            let mut drawn = joint.clone();
            for it in &inputs {
                let factor = it.factor(stream.uniform());
                let input = match it.quantity {
                    Quantity::Power => lightseam::study::Input::Power,
                    Quantity::Spot => lightseam::study::Input::Spot,
                    Quantity::UpperThickness => lightseam::study::Input::UpperThickness,
                    Quantity::Absorber => lightseam::study::Input::Absorber,
                    other => panic!("{other:?} should not scatter"),
                };
                drawn = input.scaled(&drawn, factor);
            }
            drawn
        })
        .collect();
    let hits = simulate(&joints, &settings)
        .into_iter()
        .filter(|it| it.as_ref().unwrap().verdict == Verdict::Sound)
        .count();
    let share = hits as f64 / draws as f64;
    let error = (share * (1.0 - share) / draws as f64).sqrt();
    let off = (found.sound.value() - share).abs();
    assert!(
        off < 4.0 * error,
        "{} {share} ± {error}",
        found.sound.value()
    );
    // Shares of verdicts and of governing rules are shares of the same welds.
    let counted: usize = found.verdicts.iter().map(|it| it.1).sum();
    assert_eq!(counted, found.sound.trials);
    let broken: usize = found.rules.iter().map(|it| it.1).sum();
    assert_eq!(broken, found.sound.trials - found.sound.hits);
    // A total effect is never below the first-order one but for what sampling does.
    for it in &found.effects {
        let [first, total] = it.on_margin;
        assert!(
            first.value < total.value + first.half + total.half,
            "{it:?}"
        );
    }
}

#[test]
fn one_seed_gives_one_answer() {
    let joint = near_the_edge(
        Uncertainty {
            power: Some(0.05),
            spot: Some(0.05),
            ..Uncertainty::default()
        },
        1.1,
    );
    let plan = Plan {
        samples: 1_000,
        seed: 8,
    };
    let of = |plan: &Plan| tolerance(&joint, plan, &Settings::standard(), &Silent).unwrap();
    let (a, b) = (of(&plan), of(&plan));
    assert_eq!((a.sound, a.margins), (b.sound, b.margins.clone()));
    assert_ne!(of(&Plan { seed: 9, ..plan }).margins, b.margins);
}

/// A point of the map is the chance of single setpoints.
#[test]
fn the_map_is_the_chance_at_its_setpoints() {
    let uncertainty = Uncertainty {
        power: Some(0.05),
        spot: Some(0.05),
        absorber: Some(0.2),
        thermal: Some(0.05),
        ..Uncertainty::default()
    };
    let joint = near_the_edge(uncertainty, 1.08);
    let settings = Settings::standard();
    let plan = Plan {
        samples: 30_000,
        seed: 2,
    };
    let map = chance_window(&joint, &plan, &settings, &Silent).unwrap();
    let single = tolerance(&joint, &PLAN, &settings, &Silent).unwrap();
    let found = map.at(&joint).unwrap();
    // 128 joints, and a cell of 5 % of power across a steep edge.
    assert!(
        (found - single.sound.value()).abs() < 0.08,
        "{found} {}",
        single.sound.value()
    );
    let (_, _, best) = map.best.unwrap();
    assert!(0.99 < best, "{best}");
}
