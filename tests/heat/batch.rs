//! The same bits whatever the neighbours, the batch and the threads.

use lightseam::heat::{Column, History, Settings, run};

use crate::heat::joints::{Dice, random_joint, reference_joint};

fn joints() -> Vec<Column> {
    let mut dice = Dice(2024);
    let mut all: Vec<Column> = (0..60).map(|_| random_joint(&mut dice)).collect();
    for i in 0..60 {
        let mut joint = reference_joint(20e6 * (0.3 + 0.02 * f64::from(i)));
        joint.exposure.dwell_s *= 1.0 + 0.01 * f64::from(i);
        all.push(joint);
    }
    all
}

fn solved(columns: &[Column]) -> Vec<History> {
    run(columns, &Settings::standard())
        .into_iter()
        .map(Result::unwrap)
        .collect()
}

#[test]
fn one_at_a_time_or_all_together() {
    let joints = joints();
    let together = solved(&joints);
    for (joint, history) in joints.iter().zip(&together) {
        assert_eq!(&solved(std::slice::from_ref(joint))[0], history);
    }
    let mut backwards = joints.clone();
    backwards.reverse();
    let mut found = solved(&backwards);
    found.reverse();
    assert_eq!(found, together);
}

#[test]
fn one_thread_or_two() {
    let joints = joints();
    let on = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| solved(&joints))
    };
    assert_eq!(on(1), on(2));
}

#[test]
fn a_refused_column_leaves_the_others_alone() {
    let mut joints = joints();
    joints.truncate(5);
    let whole = solved(&joints);
    joints[2].bodies[0].thickness_m = f64::NAN;
    let results = run(&joints, &Settings::standard());
    assert!(results[2].is_err());
    for i in [0, 1, 3, 4] {
        assert_eq!(results[i].as_ref().unwrap(), &whole[i]);
    }
}

#[test]
fn nothing_to_solve() {
    assert!(run(&[], &Settings::standard()).is_empty());
}
