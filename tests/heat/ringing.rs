//! No temperature rings as fronts of melting and freezing pass through the cells.

use lightseam::heat::{Column, Record, Settings, run};
use lightseam::units::celsius;

use crate::heat::joints::{Dice, beer_lambert, random_joint, reference_joint};

/// Random joints followed.
const JOINTS: usize = 200;

/// What a converged course may be left by, K: what is allowed at the peak.
const ALLOWED_K: f64 = 0.5;

/// A rise that counts, K.
const SEEN_K: f64 = 0.1;

/// By how much the way of a temperature after its peak is longer than its fall, K: all its rises.
fn rises_k(temperature_k: &[f64]) -> f64 {
    let peak = (0..temperature_k.len())
        .max_by(|&a, &b| temperature_k[a].total_cmp(&temperature_k[b]))
        .unwrap();
    temperature_k[peak..]
        .windows(2)
        .map(|it| (it[1] - it[0]).max(0.0))
        .sum()
}

fn courses(joints: &[Column], settings: Settings) -> Vec<Record> {
    let settings = Settings {
        record: true,
        ..settings
    };
    run(joints, &settings)
        .into_iter()
        .map(|it| *it.unwrap().record.unwrap())
        .collect()
}

/// After its peak the interface cools: the sum of all changes of its temperature is its fall. Where
/// heat from the laser-side face or across a contact arrives later it rises once more; then all
/// rises together are those of fine settings, which a ring would add to.
#[test]
fn the_interface_of_no_random_joint_rings() {
    let mut dice = Dice(12_345);
    let joints: Vec<_> = (0..JOINTS).map(|_| random_joint(&mut dice)).collect();
    let found = courses(&joints, Settings::standard());
    let sides = |it: &Record| {
        [
            rises_k(&it.interface_upper_k),
            rises_k(&it.interface_lower_k),
        ]
    };
    let rising: Vec<usize> = (0..JOINTS)
        .filter(|&j| sides(&found[j]).iter().any(|it| SEEN_K < *it))
        .collect();
    assert!(
        rising.len() < JOINTS / 5,
        "{} joints rise again",
        rising.len()
    );
    let those: Vec<Column> = rising.iter().map(|&j| joints[j].clone()).collect();
    for (&j, fine) in rising.iter().zip(courses(&those, Settings::fine())) {
        for (rises, exact) in sides(&found[j]).iter().zip(sides(&fine)) {
            let off = rises - exact;
            assert!(
                off.abs() < ALLOWED_K,
                "joint {j}: {rises} K, fine {exact} K"
            );
        }
    }
}

/// Ahead of heat that arrives in long cells no temperature falls below its start: twenty passes of a
/// quick spot, far from both outer faces.
#[test]
fn nothing_dips_before_heat_arrives() {
    let mut joint = reference_joint(140e6);
    joint.light = beer_lambert([100.0, 2e4], [1.5e-3, 3e-3]).into();
    joint.exposure.dwell_s = 0.5e-3;
    joint.exposure.passes = 20;
    joint.exposure.period_s = 0.06;
    let start_k = joint.bodies[0].initial_k;
    let history = run(&[joint], &Settings::standard()).remove(0).unwrap();
    assert!(celsius(history.interface_peak_upper_k) > 150.0);
    for (least, _) in history.range_k {
        assert!(start_k - 0.05 < least, "{} °C", celsius(least));
    }
}
