//! The caution about collimated transmittance: due where it was used as if it were all of the light.

use lightseam::input::joint_file;
use lightseam::weld::Joint;
use lightseam::weld::warning::{Warning, warnings};

use crate::support::joints::outcome;

/// A joint of a card that scatters, its lid described by a file.
fn joint(csv: &str) -> Joint {
    let text = r#"
upper = { material = "pa6", thickness = "1.2 mm", spectra = "lid.csv" }
lower = { material = "pa6", thickness = "2 mm", absorber = { kind = "absorption", value = "12 /mm" } }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "9 W" }
motion = { mode = "contour", speed = "40 mm/s" }
"#;
    joint_file::parse(text, "joint.toml", &|_| Ok(csv.into()))
        .unwrap_or_else(|it| panic!("{it}"))
        .0
}

fn cautioned(joint: &Joint) -> bool {
    let found = outcome(joint);
    warnings(joint, &found)
        .iter()
        .any(|it| matches!(it, Warning::CollimatedData { .. }))
}

#[test]
fn collimated_transmittance_alone_is_cautioned() {
    assert!(cautioned(&joint(
        "nm;T 1 mm collimated [%]\n940;21\n980;22\n1020;23\n"
    )));
}

#[test]
fn a_reading_left_aside_or_inverted_is_not() {
    // Total T and R tell the coefficients: the collimated reading is left aside.
    assert!(!cautioned(&joint(
        "nm;T 1 mm total [%];R 1 mm [%];T 1 mm collimated [%]\n\
         940;70;18;12\n980;71;17.5;12\n1020;72;17;13\n"
    )));
    // Total and collimated T are inverted as what they are.
    assert!(!cautioned(&joint(
        "nm;T 1 mm total [%];T 1 mm collimated [%]\n940;70;12\n980;71;12\n1020;72;13\n"
    )));
}
