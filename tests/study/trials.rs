//! Plans of weld trials: what stands in them, and in which order.

use lightseam::study::Silent;
use lightseam::study::power_limits::at_power;
use lightseam::study::trial_plan::{Plan, Purpose, trial_plan};
use lightseam::study::window::window;
use lightseam::weld::{Joint, Settings, Verdict, simulate};

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
        let inside = low <= run.power_w && run.power_w <= high;
        // As a machine is set: three digits.
        let three = |value: f64| format!("{value:.2e}").parse::<f64>().unwrap();
        assert_eq!(run.power_w, three(run.power_w));
        assert_eq!(run.setting, three(run.setting));
        match run.purpose {
            Purpose::BelowWindow => assert_eq!(run.power_w, three(low / 1.1)),
            Purpose::AboveWindow => assert_eq!(run.power_w, three(high * 1.1)),
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

/// Passes are whole numbers, and those of corners stay inside the box.
#[test]
fn corners_in_whole_passes_are_sound() {
    let joint = joints::from_text(
        r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "30 W" }
motion = { mode = "quasi-simultaneous", path_length = "150 mm", speed = "3 m/s", passes = 20 }
machine = { power = ["5 W", "80 W"], passes = [2, 40] }
"#,
    );
    let window = window(&joint, &Settings::standard(), &Silent).unwrap();
    let setpoint = window.setpoint.unwrap();
    let plan = trial_plan(&joint, &window, 1, 1);
    let corners: Vec<_> = plan
        .runs
        .iter()
        .filter(|it| it.purpose == Purpose::Corner)
        .collect();
    assert_eq!(corners.len(), 4);
    for run in corners {
        assert_eq!(run.setting, run.setting.round());
        for (value, middle) in [
            (run.power_w, setpoint.power_w),
            (run.setting, setpoint.setting),
        ] {
            let away = (value / middle).ln().abs();
            assert!(
                away <= setpoint.ratio.ln() * (1.0 + 1e-9),
                "{run:?} {setpoint:?}"
            );
        }
        let joint = at_power(&joint.at_setting(run.setting), run.power_w);
        let outcome = simulate(&[joint], &Settings::standard()).remove(0).unwrap();
        assert_eq!(outcome.verdict, Verdict::Sound, "{run:?}");
    }
}
