//! Energy: absorbed = stored + lost, in every run.

use lightseam::heat::{Settings, run};

use crate::heat::joints::{Dice, random_joint};

/// Rounding of some hundred steps; the limit demanded is 1e-6.
const RESIDUAL: f64 = 1e-10;

#[test]
fn closes_on_random_joints() {
    let mut dice = Dice(4711);
    let mut joints: Vec<_> = (0..200).map(|_| random_joint(&mut dice)).collect();
    for joint in &mut joints {
        joint.laser_side.coefficient_w_per_m2_k = dice.log_between(1.0, 1000.0);
        joint.far_side.ambient_k = dice.between(280.0, 330.0);
    }
    for (joint, history) in joints.iter().zip(run(&joints, &Settings::standard())) {
        let ledger = history.unwrap().ledger;
        let residual = ledger.relative_residual();
        assert!(residual.abs() < RESIDUAL, "{residual:e} of {ledger:?}");
        let absorbed = joint.light.absorbed_upper() + joint.light.absorbed_lower();
        let given = absorbed * joint.exposure.fluence_j_per_m2();
        assert!((ledger.absorbed_j_per_m2 / given - 1.0).abs() < 1e-12);
        // Some of it was lost, and some still there, or more than all where it is colder around.
        assert!(0.0 != ledger.lost_j_per_m2 && 0.0 != ledger.stored_j_per_m2);
    }
}

/// The lost heat, measured from the recorded face temperatures by the trapezium rule.
#[test]
fn lost_heat_is_what_the_faces_give_off() {
    let mut joint = crate::heat::joints::reference_joint(8e6);
    joint.laser_side.coefficient_w_per_m2_k = 60.0;
    joint.far_side.coefficient_w_per_m2_k = 0.0;
    let settings = Settings {
        record: true,
        // So many steps that chords between them do.
        tolerance: 1e-6,
        ..Settings::fine()
    };
    let ambient = joint.laser_side.ambient_k;
    let history = run(&[joint], &settings).remove(0).unwrap();
    let record = history.record.unwrap();
    let lost: f64 = (1..record.time_s.len())
        .map(|i| {
            let mean = 0.5 * (record.laser_side_k[i] + record.laser_side_k[i - 1]) - ambient;
            60.0 * mean * (record.time_s[i] - record.time_s[i - 1])
        })
        .sum();
    let share = history.ledger.lost_j_per_m2 / lost - 1.0;
    assert!(share.abs() < 1e-3, "{share}");
}
