//! What the runs cost: a change of these numbers is a change of the method or of its settings.

use lightseam::heat::{Settings, StopReason, run};

use crate::heat::joints::{Dice, random_joint, reference_joint};

#[test]
fn of_the_reference_problem() {
    let joints = [reference_joint(20e6), reference_joint(8e6)];
    let cost: Vec<_> = run(&joints, &Settings::standard())
        .into_iter()
        .map(|it| {
            let history = it.unwrap();
            assert_eq!(history.stop, StopReason::Settled);
            history.counters
        })
        .collect();
    assert!((28..=40).contains(&cost[0].cells), "{:?}", cost[0]);
    for counters in cost {
        assert!((25..=45).contains(&counters.steps), "{counters:?}");
        assert!(counters.rejected <= 12, "{counters:?}");
    }
}

#[test]
fn of_random_joints() {
    let mut dice = Dice(31);
    let joints: Vec<_> = (0..200).map(|_| random_joint(&mut dice)).collect();
    let mut steps: Vec<usize> = run(&joints, &Settings::standard())
        .into_iter()
        .map(|it| {
            let counters = it.unwrap().counters;
            counters.steps + counters.rejected
        })
        .collect();
    steps.sort_unstable();
    assert!((25..=60).contains(&steps[100]), "median {}", steps[100]);
    assert!(steps[199] < 400, "largest {}", steps[199]);
}
