//! Joints with a gap: files, warnings and verdicts.

use lightseam::input::{joint_file, library};
use lightseam::weld::warning::{Warning, warnings};
use lightseam::weld::{Interface, Joint, Outcome, Rule, Settings, Verdict, simulate};

fn parse(material: &str, contact: &str) -> Result<Joint, lightseam::error::Error> {
    let text = format!(
        r#"
upper = {{ material = "{material}", thickness = "2 mm" }}
lower = {{ material = "{material}", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.1 %" }} }}
contact = {{ {contact} }}
beam = {{ wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "16 W" }}
motion = {{ mode = "contour", speed = "20 mm/s" }}
"#
    );
    joint_file::parse(&text, "joint.toml", &library::no_files).map(|it| it.0)
}

fn outcome(joint: &Joint) -> Outcome {
    simulate(std::slice::from_ref(joint), &Settings::standard())
        .remove(0)
        .unwrap()
}

#[test]
fn a_file_says_whether_a_gap_closes() {
    let closes = |contact: &str| match parse("pc", contact).unwrap().interface {
        Interface::Gap { closes, .. } => closes,
        Interface::Contact { .. } => panic!("no gap"),
    };
    assert!(closes("gap = \"20 µm\""));
    assert!(closes("gap = \"20 µm\", closure = \"expansion\""));
    assert!(!closes("gap = \"20 µm\", closure = \"none\""));
    assert!(!closes("gap = \"20 µm\", conductance = \"1300 W/m2/K\""));
    let both = parse(
        "pc",
        "gap = \"20 µm\", conductance = \"1300 W/m2/K\", closure = \"expansion\"",
    );
    assert!(both.unwrap_err().to_string().contains("conductance"));
    assert!(parse("pc", "gap = \"20 µm\", closure = \"foam\"").is_err());
}

/// A gap that closes welds; the same gap kept open by the file, or too wide, does not.
#[test]
fn a_weld_needs_parts_that_meet() {
    let closed = outcome(&parse("pc", "gap = \"20 µm\"").unwrap());
    assert_eq!(closed.verdict, Verdict::Sound);
    let film = closed.history.film.unwrap();
    assert!(film.wetted && film.closed_s.is_some() && 20e-6 < film.swelling_m.unwrap());
    let rule = closed
        .criteria
        .iter()
        .find(|it| it.rule == Rule::GapClosure)
        .unwrap();
    assert_eq!(rule.limit, 20e-6);
    assert!((rule.margin - (rule.value / 20e-6 - 1.0)).abs() < 1e-12);

    let wide = outcome(&parse("pc", "gap = \"200 µm\"").unwrap());
    assert_eq!(wide.verdict, Verdict::Unfused);
    let rule = wide
        .criteria
        .iter()
        .find(|it| it.rule == Rule::GapClosure)
        .unwrap();
    assert!(rule.margin < 0.0);

    let held = outcome(&parse("pc", "gap = \"20 µm\", closure = \"none\"").unwrap());
    assert_eq!(held.verdict, Verdict::Weak);
    assert!(held.criteria.iter().all(|it| it.rule != Rule::GapClosure));
    assert!(held.history.interface_peak_upper_k < closed.history.interface_peak_upper_k);
}

/// A gap wider than the lower part is thick, and a millimetre: an answer, and no weld.
#[test]
fn very_wide_gaps_do_not_weld() {
    for contact in ["gap = \"1 mm\"", "gap = \"5 mm\""] {
        let it = outcome(&parse("pa6", contact).unwrap());
        assert_eq!(it.verdict, Verdict::Unfused);
        assert!(it.governing.margin.is_finite());
    }
    let mut joint = parse("pa6", "gap = \"20 µm\"").unwrap();
    joint.beam.power_w = 0.0;
    let it = outcome(&joint);
    assert_eq!(it.history.film.unwrap().swelling_m, Some(0.0));
    assert_eq!(it.verdict, Verdict::Unfused);
}

#[test]
fn cards_without_data_are_named() {
    let of = |material: &str, contact: &str| {
        let joint = parse(material, contact).unwrap();
        warnings(&joint, &outcome(&joint))
    };
    let open = |all: &[Warning]| all.iter().any(|it| it.key() == "gap_stays_open");
    let peek = of("peek", "gap = \"20 µm\"");
    assert!(open(&peek));
    let words: Vec<String> = peek.iter().map(ToString::to_string).collect();
    assert!(
        words.iter().any(|it| it.contains("by air alone")),
        "{words:?}"
    );
    assert!(!open(&of("peek", "gap = \"20 µm\", closure = \"none\"")));
    assert!(!open(&of("pc", "gap = \"20 µm\"")));
}
