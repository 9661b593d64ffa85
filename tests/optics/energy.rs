//! The light adds up to one, in the corners of the stated range and on random stacks.

use lightseam::optics::adding_doubling::{Incidence, Resolution, follow};
use lightseam::optics::slab::{Slab, Stack};
use lightseam::optics::{ENERGY_TOLERANCE, Method, absorb};
use proptest::prelude::*;

use super::published::{slab, stack, standard};

/// What every answer must obey, whatever the stack.
fn check(stack: &Stack, incidence: Incidence) -> Result<(), String> {
    let got = follow(stack, incidence, Resolution::standard()).map_err(|it| it.to_string())?;
    let light = &got.absorbed;
    let residual = light.energy_residual();
    if residual.is_nan() || ENERGY_TOLERANCE < residual.abs() {
        return Err(format!("residual {residual:.2e} of {stack:?}"));
    }
    for share in [light.reflected, light.transmitted] {
        if !(0.0..=1.0 + 1e-12).contains(&share) {
            return Err(format!("share {share} of {stack:?}"));
        }
    }
    // A truncated phase function may be negative somewhere; the stated error at g = 0.99 is 2e-3.
    let sharp = stack.slabs.iter().any(|slab| 0.8 < slab.constants.g);
    let allowed = if sharp { 2e-3 } else { 1e-10 };
    let excess = (got.transmitted_unscattered - light.transmitted)
        .max(got.reflected_unscattered - light.reflected);
    if allowed < excess {
        return Err(format!(
            "{excess:.1e} too much unscattered light: {stack:?}"
        ));
    }
    // What a layer absorbs is what the net flux loses in it: two separate sums.
    for (layer, net) in light.layers.iter().zip(got.net_at_faces.windows(2)) {
        let lost = net[0] - net[1];
        if lost.is_nan() || ENERGY_TOLERANCE < (layer.total() - lost).abs() {
            return Err(format!(
                "absorbed {} but lost {lost}: {stack:?}",
                layer.total()
            ));
        }
    }
    if (got.net_at_faces[0] - (1.0 - light.reflected)).abs() > ENERGY_TOLERANCE {
        return Err(format!(
            "net flux {} with R {}",
            got.net_at_faces[0], light.reflected
        ));
    }
    for (slab, layer) in stack.slabs.iter().zip(&light.layers) {
        let edges: Vec<f64> = (0..=40)
            .map(|i| f64::from(i) / 40.0 * slab.thickness_m)
            .collect();
        for share in layer.between(&edges) {
            if !(-1e-13..=1.0).contains(&share) {
                return Err(format!("absorbed {share} between two depths of {stack:?}"));
            }
        }
    }
    Ok(())
}

#[test]
fn corners_of_the_range() {
    let mut failed = Vec::new();
    for n in [1.0, 1.001, 1.33, 1.5, 2.0] {
        for depth in [1e-9, 1e-4, 0.03, 1.0, 30.0, 1e3, 1e4] {
            for albedo in [0.0, 1e-9, 0.5, 0.99, 0.999_999, 1.0 - 1e-10, 1.0] {
                for g in [-0.5, 0.0, 0.75, 0.99] {
                    let extinction = depth / 0.7;
                    let mu = [(1.0 - albedo) * extinction, albedo * extinction, g];
                    let one = stack(vec![slab(n, 0.7, mu)]);
                    for incidence in [
                        Incidence::Normal,
                        Incidence::Diffuse,
                        Incidence::Oblique { angle_rad: 0.5 },
                    ] {
                        if let Err(why) = check(&one, incidence) {
                            failed.push(why);
                        }
                    }
                }
            }
        }
    }
    assert!(
        failed.is_empty(),
        "{} of {}",
        failed.len(),
        failed.join("\n")
    );
}

#[test]
fn no_absorption_loses_nothing() {
    for n in [1.0, 1.4, 1.6] {
        for depth in [1e-3, 1.0, 50.0, 1e4] {
            for g in [0.0, 0.9] {
                let one = stack(vec![slab(n, 2.3, [0.0, depth / 2.3, g])]);
                let got = standard(&one, Incidence::Normal).absorbed;
                assert_eq!(got.absorbed_upper(), 0.0);
                let sum = got.reflected + got.transmitted;
                assert!(
                    (sum - 1.0).abs() < 1e-9,
                    "n {n} depth {depth} g {g}: {:e}",
                    sum - 1.0
                );
            }
        }
    }
}

#[test]
fn a_run_that_does_not_add_up_would_be_refused() {
    let one = stack(vec![slab(1.5, 2.0, [0.05, 20.0, 0.9])]);
    let got = absorb(&one, Method::AddingDoubling).unwrap();
    assert!(got.energy_residual().abs() <= ENERGY_TOLERANCE);
}

fn any_slab() -> impl Strategy<Value = Slab> {
    let clear_or_not = prop_oneof![Just(0.0), -3.0..2.5_f64];
    (
        1.3..1.7_f64,
        -2.0..1.0_f64,
        -4.0..2.0_f64,
        clear_or_not,
        -0.4..0.98_f64,
    )
        .prop_map(|(n, thickness, mu_a, mu_s, g)| {
            let mu_s = if mu_s == 0.0 {
                0.0
            } else {
                10.0_f64.powf(mu_s)
            };
            slab(n, 10.0_f64.powf(thickness), [10.0_f64.powf(mu_a), mu_s, g])
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_stacks(
        slabs in prop::collection::vec(prop_oneof![4 => any_slab(), 1 => Just(Slab::air(1e-5)), 1 => Just(Slab::clear(1.52, 1e-2))], 1..5),
    ) {
        let random = stack(slabs);
        for incidence in [Incidence::Normal, Incidence::Oblique { angle_rad: 0.5 }, Incidence::Diffuse] {
            let outcome = check(&random, incidence);
            prop_assert!(outcome.is_ok(), "{}", outcome.unwrap_err());
        }
        for method in [Method::TwoFlux, Method::AddingDoubling] {
            let outcome = absorb(&random, method);
            prop_assert!(outcome.is_ok(), "{method:?} {outcome:?}");
        }
    }
}
