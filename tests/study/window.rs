//! Windows: the traced boundary against single welds, the box against its corners.

use lightseam::study::Silent;
use lightseam::study::power_limits::{POWER_TOLERANCE, PowerLimit, at_power, power_limits};
use lightseam::study::window::{Window, at_speed, window};
use lightseam::weld::Lever;
use lightseam::weld::{Joint, Machine, Settings, Verdict, simulate};

use crate::support::joints;

fn verdict(joint: &Joint, power_w: f64, speed_m_per_s: f64) -> Verdict {
    let joint = at_power(&at_speed(joint, speed_m_per_s), power_w);
    simulate(&[joint], &Settings::standard())
        .remove(0)
        .unwrap()
        .verdict
}

fn traced(joint: &Joint) -> Window {
    window(joint, &Settings::standard(), &Silent).unwrap()
}

/// A hair below each boundary and a hair above it the verdict differs, and is the one named.
#[test]
fn the_boundary_parts_sound_from_not_sound() {
    let joint = joints::clear_on_black();
    let window = traced(&joint);
    let mut checked = 0;
    for line in window
        .lines
        .iter()
        .filter(|it| it.limits.is_open())
        .step_by(3)
    {
        let speed = line.setting;
        if let PowerLimit::At { power_w, rule } = line.limits.low {
            let below = verdict(&joint, power_w * (1.0 - 3.0 * POWER_TOLERANCE), speed);
            let above = verdict(&joint, power_w * (1.0 + 3.0 * POWER_TOLERANCE), speed);
            assert_eq!(
                below,
                Verdict::of_broken(rule),
                "at {speed} m/s, {power_w} W"
            );
            assert_eq!(above, Verdict::Sound);
            checked += 1;
        }
        if let PowerLimit::At { power_w, rule } = line.limits.high {
            let below = verdict(&joint, power_w * (1.0 - 3.0 * POWER_TOLERANCE), speed);
            let above = verdict(&joint, power_w * (1.0 + 3.0 * POWER_TOLERANCE), speed);
            assert_eq!(below, Verdict::Sound);
            assert_eq!(
                above,
                Verdict::of_broken(rule),
                "at {speed} m/s, {power_w} W"
            );
            checked += 1;
        }
    }
    assert!(10 < checked, "only {checked} boundary points");
}

/// Between the traced speeds the boundary is where single roots say it is.
#[test]
fn the_boundary_between_traced_speeds_is_right_too() {
    let joint = joints::clear_on_black();
    let window = traced(&joint);
    for pair in window.lines.windows(2).step_by(4) {
        let speed = (pair[0].setting * pair[1].setting).sqrt();
        let Some((low, high)) = window.limits_at(speed) else {
            continue;
        };
        let direct = power_limits(
            &[at_speed(&joint, speed)],
            window.power_w,
            &Settings::standard(),
            &Silent,
        )
        .remove(0)
        .unwrap();
        for (traced, direct) in [(low, direct.low), (high, direct.high)] {
            let direct = direct.power_w().unwrap();
            assert!(
                (traced / direct - 1.0).abs() < 0.006,
                "{traced} W, {direct} W"
            );
        }
    }
}

/// All four corners and the centre of the recommended box are sound, and a box a tenth larger is
/// not: one of its corners fails, or leaves the machine.
#[test]
fn the_recommended_box_is_sound_and_as_large_as_can_be() {
    let joint = joints::clear_on_black();
    let window = traced(&joint);
    let machine = joint.machine.unwrap();
    let setpoint = window.setpoint.unwrap();
    assert!(1.05 < setpoint.ratio, "{setpoint:?}");
    let corners = |ratio: f64| {
        [
            (1.0, 1.0),
            (ratio, ratio),
            (1.0 / ratio, ratio),
            (ratio, 1.0 / ratio),
            (1.0 / ratio, 1.0 / ratio),
        ]
        .map(|(p, v)| (setpoint.power_w * p, setpoint.setting * v))
    };
    for (power_w, speed) in corners(setpoint.ratio * 0.995) {
        assert_eq!(verdict(&joint, power_w, speed), Verdict::Sound);
    }
    let fails = |(power_w, speed): (f64, f64)| {
        let inside = machine.power_w.0 <= power_w
            && power_w <= machine.power_w.1
            && machine.setting.0 <= speed
            && speed <= machine.setting.1;
        !inside || verdict(&joint, power_w, speed) != Verdict::Sound
    };
    assert!(corners(setpoint.ratio * 1.1).into_iter().any(fails));
}

#[test]
fn a_weak_laser_caps_the_box() {
    let mut joint = joints::clear_on_black();
    let free = traced(&joint).setpoint.unwrap();
    let limit = free.power_w;
    joint.machine = Some(Machine {
        power_w: (0.0, limit),
        ..joint.machine.unwrap()
    });
    let capped = traced(&joint).setpoint.unwrap();
    assert!(capped.power_w * capped.ratio <= limit * 1.0001);
    assert!(capped.ratio < free.ratio);
}

/// Where the boundary leaves the laser's powers, the last speed that welds needs just the greatest of
/// them; with other powers the window goes on.
#[test]
fn the_speeds_that_weld_end_where_the_laser_ends() {
    let mut joint = joints::clear_on_black();
    let greatest = traced(&joint).setpoint.unwrap().power_w;
    joint.machine = Some(Machine {
        power_w: (0.0, greatest),
        setting: (5e-3, 1.0),
    });
    let window = traced(&joint);
    let (_, fast) = window.open_settings_of_machine().unwrap();
    let (_, fastest) = window.open_settings().unwrap();
    assert!(1.2 * fast < fastest, "{fast} {fastest}");
    assert!(window.lines.iter().all(|it| it.setting != fast));
    assert_eq!(verdict(&joint, greatest, 0.99 * fast), Verdict::Sound);
    assert_ne!(verdict(&joint, greatest, 1.01 * fast), Verdict::Sound);

    // The other end: a laser that cannot be turned down welds from some speed on.
    let (_, least) = window.limits_at(20e-3).unwrap();
    joint.machine = Some(Machine {
        power_w: (least, 50.0 * least),
        setting: (5e-3, 1.0),
    });
    let window = traced(&joint);
    let (slow, _) = window.open_settings_of_machine().unwrap();
    assert!((slow / 20e-3 - 1.0).abs() < 0.01, "{slow}");
    assert_eq!(window.open_settings().unwrap().0, 5e-3);
    assert_ne!(verdict(&joint, least, 0.99 * slow), Verdict::Sound);
    assert_eq!(verdict(&joint, least, 1.01 * slow), Verdict::Sound);
}

#[test]
fn a_part_too_thick_for_its_light_has_no_window() {
    let mut joint = joints::clear_on_black();
    joint.wavelength_m = 1680e-9;
    joint.upper.thickness_m = 12e-3;
    let window = traced(&joint);
    assert!(window.setpoint.is_none());
    assert!(window.open_settings().is_none());
    assert!(window.open_settings_of_machine().is_none());
}

#[test]
fn windows_do_not_depend_on_threads() {
    let joint = joints::clear_on_black();
    let on = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| traced(&joint))
    };
    assert_eq!(on(1), on(3));
}

/// Powers and settings of each mode's window hold where simulated at the setting itself, the lever is
/// the mode's own, and passes and turns are whole.
#[test]
fn every_mode_has_its_own_axes() {
    const PARTS: &str = r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
"#;
    let cases = [
        (
            Lever::Passes,
            r#"
beam = { wavelength = "980 nm", length = "1.2 mm", width = "2 mm", power = "120 W" }
motion = { mode = "quasi-simultaneous", path_length = "180 mm", speed = "2 m/s", passes = 12 }
machine = { power = ["10 W", "400 W"], passes = [4, 20] }
"#,
        ),
        (
            Lever::Turns,
            r#"
beam = { wavelength = "980 nm", length = "1 mm", width = "1 mm", power = "20 W" }
motion = { mode = "radial", diameter = "40 mm", turn_time = "0.25 s", turns = 3 }
machine = { power = ["1 W", "80 W"], turns = [1, 8] }
"#,
        ),
        (
            Lever::Time,
            r#"
beam = { wavelength = "980 nm", length = "120 mm", width = "2 mm", power_density = "0.4 W/mm2" }
motion = { mode = "simultaneous", time = "0.8 s" }
machine = { power_density = ["0.05 W/mm2", "5 W/mm2"], time = ["0.2 s", "4 s"] }
"#,
        ),
        (
            Lever::Speed,
            r#"
beam = { wavelength = "980 nm", length = "1.5 mm", width = "40 mm", power = "200 W" }
motion = { mode = "mask", speed = "30 mm/s", opening = "0.8 mm" }
machine = { power = ["10 W", "800 W"], speed = ["5 mm/s", "200 mm/s"] }
"#,
        ),
    ];
    for (lever, rest) in cases {
        let joint = joints::from_text(&format!("{PARTS}{rest}"));
        let window = window(&joint, &Settings::standard(), &Silent).unwrap();
        assert_eq!(window.lever, lever);
        let setpoint = window.setpoint.unwrap();
        assert!(1.02 < setpoint.ratio, "{lever:?}: {setpoint:?}");
        let settings: Vec<f64> = window.lines.iter().map(|it| it.setting).collect();
        assert!(settings.is_sorted_by(|a, b| a < b), "{settings:?}");
        if lever.is_whole() {
            assert!(settings.iter().all(|it| it.fract() == 0.0), "{settings:?}");
            assert_eq!(setpoint.setting.fract(), 0.0);
        }
        let at = |setting: f64, power_w: f64| {
            let joint = at_power(&joint.at_setting(setting), power_w);
            simulate(&[joint], &Settings::standard())
                .remove(0)
                .unwrap()
                .verdict
        };
        assert_eq!(at(setpoint.setting, setpoint.power_w), Verdict::Sound);
        let line = window.lines[window.lines.len() / 2];
        let (low, high) = (
            line.limits.low.power_w().unwrap(),
            line.limits.high.power_w().unwrap(),
        );
        assert_eq!(at(line.setting, 1.001 * low), Verdict::Sound, "{lever:?}");
        assert_ne!(at(line.setting, 0.999 * low), Verdict::Sound, "{lever:?}");
        assert_eq!(at(line.setting, 0.999 * high), Verdict::Sound, "{lever:?}");
        assert_ne!(at(line.setting, 1.001 * high), Verdict::Sound, "{lever:?}");
    }
}
