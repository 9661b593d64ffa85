//! Joints with a gap: files, warnings and verdicts.

use std::sync::Arc;

use lightseam::input::{joint_file, library};
use lightseam::material::Material;
use lightseam::optics::Method;
use lightseam::report::answer::weld_headline;
use lightseam::report::json;
use lightseam::study::Silent;
use lightseam::study::gap_window::at_gap;
use lightseam::study::power_limits::{PowerLimit, power_limits};
use lightseam::weld::warning::{Warning, warnings};
use lightseam::weld::{Interface, Joint, Rule, Settings, Verdict};

use crate::support::joints::outcome;

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
    assert_eq!(held.verdict, Verdict::Unfused);
    assert!(held.history.interface_peak_upper_k < closed.history.interface_peak_upper_k);
}

/// The same card, but that it does not say how the polymer swells.
fn rigid(material: &Material) -> Arc<Material> {
    Arc::new(Material {
        expansion: None,
        ..material.clone()
    })
}

/// Held open by the file or by a stated conductance, or not known to close: whatever melts at
/// whatever power, 0 µm of the gap are closed, and the answer says so and what to do.
#[test]
fn an_open_gap_is_never_sound() {
    let cases = [
        ("gap = \"2 µm\", closure = \"none\"", true, "gap_held_open"),
        (
            "gap = \"2 µm\", conductance = \"13000 W/m2/K\"",
            true,
            "gap_held_open",
        ),
        ("gap = \"2 µm\"", false, "gap_stays_open"),
    ];
    for (contact, swells, key) in cases {
        let mut joint = parse("pc", contact).unwrap();
        if !swells {
            joint.upper.material = rigid(&joint.upper.material);
            joint.lower.material = rigid(&joint.lower.material);
        }
        let mut melted = 0;
        for power_w in [4.0, 8.0, 12.0, 16.0, 24.0, 40.0] {
            joint.beam.power_w = power_w;
            let it = outcome(&joint);
            melted += usize::from(20e-6 < it.history.upper_melt_depth_m);
            assert_eq!(it.verdict, Verdict::Unfused, "{contact} at {power_w} W");
            let rule = it.governing;
            assert_eq!(rule.rule, Rule::GapClosure);
            assert_eq!((rule.value, rule.limit, rule.margin), (0.0, 2e-6, -1.0));
            let headline = weld_headline(&it);
            assert!(
                headline.contains("nothing known closes the gap"),
                "{headline}"
            );
            let warned = warnings(&joint, &it);
            let warned = warned.iter().find(|it| it.key() == key).unwrap();
            assert!(warned.to_string().contains("gap = \"0 µm\""), "{warned}");
            let json = json::weld(&joint, &it, &[]);
            assert_eq!(json["gap_m"], 2e-6);
            assert!(json["gap_swelling_m"].is_null());
        }
        // Without the gap's own rule it would have been called a weld.
        assert!(2 < melted, "{contact}: {melted}");
        // And no power, at any gap, is sound.
        let found = power_limits(
            &[joint.clone()],
            (0.5, 200.0),
            &Settings::standard(),
            &Silent,
        );
        let never = PowerLimit::Never {
            rule: Rule::GapClosure,
        };
        assert_eq!(found[0].as_ref().unwrap().low, never);
        for gap_m in [1e-6, 50e-6] {
            let it = outcome(&at_gap(&joint, gap_m));
            assert_eq!(it.verdict, Verdict::Unfused, "{contact} at {gap_m} m");
        }
        assert_eq!(at_gap(&joint, 0.0).interface.gap_m(), None);
    }
}

/// One card that says how it swells is enough to judge by; the other part counts as rigid.
#[test]
fn one_part_that_swells_closes_a_narrow_gap() {
    let mut joint = parse("pc", "gap = \"5 µm\"").unwrap();
    joint.upper.material = rigid(&joint.upper.material);
    let it = outcome(&joint);
    let rule = it.criteria.iter().find(|it| it.rule == Rule::GapClosure);
    assert!(0.0 < rule.unwrap().margin, "{rule:?}");
    assert_eq!(it.verdict, Verdict::Sound);
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

/// Over a gap light crosses two faces more; once melt has wetted the other part it goes its way as in
/// contact, to the last bit, whichever way light is followed.
#[test]
fn wetted_light_is_that_of_contact() {
    // Two faces of index 1.53 reflect 4.4 % each of straight light. Of light from all directions
    // 1 − (1 − R)/n² with R = 9 % comes back inside, 61 %, and about half of that once more.
    for (method, least, most) in [
        (Method::BeerLambert, 1.05, 1.12),
        (Method::AddingDoubling, 1.2, 1.5),
    ] {
        let of = |contact: &str| {
            let mut joint = parse("pa6", contact).unwrap();
            joint.method = Some(method);
            outcome(&joint)
        };
        let (gap, contact) = (of("gap = \"20 µm\""), of("gap = \"0 µm\""));
        let wetted = gap.wetted_light.unwrap();
        assert_eq!(wetted.absorbed_lower(), contact.light.absorbed_lower());
        assert_eq!(wetted.absorbed_upper(), contact.light.absorbed_upper());
        assert_eq!(wetted.reflected, contact.light.reflected);
        let gain = wetted.absorbed_lower() / gap.light.absorbed_lower();
        assert!((least..most).contains(&gain), "{method:?}: {gain}");
        assert!(contact.wetted_light.is_none());
        assert!(
            of("gap = \"20 µm\", closure = \"none\"")
                .wetted_light
                .is_none()
        );
    }
}

/// The heat of the later part of a pass that wets early on is nearer to contact than to a gap that
/// stays.
#[test]
fn a_gap_that_closes_early_melts_nearly_as_contact() {
    let mut gap = parse("pc", "gap = \"1 µm\"").unwrap();
    gap.beam.power_w = 20.0;
    let mut contact = gap.clone();
    contact.interface = Interface::of_gap(0.0);
    let (gap, contact) = (outcome(&gap), outcome(&contact));
    assert!(gap.history.film.unwrap().wetted);
    let share = gap.light.absorbed_lower() / contact.light.absorbed_lower();
    let [rise, all] = [&gap, &contact].map(|it| it.history.interface_peak_lower_k - 296.15);
    let left = (1.0 - rise / all) / (1.0 - share);
    assert!((0.0..0.6).contains(&left), "{left}");
}
