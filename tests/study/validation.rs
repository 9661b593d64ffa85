//! A check that is broken, or that has no number, does not hold.

use lightseam::report::validation_report::{headline, text};
use lightseam::study::validation::{Check, Kind, Stage, Validation};

fn check(deviation: f64) -> Check {
    Check {
        stage: Stage::Heat,
        what: "a front",
        kind: Kind::ClosedForm,
        source: "by hand",
        values: 3,
        deviation,
        limit: 0.02,
        unit: "relative",
    }
}

#[test]
fn a_broken_check_is_named() {
    assert!(check(0.02).holds());
    assert!(!check(0.0201).holds());
    assert!(!check(f64::NAN).holds());
    let both = Validation {
        checks: vec![check(0.001), check(0.5)],
        findings: Vec::new(),
    };
    assert!(!both.holds());
    assert_eq!(headline(&both), "1 of 2 checks beyond the limit: a front");
    assert!(text(&both, Some(120)).contains("NO"));
}
