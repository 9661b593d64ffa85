//! A melt that is clearer than its solid: the cut part, the fixed point, and what it changes.

use lightseam::error::{Problem, WeldProblem};
use lightseam::material::optical::OpticalConstants;
use lightseam::optics::{self, Lighting, Method, Slab, Stack, photon_monte_carlo};
use lightseam::study::Silent;
use lightseam::study::clearing_sensitivity::clearing_sensitivity;
use lightseam::study::power_limits::at_power;
use lightseam::weld::clearing::{
    Cleared, PEAK_TOLERANCE_K, absorbed_through, matters, simulate_cleared, simulate_cleared_within,
};
use lightseam::weld::light::stack_of;
use lightseam::weld::{Joint, Settings, simulate};

use crate::support::joints;

/// A scattering lid on a black body; per mm.
fn lid(mu_s_per_mm: f64, power_w: f64, optics: &str) -> Joint {
    joints::from_text(&format!(
        r#"
[upper]
material = "pa66"
thickness = "1.3 mm"
refractive_index = 1.53
absorption = "0.04 /mm"
scattering = "{mu_s_per_mm} /mm"
anisotropy = 0.85
[lower]
material = "pa66"
thickness = "2 mm"
refractive_index = 1.53
absorption = "12 /mm"
[beam]
wavelength = "980 nm"
length = "2 mm"
width = "2.5 mm"
power = "{power_w} W"
[motion]
mode = "contour"
speed = "23 mm/s"
[optics]
{optics}
"#
    ))
}

fn one(joint: &Joint) -> Cleared {
    simulate_cleared(std::slice::from_ref(joint), &Settings::standard())
        .remove(0)
        .unwrap()
}

/// Cutting a part in two without changing either half changes nothing: 2e-5 is what the resolution
/// in depth of two different tables leaves.
#[test]
fn a_cut_part_is_the_whole_part() {
    for optics in ["", "method = \"two-flux\""] {
        let joint = lid(17.0, 80.0, optics);
        let stack = stack_of(&joint).unwrap();
        let method = joint.method.unwrap_or(Method::AddingDoubling);
        let whole = optics::absorb(&stack, method).unwrap();
        let cut = absorbed_through(&stack, Lighting::normal(method), 1.0, 0.21e-3).unwrap();
        assert_eq!(cut.layers.len(), whole.layers.len());
        assert_eq!((cut.upper, cut.lower), (whole.upper, whole.lower));
        assert!((cut.delivered_to_interface() - whole.delivered_to_interface()).abs() < 1e-9);
        assert!(cut.energy_residual().abs() < optics::ENERGY_TOLERANCE);
        for i in 0..=130 {
            let depth_m = 1e-5 * f64::from(i);
            let far = cut.layers[0].cumulative(depth_m) - whole.layers[0].cumulative(depth_m);
            assert!(far.abs() < 2e-5, "{depth_m}: {far:e}");
        }
    }
}

#[test]
fn a_part_molten_through_is_a_clearer_part() {
    let joint = lid(17.0, 80.0, "");
    let stack = stack_of(&joint).unwrap();
    let through =
        absorbed_through(&stack, Lighting::normal(Method::AddingDoubling), 0.3, 2e-3).unwrap();
    let mut clearer = stack.clone();
    clearer.slabs[0].constants.mu_s_per_m *= 0.3;
    assert_eq!(
        through,
        optics::absorb(&clearer, Method::AddingDoubling).unwrap()
    );
}

/// Solid, melt and black body as three layers, by photons: within 4 standard errors.
#[test]
fn photons_agree_on_solid_and_melt() {
    let joint = lid(17.0, 80.0, "");
    let stack = stack_of(&joint).unwrap();
    let got = absorbed_through(
        &stack,
        Lighting::normal(Method::AddingDoubling),
        0.3,
        0.35e-3,
    )
    .unwrap();
    let layer = |thickness_m: f64, mu_a_per_m: f64, mu_s_per_m: f64| Slab {
        thickness_m,
        constants: OpticalConstants {
            n: 1.53,
            mu_a_per_m,
            mu_s_per_m,
            g: 0.85,
        },
    };
    let three = Stack {
        slabs: vec![
            layer(0.95e-3, 40.0, 17e3),
            layer(0.35e-3, 40.0, 0.3 * 17e3),
            layer(2e-3, 12e3, 0.0),
        ],
        upper: 0,
        lower: 2,
    };
    let settings = photon_monte_carlo::Settings {
        photons: 262_144,
        seed: 2027,
        ..photon_monte_carlo::Settings::standard()
    };
    let shares = photon_monte_carlo::run(&three, &settings).unwrap().shares;
    let upper = shares.layers[0].absorbed.value + shares.layers[1].absorbed.value;
    let upper_error =
        shares.layers[0].absorbed.standard_error + shares.layers[1].absorbed.standard_error;
    for (found, value, error) in [
        (
            got.delivered_to_interface(),
            shares.delivered.value,
            shares.delivered.standard_error,
        ),
        (
            got.reflected,
            shares.reflected.value,
            shares.reflected.standard_error,
        ),
        (got.absorbed_upper(), upper, upper_error),
    ] {
        assert!(
            (found - value).abs() < 4.0 * error,
            "{found} {value} ± {error}"
        );
        assert!(error < 2e-3, "the check has no teeth: {error}");
    }
}

#[test]
fn light_and_melt_settle_on_each_other() {
    let joint = lid(12.0, 110.0, "melt_clearing = \"0.2\"");
    let cleared = one(&joint);
    let rounds = &cleared.rounds;
    assert!((3..=8).contains(&rounds.len()), "{rounds:?}");
    let [before_last, last] = &rounds[rounds.len() - 2..] else {
        panic!("two rounds")
    };
    assert!((last.interface_peak_k - before_last.interface_peak_k).abs() < PEAK_TOLERANCE_K);
    // The light of the outcome is that through the depth it reports.
    let stack = stack_of(&joint).unwrap();
    let light = absorbed_through(
        &stack,
        Lighting::normal(Method::AddingDoubling),
        0.2,
        last.molten_depth_m,
    )
    .unwrap();
    assert_eq!(*cleared.outcome.light, light);
    assert!(
        20e-6 < last.molten_depth_m && last.molten_depth_m < 0.6e-3,
        "{last:?}"
    );
    // Never deeper than the melt ever was.
    assert!(last.molten_depth_m < cleared.outcome.history.upper_melt_depth_m);
    assert!(cleared.before().delivered < last.delivered);
    assert!(cleared.before().interface_peak_k < last.interface_peak_k);
}

/// Plausibility: the clearer the melt, the more light arrives.
#[test]
fn a_clearer_melt_lets_more_light_through() {
    let delivered: Vec<f64> = ["1", "0.7", "0.4", "0"]
        .iter()
        .map(|it| {
            let joint = lid(12.0, 110.0, &format!("melt_clearing = \"{it}\""));
            one(&joint).after().delivered
        })
        .collect();
    assert!(delivered.windows(2).all(|w| w[0] < w[1]), "{delivered:?}");
}

#[test]
fn off_unless_asked_for_and_where_nothing_scatters() {
    let joint = lid(12.0, 110.0, "");
    let plain = simulate(std::slice::from_ref(&joint), &Settings::standard())
        .remove(0)
        .unwrap();
    let cleared = one(&joint);
    assert!(!matters(&joint));
    assert_eq!(cleared.rounds.len(), 1);
    assert_eq!(cleared.outcome.criteria, plain.criteria);
    assert!(!matters(&lid(0.0, 110.0, "melt_clearing = 0.5")));
    assert!(!matters(&lid(
        12.0,
        110.0,
        "melt_clearing = 0.5\nmethod = \"beer-lambert\""
    )));
    // A cold joint has no melt to clear.
    assert_eq!(one(&lid(12.0, 5.0, "melt_clearing = 0.5")).rounds.len(), 1);
}

#[test]
fn a_batch_gives_what_each_joint_gives_alone() {
    let hot = lid(12.0, 110.0, "melt_clearing = 0.2");
    let batch = [at_power(&hot, 5.0), hot.clone(), at_power(&hot, 90.0)];
    let together = simulate_cleared(&batch, &Settings::standard());
    for (joint, together) in batch.iter().zip(together) {
        assert_eq!(one(joint).rounds, together.unwrap().rounds);
    }
}

#[test]
fn an_unsettled_search_names_its_rounds() {
    let joint = lid(12.0, 110.0, "melt_clearing = 0.2");
    let error =
        simulate_cleared_within(1, std::slice::from_ref(&joint), &Settings::standard()).remove(0);
    let error = error.unwrap_err();
    let Problem::Weld(WeldProblem::ClearingDoesNotSettle {
        rounds: 1,
        iterates,
    }) = error.problem()
    else {
        panic!("{error}")
    };
    assert_eq!(iterates.matches("µm").count(), 2, "{iterates}");
    assert!(iterates.starts_with("0.0 µm, "), "{iterates}");
    assert!(error.cure_text().unwrap().contains("melt_clearing"));
}

/// More light for the same power: both sound powers fall, and the plain ones are those of a joint
/// that says nothing of melting.
#[test]
fn a_clearer_melt_lowers_both_sound_powers() {
    let settings = Settings::standard();
    let found =
        clearing_sensitivity(&lid(12.0, 60.0, "melt_clearing = 0.2"), &settings, &Silent).unwrap();
    let powers = |it: &lightseam::study::PowerLimits| {
        (it.low.power_w().unwrap(), it.high.power_w().unwrap())
    };
    let (without, with) = (powers(&found.without), powers(&found.with));
    assert!(with.0 <= without.0 && with.1 < without.1, "{found:?}");
    // Some per cent, not some tens: the molten zone is a small part of the lid.
    assert!(0.7 * without.1 < with.1, "{found:?}");
}

/// Far above any window the answer is still an answer.
#[test]
fn absurd_powers_settle_too() {
    for power_w in [300.0, 1000.0, 4000.0] {
        for factor in [0.0, 0.5] {
            let joint = lid(4.0, power_w, &format!("melt_clearing = {factor}"));
            let cleared = one(&joint);
            assert!(
                2 <= cleared.rounds.len(),
                "{power_w} W: {:?}",
                cleared.rounds
            );
        }
    }
}
