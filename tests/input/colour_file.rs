//! Coloured samples from CSV and JCAMP-DX: what is over which backing, and what belongs to the part.

use lightseam::input::colour_file::read;
use lightseam::input::plaques::{self, PlaqueText};
use lightseam::input::specification;
use lightseam::study::colours::{Sample, Seen};
use lightseam::study::specification::Characteristic;

fn sample(file: &str, text: &str) -> (Sample, Vec<String>) {
    let (sample, notes) = read(&PlaqueText {
        file,
        bytes: text.as_bytes(),
        thickness_m: None,
    })
    .unwrap();
    (sample, notes.iter().map(ToString::to_string).collect())
}

fn kinds(sample: &Sample) -> Vec<Seen> {
    sample.curves.iter().map(|it| it.0).collect()
}

const ALL: &str = "nm;T 1.2 mm total [%];R 1.2 mm [%];R over black [%];R white backing [%]\n\
                   400;0;4.1;4.0;4.2\n700;2;5;4.9;5.6\n980;60;18;19;61\n";

#[test]
fn one_file_holds_colour_opacity_and_light() {
    let (sample, notes) = sample("lots/k 7.v2.csv", ALL);
    assert_eq!(sample.name, "k 7.v2");
    assert_eq!(
        kinds(&sample),
        [
            Seen::OverBlack,
            Seen::Alone,
            Seen::OverWhite,
            Seen::Transmitted
        ]
    );
    assert!(notes.is_empty(), "{notes:?}");
    let plaque = &sample.plaques[0];
    assert!((plaque.thickness_m - 1.2e-3).abs() < 1e-12);
    // The plaque's own reflectance, not that over a backing.
    let own = plaque.reflectance.as_ref().unwrap();
    assert!((own.at("R", 980e-9).unwrap() - 0.18).abs() < 1e-12);
    assert!((sample.curves[2].1.at("R", 980e-9).unwrap() - 0.61).abs() < 1e-12);
}

#[test]
fn a_reflectance_over_a_backing_is_no_light_in_a_part() {
    let text = ALL.replace(";R 1.2 mm [%]", ";R 1.2 mm over white tile [%]");
    let set = plaques::read(&[PlaqueText {
        file: "k.csv",
        bytes: text.as_bytes(),
        thickness_m: None,
    }])
    .unwrap();
    assert!(set.plaques[0].reflectance.is_none());
    let said: Vec<String> = set.notes.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert!(
        said[0].contains("is of a plaque over a backing"),
        "{said:?}"
    );
}

#[test]
fn the_name_of_a_black_is_no_backing() {
    let (sample, _) = sample("k.csv", "nm;R nylon black 2 mm [%]\n400;4\n550;4\n700;5\n");
    assert_eq!(kinds(&sample), [Seen::Alone]);
}

#[test]
fn jcamp_says_the_backing_in_its_title() {
    let text = "##TITLE= lot 3 over black\n##JCAMP-DX= 4.24\n##DATA TYPE= UV-VIS SPECTRUM\n\
                ##XUNITS= NANOMETERS\n##YUNITS= REFLECTANCE\n##XFACTOR= 1\n##YFACTOR= 1\n\
                ##NPOINTS= 4\n##XYPOINTS= (XY..XY)\n400, 0.040\n500, 0.041\n600, 0.042\n720, 0.050\n##END=\n";
    let (sample, _) = sample("lot3.jdx", text);
    assert_eq!(kinds(&sample), [Seen::OverBlack]);
    assert!((sample.curves[0].1.at("R", 600e-9).unwrap() - 0.042).abs() < 1e-12);
}

#[test]
fn limits_are_read_in_the_units_of_the_trade() {
    let found = specification::parse(&["extinction <= 0.5 /mm", "retained ≥ 70 %"]).unwrap();
    assert_eq!(found[0].characteristic, Characteristic::Extinction);
    assert!((found[0].limits.most.unwrap() - 500.0).abs() < 1e-9);
    assert!((found[1].limits.least.unwrap() - 0.7).abs() < 1e-12);
    for (limits, said) in [
        (
            ["L <= 26", "L <= 25"],
            "\"L <= 25\" repeats a limit before it: L has one <= already\n  cure: keep one of the two",
        ),
        (
            ["T >= 60 %", "T >= 70 %"],
            "\"T >= 70 %\" repeats a limit before it: T has one >= already",
        ),
        (
            ["L <= 25", "L >= 26"],
            "\"L >= 26\" contradicts a limit before it",
        ),
    ] {
        let error = specification::parse(&limits).unwrap_err().to_string();
        assert!(error.starts_with(said), "{error}");
    }
}
