//! Safety text: the rule for eyewear by hand, and what every page must say.

use lightseam::report::cautions::Fume;
use lightseam::report::cautions::Laser;
use lightseam::report::cautions::scale_number;
use lightseam::report::cautions::usual;

fn laser(wavelength_m: f64, irradiance_w_per_m2: f64) -> Laser {
    Laser {
        wavelength_m,
        power_w: Some(irradiance_w_per_m2 * 3e-6),
        area_m2: 3e-6,
    }
}

#[test]
fn scale_numbers_follow_the_rule() {
    // LBn allows 10^(n + 1) W/m² up to 1400 nm and 10^(n + 3) W/m² above (EN 207, continuous
    // light, as quoted by secondary texts), so the limit itself still needs n, and a little more
    // needs n + 1.
    for n in 1..=9u8 {
        for (wavelength_m, off) in [(980e-9, 1), (1400e-9, 1), (1401e-9, 3), (1940e-9, 3)] {
            let limit = 10f64.powi(i32::from(n) + off);
            assert_eq!(scale_number(laser(wavelength_m, limit)), Some(n));
            assert_eq!(scale_number(laser(wavelength_m, 1.01 * limit)), Some(n + 1));
        }
    }
    assert_eq!(scale_number(laser(980e-9, 0.3)), Some(1));
}

#[test]
fn no_number_where_the_rule_does_not_hold() {
    assert_eq!(scale_number(laser(300e-9, 1e6)), None);
    assert_eq!(scale_number(laser(2e-3, 1e6)), None);
    assert_eq!(scale_number(laser(980e-9, 1e15)), None);
    assert_eq!(scale_number(laser(980e-9, 0.0)), None);
    assert_eq!(scale_number(laser(980e-9, f64::NAN)), None);
    assert_eq!(scale_number(laser(f64::NAN, 1e6)), None);
    let unknown = Laser {
        power_w: None,
        ..laser(980e-9, 1e6)
    };
    assert_eq!(scale_number(unknown), None);
}

#[test]
fn every_page_defers_and_claims_nothing() {
    let fume = Fume {
        polymer: "POM".to_string(),
        substances: "formaldehyde".to_string(),
        source: "somewhere".to_string(),
    };
    let all: String = usual(laser(980e-9, 3.2e7), &[fume])
        .into_iter()
        .map(|it| format!("{} {} {}\n", it.title, it.text, it.source))
        .collect();
    for words in [
        "lightseam is a feasibility aid, not a safety assessment",
        "class 4",
        "invisible",
        "980 nm",
        "LB7",
        "never a clearance",
        "Fume of POM",
        "formaldehyde",
        "interlocks",
        "laser safety officer",
        "Local codes",
    ] {
        assert!(all.contains(words), "{words} is missing from\n{all}");
    }
    // Without a power there is nothing to estimate, and the rest stays.
    let unknown = Laser {
        power_w: None,
        ..laser(532e-9, 1.0)
    };
    let without = usual(unknown, &[]);
    assert!(without.iter().all(|it| !it.text.contains("LB")));
    assert!(
        without
            .iter()
            .any(|it| it.text.contains("light is visible"))
    );
}
