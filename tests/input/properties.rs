//! Whatever comes in, `input` answers: it never panics.

use lightseam::input::quantity::FIELDS;
use lightseam::input::spectrum_file::{parse_absorption, parse_index, parse_plaques};
use lightseam::input::{joint_file, library, material_file};
use proptest::prelude::*;

const JOINT: &str = r#"
question = "Does it hold?"
[upper]
material = "pc"
thickness = "2 mm"
refractive_index = 1.5
absorption = "0.3 /mm"
scattering = "20 /mm"
anisotropy = 0.9
[lower]
material = "pa66"
thickness = "3 mm"
absorber = { kind = "film", thickness = "50 µm", transmission = "8 %" }
[contact]
gap = "20 µm"
[clamp]
material = "glass"
thickness = "10 mm"
[beam]
wavelength = "980 nm"
diameter = "1.2 mm"
power = "20 W"
[motion]
mode = "contour"
speed = "50 mm/s"
[machine]
power = ["5 W", "60 W"]
speed = ["5 mm/s", "200 mm/s"]
"#;
const EXPORT: &str = "Prüfling; 3\nthickness [mm];1;2\ntotal transmittance\nwavelength [nm];T a [%];R a [%];T b [%]\n900;60,5;30;50\n910;61,5;30;51\n920;62,5;30;52\n";

/// Reads bytes in every way there is; the answers do not matter here.
fn read_all(bytes: &[u8]) {
    let _ = parse_plaques(bytes, "x.csv");
    let _ = parse_index(bytes, "x.csv");
    let _ = parse_absorption(bytes, "x.csv");
    let text = String::from_utf8_lossy(bytes);
    let _ = joint_file::parse(&text, "x.toml", &library::no_files);
    let _ = material_file::parse(&text, "x.toml", "x", &library::no_files);
    for field in FIELDS {
        let _ = field.parse(&text);
    }
}

/// `text` with a few bytes put in, taken out or changed.
fn mutated(text: &'static str) -> impl Strategy<Value = Vec<u8>> {
    let edit = (any::<prop::sample::Index>(), any::<u8>(), 0..5u8);
    prop::collection::vec(edit, 1..12).prop_map(move |edits| {
        let mut bytes = text.as_bytes().to_vec();
        for (index, byte, kind) in edits {
            let at = index.index(bytes.len() + 1);
            match kind {
                0 => bytes.insert(at, byte),
                1 => bytes.insert(at, b";,.\t\n \"-0[]=%"[usize::from(byte) % 13]),
                2 if at < bytes.len() => bytes[at] = byte,
                3 if at < bytes.len() => {
                    bytes.remove(at);
                }
                _ => bytes.truncate(at.max(1)),
            }
        }
        bytes
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        read_all(&bytes);
    }

    #[test]
    fn arbitrary_text(text in "[0-9;,.\t\n\r \"a-zTRnk%µ/\\[\\]=-]{0,200}") {
        read_all(text.as_bytes());
    }

    #[test]
    fn mutated_export(bytes in mutated(EXPORT)) {
        read_all(&bytes);
    }

    #[test]
    fn mutated_joint(bytes in mutated(JOINT)) {
        read_all(&bytes);
    }

    #[test]
    fn mutated_card(bytes in mutated(library::card_text("pa66").unwrap_or_default())) {
        read_all(&bytes);
    }

    /// A joint that is accepted has values in range and optical constants at its wavelength.
    #[test]
    fn accepted_joints_make_sense(bytes in mutated(JOINT)) {
        let text = String::from_utf8_lossy(&bytes);
        if let Ok((joint, _)) = joint_file::parse(&text, "x.toml", &library::no_files) {
            prop_assert!((400e-9..=2500e-9).contains(&joint.wavelength_m));
            prop_assert!((0.0..=1e4).contains(&joint.beam.power_w));
            for part in [&joint.upper, &joint.lower] {
                prop_assert!((0.99e-6..=50.1e-3).contains(&part.thickness_m));
                prop_assert!(part.optical_at(joint.wavelength_m).is_ok());
            }
        }
    }

    /// What is accepted is a share of light at wavelengths in range.
    #[test]
    fn accepted_plaques_make_sense(bytes in mutated(EXPORT)) {
        if let Ok(file) = parse_plaques(&bytes, "x.csv") {
            for plaque in file.plaques {
                prop_assert!((1e-6..=50e-3).contains(&plaque.thickness_m));
                for (wavelength_m, share) in plaque.transmittance.points() {
                    prop_assert!((0.0..=1.0).contains(&share));
                    prop_assert!((299e-9..3001e-9).contains(&wavelength_m));
                }
            }
        }
    }

    /// A quantity written with its own unit comes back.
    #[test]
    fn quantities_round_trip(value in 0.001f64..40.0) {
        let text = format!("{value} mm");
        let parsed = lightseam::input::quantity::THICKNESS.parse(&text).unwrap();
        prop_assert!((parsed / (value * 1e-3) - 1.0).abs() < 1e-12);
    }
}

#[test]
fn the_unmutated_originals_are_accepted() {
    joint_file::parse(JOINT, "x.toml", &library::no_files).unwrap();
    parse_plaques(EXPORT.as_bytes(), "x.csv").unwrap();
}
