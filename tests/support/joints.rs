//! Joints the tests share, posed as a user would.

use lightseam::input::{joint_file, library};
use lightseam::weld::{Joint, Outcome, Settings, simulate};

/// A joint from the text of a joint file that names built-in cards only.
pub fn from_text(text: &str) -> Joint {
    joint_file::parse(text, "joint.toml", &library::no_files)
        .unwrap()
        .0
}

/// What becomes of a joint at its setpoint.
pub fn outcome(joint: &Joint) -> Outcome {
    simulate(std::slice::from_ref(joint), &Settings::standard())
        .remove(0)
        .unwrap()
}

/// A clear PMMA lid on black PMMA at 980 nm: no scattering, kinetics of damage published.
pub fn clear_on_black() -> Joint {
    from_text(
        r#"
question = "Does a clear lid weld to a black body?"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "6 W" }
motion = { mode = "contour", speed = "50 mm/s" }
machine = { power = ["0.5 W", "60 W"], speed = ["5 mm/s", "200 mm/s"] }
"#,
    )
}

/// Clear polycarbonate on polycarbonate with 0.1 wt% carbon black, by size of a square spot.
pub fn polycarbonate(spot_m: f64) -> Joint {
    let mut joint = from_text(
        r#"
upper = { material = "pc", thickness = "2 mm" }
lower = { material = "pc", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.1 %" } }
beam = { wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "40 W" }
motion = { mode = "contour", speed = "40 mm/s" }
"#,
    );
    joint.beam.length_m = spot_m;
    joint.beam.width_m = spot_m;
    joint
}
