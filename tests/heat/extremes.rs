//! The ends of the stated range: an answer or a clear refusal, never a NaN, never a hang.

use std::sync::Arc;

use lightseam::heat::{Column, Contact, Face, History, Settings, run};
use lightseam::material::Damage;
use lightseam::optics::DepthProfile;
use proptest::prelude::*;

use crate::heat::joints::{
    Dice, beer_lambert, body, plain, pulse, random_joint, random_material, reference_joint,
    sourced, two_layers,
};

fn numbers(history: &History) -> Vec<f64> {
    vec![
        history.interface_peak_upper_k,
        history.interface_peak_lower_k,
        history.time_above_flow_s,
        history.upper_melt_depth_m,
        history.lower_melt_depth_m,
        history.upper_probe_peak_k,
        history.lower_probe_peak_k,
        history.body_peak_k,
        history.body_peak_depth_m,
        history.laser_side_peak_k,
        history.damage_integral.unwrap_or(0.0),
        history.damage_depth_m,
        history.damage_peak_k,
        history.range_k[0].0,
        history.range_k[1].1,
        history.ledger.stored_j_per_m2,
        history.end_s,
    ]
}

fn sensible(column: &Column, settings: &Settings) {
    match run(std::slice::from_ref(column), settings).remove(0) {
        Ok(history) => {
            for number in numbers(&history) {
                assert!(number.is_finite(), "{:?}", numbers(&history));
            }
            assert!(
                history.ledger.relative_residual().abs() < 1e-6,
                "{history:?}"
            );
            let upper = &column.bodies[column.upper];
            let lower = &column.bodies[column.upper + 1];
            assert!(history.upper_melt_depth_m <= upper.thickness_m * (1.0 + 1e-9));
            assert!(history.lower_melt_depth_m <= lower.thickness_m * (1.0 + 1e-9));
            assert!(history.interface_peak_upper_k <= history.body_peak_k + 1e-9);
            assert!(history.time_above_flow_s <= history.end_s);
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

#[test]
fn corners_of_the_stated_range() {
    let mut dice = Dice(99);
    let material = Arc::new(random_material(&mut dice));
    let glass = Arc::new(plain(2500.0, 800.0, 1.05));
    for thickness in [[1e-6, 1e-6], [1e-6, 50e-3], [50e-3, 1e-6], [50e-3, 50e-3]] {
        for mu in [[10.0, 10.0], [10.0, 1e6], [1e6, 10.0], [1e6, 1e6]] {
            for dwell in [10e-6, 100.0] {
                let light = beer_lambert(mu, thickness);
                // About 300 K in the depth that is heated, or in the whole part if it is thin.
                let depth = (1e-7_f64 * dwell).sqrt().min(thickness[0] + thickness[1]) + 1e-6;
                let fluence = 300.0 * 2.5e6 * depth;
                let mut column = two_layers(
                    [
                        body(&material, thickness[0], 0),
                        body(&material, thickness[1], 1),
                    ],
                    light,
                    pulse(fluence / dwell, dwell),
                );
                sensible(&column, &Settings::standard());
                column.bodies.insert(0, body(&glass, 10e-3, 2));
                column.contacts.insert(0, Contact::Perfect);
                column.upper = 1;
                let mut light = beer_lambert(mu, thickness);
                light.layers.push(DepthProfile::Exponential {
                    down: 0.0,
                    up: 0.0,
                    mu_per_m: 1.0,
                    thickness_m: 10e-3,
                });
                column.light = Arc::new(light);
                sensible(&column, &Settings::standard());
                column.contacts[0] = Contact::Conductance {
                    conductance_w_per_m2_k: 1e9,
                };
                column.contacts[1] = Contact::Conductance {
                    conductance_w_per_m2_k: 0.026 / 1e-3,
                };
                sensible(&column, &Settings::standard());
            }
        }
    }
}

#[test]
fn without_power_nothing_happens() {
    let history = run(&[reference_joint(0.0)], &Settings::standard())
        .remove(0)
        .unwrap();
    assert!((history.body_peak_k - 296.15).abs() < 1e-9);
    assert_eq!(history.first_flow_s, None);
    assert_eq!(history.time_above_flow_s, 0.0);
    assert_eq!(history.upper_melt_depth_m, 0.0);
    assert_eq!(history.ledger.relative_residual(), 0.0);
}

#[test]
fn what_has_no_meaning_is_refused_by_name() {
    let change = |f: &dyn Fn(&mut Column)| {
        let mut column = reference_joint(8e6);
        f(&mut column);
        run(&[column], &Settings::standard())
            .remove(0)
            .unwrap_err()
            .to_string()
    };
    let said = change(&|it| it.bodies[1].thickness_m = 0.0);
    assert!(said.starts_with("thickness of 0e0"), "{said}");
    let said = change(&|it| it.exposure.dwell_s = f64::INFINITY);
    assert!(said.starts_with("dwell time"), "{said}");
    let said = change(&|it| it.far_side.ambient_k = -3.0);
    assert!(said.starts_with("ambient temperature"), "{said}");
    let said = change(&|it| it.contacts.clear());
    assert!(said.starts_with("number of contacts"), "{said}");
}

#[test]
fn too_many_steps_are_an_error() {
    let settings = Settings {
        most_steps_per_pulse: 5,
        ..Settings::standard()
    };
    let error = run(&[reference_joint(8e6)], &settings)
        .remove(0)
        .unwrap_err();
    assert!(
        error.to_string().starts_with("5 steps were not enough"),
        "{error}"
    );
}

/// A damaging pulse against the integral of the recorded temperatures: the same Arrhenius law by
/// the trapezium rule over the fine record.
#[test]
fn damage_is_the_integral_of_its_rate() {
    let mut joint = reference_joint(15e6);
    let damage = Damage {
        frequency_per_s: sourced(1e14),
        energy_j_per_mol: sourced(190e3),
    };
    joint.bodies[1].damage = Some(Arc::new(damage.clone()));
    let found = run(&[joint.clone()], &Settings::standard())
        .remove(0)
        .unwrap();
    let settings = Settings {
        record: true,
        tolerance: 1e-5,
        ..Settings::fine()
    };
    let fine = run(&[joint], &settings).remove(0).unwrap();
    let record = fine.record.unwrap();
    let lower = record.depth_m.len() / 2;
    let worst = (lower..record.depth_m.len())
        .filter(|&i| 1.5e-3 <= record.depth_m[i])
        .map(|i| {
            (1..record.time_s.len())
                .map(|j| {
                    let rate = |j: usize| damage.rate_per_s(record.temperature_k[j][i]);
                    0.5 * (rate(j) + rate(j - 1)) * (record.time_s[j] - record.time_s[j - 1])
                })
                .sum::<f64>()
        })
        .fold(0.0, f64::max);
    let integral = found.damage_integral.unwrap();
    assert!(1e-4 < integral, "{integral}");
    // 1 %: what an error of 0.3 K does to the rate, and the place between nodes.
    assert!(
        (integral / worst - 1.0).abs() < 0.01,
        "{integral} against {worst}"
    );
    assert!((found.damage_peak_k - found.body_peak_k).abs() < 1.0);
}

/// Heat that arrives late at the laser side is waited for.
#[test]
fn the_laser_side_is_followed_until_it_has_peaked() {
    let mut joint = reference_joint(20e6);
    joint.laser_side = Face {
        coefficient_w_per_m2_k: 0.0,
        ambient_k: 296.15,
    };
    joint.far_side.coefficient_w_per_m2_k = 0.0;
    let settings = Settings {
        longest_s: 1e4,
        ..Settings::standard()
    };
    let history = run(&[joint.clone()], &settings).remove(0).unwrap();
    // Insulated, all ends at the mean temperature, from below at the laser side.
    let fluence = joint.exposure.fluence_j_per_m2();
    let absorbed = joint.light.absorbed_upper() + joint.light.absorbed_lower();
    let mean_k = absorbed * fluence / (1130.0 * 1700.0 * 4.5e-3);
    let rise = history.laser_side_peak_k - 296.15;
    assert!(
        mean_k - 0.5 < rise && rise < 1.6 * mean_k,
        "{rise} against {mean_k}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn any_joint_has_an_answer_or_a_refusal(
        seed in 1u64..1_000_000,
        stretch in -3.0f64..3.0,
        power in -4.0f64..1.5,
        conductance in 0.0f64..9.0,
        passes in 1u32..6,
    ) {
        let mut dice = Dice(seed);
        let mut column = random_joint(&mut dice);
        column.exposure.dwell_s *= 10f64.powf(stretch);
        column.exposure.irradiance_w_per_m2 *= 10f64.powf(power - stretch);
        column.exposure.passes = passes;
        column.exposure.period_s = 3.0 * column.exposure.dwell_s;
        if seed % 3 == 0 {
            column.contacts[0] = Contact::Conductance {
                conductance_w_per_m2_k: 10f64.powf(conductance),
            };
        }
        sensible(&column, &Settings::standard());
    }
}
