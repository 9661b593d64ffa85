//! Process modes: one pass is a contour weld, fast passes are a shot, and each mode's energy is right.

use std::f64::consts::PI;

use approx::assert_relative_eq;
use lightseam::input::{joint_file, library};
use lightseam::optics::beam::Shape;
use lightseam::weld::warning::{Warning, warnings};
use lightseam::weld::{Energy, Joint, Lever, Motion, Settings, simulate};

use crate::support::joints::{self, outcome};

const PARTS: &str = r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
"#;

fn posed(rest: &str) -> Joint {
    joints::from_text(&format!("{PARTS}{rest}"))
}

const SPOT: &str =
    r#"beam = { wavelength = "980 nm", length = "1.2 mm", width = "2 mm", power = "8 W" }"#;

fn contour() -> Joint {
    posed(&format!(
        "{SPOT}\nmotion = {{ mode = \"contour\", speed = \"70 mm/s\" }}"
    ))
}

fn quasi(passes: u32) -> Joint {
    posed(&format!(
        "{SPOT}\nmotion = {{ mode = \"quasi-simultaneous\", path_length = \"180 mm\", \
         speed = \"70 mm/s\", passes = {passes} }}"
    ))
}

#[test]
fn one_pass_of_every_mode_is_a_contour_weld() {
    let expected = outcome(&contour()).history;
    let mask = posed(
        r#"
beam = { wavelength = "980 nm", length = "1.2 mm", width = "40 mm", power = "160 W" }
motion = { mode = "mask", speed = "70 mm/s", opening = "2 mm" }
"#,
    );
    assert_eq!(outcome(&quasi(1)).history, expected);
    let same = |found: &Joint| {
        let found = outcome(found).history;
        for (a, b) in [
            (
                found.interface_peak_upper_k,
                expected.interface_peak_upper_k,
            ),
            (found.body_peak_k, expected.body_peak_k),
            (found.lower_melt_depth_m, expected.lower_melt_depth_m),
            (found.time_above_flow_s, expected.time_above_flow_s),
        ] {
            assert_relative_eq!(a, b, max_relative = 1e-9);
        }
    };
    same(&mask);
    // A shot as long as a top-hat takes to pass, with the irradiance of the spot.
    let mut shot = posed(
        r#"
beam = { wavelength = "980 nm", length = "120 mm", width = "2 mm", power = "800 W" }
motion = { mode = "simultaneous", time = "1 s" }
"#,
    );
    shot.motion = Motion::Simultaneous {
        time_s: 1.2e-3 / 0.070,
    };
    same(&shot);
    // Two millimetres of wall inside 20 mm: the joint passes at 17/20 of the outer speed.
    let mut turn = posed(&format!(
        "{SPOT}\nmotion = {{ mode = \"radial\", diameter = \"20 mm\", turn_time = \"1 s\", turns = 1 }}"
    ));
    let turn_s = PI * 0.017 / 0.070;
    turn.motion = Motion::Radial {
        diameter_m: 0.020,
        turn_s,
        turns: 1,
    };
    same(&turn);
}

#[test]
fn many_fast_passes_converge_to_a_shot_of_the_same_energy() {
    let time_s = 0.9;
    let shot = {
        let mut joint = posed(
            r#"
beam = { wavelength = "980 nm", length = "180 mm", width = "2 mm", power = "110 W" }
motion = { mode = "simultaneous", time = "0.9 s" }
"#,
        );
        joint.motion = Motion::Simultaneous { time_s };
        outcome(&joint).history
    };
    let passes_in = |passes: u32| {
        let mut joint = quasi(passes);
        joint.beam.power_w = 110.0;
        joint.motion = Motion::QuasiSimultaneous {
            path_m: 0.180,
            speed_m_per_s: 0.180 * f64::from(passes) / time_s,
            passes,
        };
        outcome(&joint).history
    };
    let off = |passes: u32| passes_in(passes).interface_peak_upper_k - shot.interface_peak_upper_k;
    let off: Vec<f64> = [5, 15, 45, 135].into_iter().map(off).collect();
    // The ripple of a pass falls with the energy of a pass.
    for pair in off.windows(2) {
        assert!(pair[1] < 0.6 * pair[0], "{off:?}");
    }
    assert!(0.0 < off[3] && off[3] < 12.0, "{off:?}");
    let ledger = passes_in(15).ledger;
    assert!(ledger.relative_residual().abs() < 1e-9);
    assert_relative_eq!(
        ledger.absorbed_j_per_m2,
        shot.ledger.absorbed_j_per_m2,
        max_relative = 1e-9
    );
}

#[test]
fn energies_and_exposures_by_hand() {
    let joint = quasi(30);
    assert_eq!(joint.motion.lever(), Lever::Passes);
    // 8 W · 30 / 0.07 m/s
    assert_eq!(joint.energy(), Energy::PerLength(8.0 * 30.0 / 0.07));
    let exposure = joint.exposure(&joint.beam);
    assert_relative_eq!(exposure.period_s, 0.180 / 0.070);
    // Fluence = P n / (w v)
    assert_relative_eq!(
        exposure.fluence_j_per_m2(),
        8.0 * 30.0 / (2e-3 * 0.07),
        max_relative = 1e-12
    );
    assert_relative_eq!(joint.process_s(), 30.0 * 0.180 / 0.070);

    let mask = posed(
        r#"
beam = { wavelength = "980 nm", length = "1.5 mm", width = "40 mm", power = "200 W" }
motion = { mode = "mask", speed = "30 mm/s", opening = "0.8 mm" }
"#,
    );
    // 200 W / (40 mm · 30 mm/s) = 0.1667 J/mm²
    assert_eq!(mask.energy(), Energy::PerArea(200.0 / (0.040 * 0.030)));
    let spot = mask.spot();
    assert_relative_eq!(spot.power_w, 4.0, max_relative = 1e-12);
    assert_relative_eq!(
        mask.exposure(&spot).fluence_j_per_m2(),
        200.0 / (0.040 * 0.030),
        max_relative = 1e-12
    );

    let shot = posed(
        r#"
beam = { wavelength = "980 nm", length = "120 mm", width = "2 mm", power_density = "0.8 W/mm2" }
motion = { mode = "simultaneous", time = "1.5 s" }
"#,
    );
    assert_relative_eq!(shot.beam.power_w, 192.0, max_relative = 1e-12);
    let exposure = shot.exposure(&shot.spot());
    assert_eq!(exposure.pulse, Shape::TopHat);
    assert_relative_eq!(exposure.fluence_j_per_m2(), 1.2e6, max_relative = 1e-12);
    assert_eq!(shot.speed_m_per_s(), None);
}

#[test]
fn the_energy_of_a_turn_is_right_at_the_radius_of_the_joint() {
    let joint = posed(
        r#"
beam = { wavelength = "980 nm", length = "1 mm", width = "1 mm", power = "20 W" }
motion = { mode = "radial", diameter = "20 mm", rotation = "240 rpm", turns = 6 }
"#,
    );
    // All that leaves the laser in one turn, over the ring of the joint: P t / (w π (D − 2h)).
    let ring = PI * (0.020 - 2.0 * 1.5e-3);
    let expected = 6.0 * 20.0 * 0.25 / (1e-3 * ring);
    let exposure = joint.exposure(&joint.beam);
    assert_relative_eq!(exposure.fluence_j_per_m2(), expected, max_relative = 1e-12);
    let found = warnings(&joint, &outcome(&joint));
    let curved = found
        .iter()
        .find(|it| matches!(it, Warning::CurvedWall { .. }));
    let Some(Warning::CurvedWall { wall_over_radius }) = curved else {
        panic!("{found:?}");
    };
    assert_relative_eq!(*wall_over_radius, 0.15, max_relative = 1e-12);
}

#[test]
fn a_spot_as_long_as_its_path_is_one_shot() {
    let mut joint = quasi(20);
    joint.motion = Motion::QuasiSimultaneous {
        path_m: 3e-3,
        speed_m_per_s: 0.5,
        passes: 20,
    };
    // Scattering may widen the spot beyond the path, which an input cannot.
    let mut wide = joint.beam;
    wide.length_m = 4e-3;
    let exposure = joint.exposure(&wide);
    assert_eq!(exposure.passes, 1);
    assert_relative_eq!(
        exposure.fluence_j_per_m2(),
        20.0 * 8.0 / (2e-3 * 0.5),
        max_relative = 1e-12
    );
    assert_relative_eq!(
        exposure.heating_s(),
        20.0 * 3e-3 / 0.5,
        max_relative = 1e-12
    );
}

#[test]
fn a_time_of_all_passes_is_cut_to_whole_ones() {
    let text = format!(
        "{PARTS}{SPOT}\nmotion = {{ mode = \"quasi-simultaneous\", path_length = \"200 mm\", \
         speed = \"2 m/s\", time = \"2.05 s\" }}\n\
         machine = {{ power = [\"1 W\", \"300 W\"], time = [\"0.45 s\", \"6 s\"] }}"
    );
    let (joint, notes) = joint_file::parse(&text, "joint.toml", &library::no_files).unwrap();
    assert_eq!(joint.motion.setting(), 20.0);
    assert_eq!(joint.machine.unwrap().setting, (5.0, 60.0));
    assert!(notes.iter().any(|it| it.text.contains("20.50 passes")));
}

/// The ends of what a joint file may say: an answer or a clear refusal, never a number that is none.
#[test]
fn corners_of_every_mode_have_an_answer_or_a_refusal() {
    let beam = |power: &str| {
        format!(
            r#"beam = {{ wavelength = "980 nm", length = "1 mm", width = "1 mm", power = "{power}" }}"#
        )
    };
    let shot = |density: &str| {
        format!(
            r#"beam = {{ wavelength = "980 nm", length = "120 mm", width = "2 mm", power_density = "{density}" }}"#
        )
    };
    let line =
        r#"beam = { wavelength = "980 nm", length = "1 mm", width = "40 mm", power = "200 W" }"#;
    let pressed = "contact = { pressure = \"1000 N/mm2\" }\n";
    let cases = [
        (
            beam("0 W"),
            r#"motion = { mode = "quasi-simultaneous", path_length = "2 mm", speed = "100 m/s", passes = 1000000 }"#,
        ),
        (
            beam("1 kW"),
            r#"motion = { mode = "quasi-simultaneous", path_length = "2 mm", speed = "100 m/s", passes = 3 }"#,
        ),
        (
            pressed.to_string() + &beam("30 W"),
            r#"motion = { mode = "quasi-simultaneous", path_length = "100 m", speed = "100 m/s", passes = 40 }"#,
        ),
        (
            pressed.to_string() + &shot("0.2 W/mm2"),
            r#"motion = { mode = "simultaneous", time = "3 s" }"#,
        ),
        (
            shot("0 W/mm2"),
            r#"motion = { mode = "simultaneous", time = "1000 s" }"#,
        ),
        (
            shot("20000 W/mm2"),
            r#"motion = { mode = "simultaneous", time = "10 µs" }"#,
        ),
        (
            shot("0.005 W/mm2"),
            r#"motion = { mode = "simultaneous", time = "100 s" }"#,
        ),
        (
            line.to_string(),
            r#"motion = { mode = "mask", speed = "0.1 mm/s", opening = "10 µm" }"#,
        ),
        (
            line.to_string(),
            r#"motion = { mode = "mask", speed = "100 m/s", opening = "40 mm" }"#,
        ),
        (
            beam("5 W"),
            r#"motion = { mode = "radial", diameter = "9 mm", turn_time = "100 s", turns = 2 }"#,
        ),
        (
            beam("5 W"),
            r#"motion = { mode = "radial", diameter = "5 m", rotation = "60000 rpm", turns = 500 }"#,
        ),
    ];
    let joints: Vec<Joint> = cases
        .iter()
        .map(|(beam, motion)| posed(&format!("{beam}\n{motion}")))
        .collect();
    let mut answered = 0;
    for ((_, motion), found) in cases.iter().zip(simulate(&joints, &Settings::standard())) {
        let Ok(found) = found else { continue };
        answered += 1;
        assert!(
            found.history.ledger.relative_residual().abs() < 1e-6,
            "{motion}"
        );
        for it in &found.criteria {
            assert!(
                it.value.is_finite() && it.margin.is_finite(),
                "{motion}: {it:?}"
            );
        }
        if let Some(collapse_m) = found.history.melt.collapse_m {
            let molten = found.history.upper_melt_depth_m + found.history.lower_melt_depth_m;
            assert!(
                (0.0..=4.5e-3).contains(&collapse_m),
                "{motion}: {collapse_m}, {molten}"
            );
        }
    }
    assert!(9 <= answered, "{answered} of {}", cases.len());
}
