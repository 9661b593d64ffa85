//! The criteria of a weld in its cross-section: found there, and worked by hand on altered sections.

use lightseam::heat::cross_section::CrossSection;
use lightseam::report::cross_section_report::across_words;
use lightseam::weld::across::Across;
use lightseam::weld::cross_section::cross_section;
use lightseam::weld::{Joint, Outcome, Rule, Settings, Verdict, simulate};

use crate::support::joints;

fn cut(text: &str) -> (Joint, Outcome, CrossSection) {
    let joint = joints::from_text(text);
    let settings = Settings::standard();
    let outcome = simulate(std::slice::from_ref(&joint), &settings)
        .remove(0)
        .unwrap();
    let cut = cross_section(&joint, &outcome, &settings).unwrap();
    (joint, outcome, cut)
}

fn pp(contact: &str, beam: &str, speed: &str) -> String {
    format!(
        r#"
upper = {{ material = "pp", thickness = "1.5 mm" }}
lower = {{ material = "pp", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.3 %" }} }}
contact = {{ {contact} }}
beam = {{ wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", {beam} }}
motion = {{ mode = "contour", speed = "{speed}" }}
"#
    )
}

fn rules(across: &Across) -> Vec<Rule> {
    across.missed.iter().map(|it| it.rule).collect()
}

/// Where heat leaves sideways the parts swell less, and a gap that just closes in depth alone stays open:
/// there is no seam, and the weld is not sound.
#[test]
fn a_gap_that_stays_open_across_the_seam_is_no_weld() {
    let text = pp(
        "gap = \"77 µm\"",
        "shape = \"gaussian\", power = \"12.8 W\"",
        "40 mm/s",
    );
    let (joint, outcome, cut) = cut(&text);
    assert_eq!(outcome.verdict, Verdict::Sound);
    let across = Across::new(&joint, &outcome, &cut);
    assert!(across.no_seam && !across.is_sound());
    assert!(rules(&across).contains(&Rule::GapClosure), "{across:?}");
    let words = across_words(&outcome, &across).unwrap();
    assert!(words.contains("the parts are fused nowhere"), "{words}");
    assert!(words.contains("closing of the gap is "), "{words}");
}

/// A slow weld whose surface is marked in depth alone, where later heat cannot leave sideways, is not
/// across the seam, and that is said.
#[test]
fn what_depth_alone_sees_too_hot_may_be_met_across_the_seam() {
    let text = pp(
        "gap = \"0 µm\"",
        "shape = \"top-hat\", power = \"1.5 W\"",
        "1 mm/s",
    );
    let (joint, outcome, cut) = cut(&text);
    assert_eq!(outcome.governing.rule, Rule::SurfaceMarking);
    assert!(outcome.governing.margin < 0.0);
    let across = Across::new(&joint, &outcome, &cut);
    let relieved = across.relieved.unwrap();
    assert_eq!(relieved.rule, Rule::SurfaceMarking);
    assert!(relieved.value < relieved.limit && relieved.value < outcome.governing.value);
    let words = across_words(&outcome, &across).unwrap();
    assert!(words.contains("surface marking is "), "{words}");
}

/// Each rule with values put into the section by hand, a shade on either side of its limit.
#[test]
fn every_rule_by_hand() {
    let text = pp(
        "gap = \"0 µm\"",
        "shape = \"top-hat\", power = \"14 W\"",
        "40 mm/s",
    );
    let (joint, outcome, found) = cut(&text);
    let limit = |rule: Rule| {
        let it = outcome.criteria.iter().find(|it| it.rule == rule);
        it.unwrap().limit
    };
    let missed = |change: &dyn Fn(&mut CrossSection)| {
        let mut altered = found.clone();
        change(&mut altered);
        rules(&Across::new(&joint, &outcome, &altered))
    };
    assert_eq!(missed(&|_| ()), [], "{outcome:?}");
    let upper_m = limit(Rule::UpperMeltDepth);
    assert_eq!(missed(&|it| it.melt_depth_m[0] = 1.001 * upper_m), []);
    assert_eq!(
        missed(&|it| it.melt_depth_m[0] = 0.999 * upper_m),
        [Rule::UpperMeltDepth]
    );
    let lower_m = limit(Rule::LowerMeltDepth);
    assert_eq!(
        missed(&|it| it.melt_depth_m[1] = 0.999 * lower_m),
        [Rule::LowerMeltDepth]
    );
    let flow_k = joint.lower.material.thermal.flow_temperature_k.value;
    assert_eq!(
        missed(&|it| it.interface_peak_k[1] = flow_k - 0.1),
        [Rule::Fusion]
    );
    // Ω = 0.02 is a damaged share of 1 − exp(−0.02), 2 %, of 1 % allowed.
    assert_eq!(
        missed(&|it| it.damage_integral = Some(0.02)),
        [Rule::Damage]
    );
    assert_eq!(missed(&|it| it.damage_integral = Some(0.005)), []);
    let marked_k = limit(Rule::SurfaceMarking);
    assert_eq!(
        missed(&|it| it.laser_side_peak_k = marked_k + 0.1),
        [Rule::SurfaceMarking]
    );
    // What may still come is neither met nor missed.
    let mut late = found.clone();
    late.final_above_k = marked_k + 5.0;
    let across = Across::new(&joint, &outcome, &late);
    assert_eq!(rules(&across), []);
    assert_eq!(across.open, [Rule::SurfaceMarking]);
}
