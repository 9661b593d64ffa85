//! Plans of weld trials: what stands in them, and in which order.

use lightseam::study::Silent;
use lightseam::study::trial_plan::{Plan, Purpose, trial_plan};
use lightseam::study::window::window;
use lightseam::weld::{Joint, Settings};

use crate::support::joints;

fn plan(joint: &Joint, repeats: usize, seed: u64) -> Plan {
    let window = window(joint, &Settings::standard(), &Silent).unwrap();
    trial_plan(joint, &window, repeats, seed)
}

/// Runs of a plan in an order that does not depend on the draw.
fn sorted(plan: &Plan) -> Vec<(usize, u64, u64)> {
    let mut runs: Vec<_> = plan
        .runs
        .iter()
        .map(|it| (it.block, it.power_w.to_bits(), it.setting.to_bits()))
        .collect();
    runs.sort();
    runs
}

#[test]
fn another_seed_changes_the_order_and_nothing_else() {
    let joint = joints::clear_on_black();
    let (one, again, other) = (plan(&joint, 2, 1), plan(&joint, 2, 1), plan(&joint, 2, 9));
    assert_eq!(one, again);
    assert_ne!(one.runs, other.runs);
    assert_eq!(sorted(&one), sorted(&other));
    assert_eq!(one.runs.len(), 24);
    // Blocks follow each other and are not mixed.
    assert!(one.runs.windows(2).all(|it| it[0].block <= it[1].block));
}

#[test]
fn runs_meant_to_fail_lie_beyond_the_boundaries_and_the_others_within() {
    let joint = joints::clear_on_black();
    let window = window(&joint, &Settings::standard(), &Silent).unwrap();
    let plan = trial_plan(&joint, &window, 1, 1);
    assert!(plan.inside_window);
    for run in &plan.runs {
        let (low, high) = window.limits_at(run.setting).unwrap();
        let inside = low * 0.999 <= run.power_w && run.power_w <= high * 1.001;
        match run.purpose {
            Purpose::BelowWindow => assert!((run.power_w * 1.1 / low - 1.0).abs() < 1e-9),
            Purpose::AboveWindow => assert!((run.power_w / 1.1 / high - 1.0).abs() < 1e-9),
            Purpose::Centre | Purpose::Corner => assert!(inside, "{run:?}: {low} to {high} W"),
            Purpose::OtherSetting => {}
        }
    }
}

#[test]
fn every_run_can_be_set_at_the_machine() {
    let mut joint = joints::clear_on_black();
    let machine = joint.machine.as_mut().unwrap();
    machine.power_w.1 = 12.0;
    let machine = *machine;
    let plan = plan(&joint, 1, 1);
    assert!(plan.cut_to_machine);
    for run in &plan.runs {
        assert!(machine.power_w.0 <= run.power_w && run.power_w <= machine.power_w.1);
        assert!(machine.setting.0 <= run.setting);
        assert!(run.setting <= machine.setting.1);
    }
}

#[test]
fn where_no_power_is_sound_the_plan_stands_around_the_joint_file() {
    let mut joint = joints::clear_on_black();
    // A limit nobody can meet.
    std::sync::Arc::make_mut(&mut joint.limits)
        .upper_melt_depth_m
        .value = 1.4e-3;
    let plan = plan(&joint, 1, 1);
    assert!(!plan.inside_window);
    assert_eq!(plan.centre.0, joint.beam.power_w);
    assert_eq!(plan.runs.len(), 12);
}
