//! `colour`: three commands from an empty folder, exit codes, JSON, refusals.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{lightseam, starter_with_colours, stderr, stdout};

const BATCHES: &str =
    "colour s/colour/batches --standard s/colour/standard.csv --joint s/black-joint.toml";

fn json(folder: &Path, words: &str, code: i32) -> Value {
    let output = lightseam(folder, &format!("{words} --json"));
    assert_eq!(output.status.code(), Some(code), "{}", stderr(&output));
    serde_json::from_str(&stdout(&output)).unwrap()
}

fn error(folder: &Path, words: &str) -> String {
    let output = lightseam(folder, &format!("colour {words}"));
    assert_eq!(output.status.code(), Some(2), "{}", stdout(&output));
    assert!(stdout(&output).is_empty());
    stderr(&output)
}

#[test]
fn the_starter_s_batches_give_back_what_was_put_into_them() {
    let folder = starter_with_colours();
    let found = json(folder.path(), BATCHES, 1);
    let batches = found["batches"].as_array().unwrap();
    assert_eq!(batches.len(), 12);
    // Put in at 980 nm, 1/mm: carbon black of 0.012 to 0.020 (lot 10: 0.26) at 1 µm, dye 0.012 times its
    // strength (1 ± 3 %), polymer 0.004; reduced scattering (1.15 ± 0.04) (0.1906 + 0.1063).
    let black = [
        0.012, 0.016, 0.010, 0.014, 0.020, 0.013, 0.017, 0.011, 0.015, 0.26, 0.014, 0.018,
    ];
    for (batch, black) in batches.iter().zip(black) {
        let laser = &batch["laser"];
        let absorption = laser["absorption_per_m"].as_f64().unwrap() * 1e-3;
        let truth = black / 0.98 + 0.016;
        assert!((absorption - truth).abs() < 0.003 + 0.01 * truth, "{batch}");
        let scattering = laser["reduced_scattering_per_m"].as_f64().unwrap() * 1e-3;
        assert!((scattering / 0.3414 - 1.0).abs() < 0.12, "{scattering}");
    }
    let names = |key: &str| -> Vec<&str> {
        found[key]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it.as_str().unwrap())
            .collect()
    };
    assert_eq!(names("unsound"), ["lot-10"]);
    assert!(names("outside").is_empty());
    // The lot with carbon black: as black as the others to the eye, ten times their heat.
    let heat = |i: usize| batches[i]["weld"]["absorbed_upper_w"].as_f64().unwrap();
    assert!(5.0 * heat(0) < heat(9), "{} {}", heat(0), heat(9));
    let charts = found["charts"].as_array().unwrap();
    let keys: Vec<&str> = charts
        .iter()
        .map(|it| it["characteristic"].as_str().unwrap())
        .collect();
    assert_eq!(keys, ["L", "dE00", "T", "extinction", "latitude"]);
    assert_eq!(charts[2]["outside"], serde_json::json!(["lot-10"]));
}

#[test]
fn limits_capability_pages_and_exit_codes() {
    let folder = starter_with_colours();
    let limits = "--limit \"dE00 <= 1\" --limit \"T >= 60 %\"";
    let output = lightseam(folder.path(), &format!("{BATCHES} {limits} --out answer"));
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let text = stdout(&output);
    assert!(
        text.contains("does not weld at 11.0 W, 40.0 mm/s: lot-10"),
        "{text}"
    );
    assert!(text.contains("Ppk") && !text.contains("NaN"), "{text}");
    for name in [
        "index.html",
        "chart-T.svg",
        "chart-dE00.png",
        "batches.csv",
        "batches/lot-10/index.html",
    ] {
        assert!(folder.path().join("answer").join(name).is_file(), "{name}");
    }
    let page = fs::read_to_string(folder.path().join("answer/index.html")).unwrap();
    assert!(page.contains("lot-07") && !page.contains("NaN"));
    // Without the bad lot all weld.
    fs::remove_file(folder.path().join("s/colour/batches/lot-10.csv")).unwrap();
    let found = json(folder.path(), BATCHES, 0);
    assert_eq!(found["batches"].as_array().unwrap().len(), 11);
}

#[test]
fn one_file_without_a_joint_tells_colour_and_light() {
    let folder = starter_with_colours();
    let found = json(
        folder.path(),
        "colour s/colour/standard.csv --part \"1.5 mm\" --index 1.49",
        0,
    );
    let batch = &found["batches"][0];
    let ten = &batch["colours"][0]["observers"]["10"];
    assert!((23.0..26.0).contains(&ten["L"].as_f64().unwrap()), "{ten}");
    let transmittance = batch["laser"]["transmittance"].as_f64().unwrap();
    let plaque = batch["laser"]["plaque_transmittance"].as_f64().unwrap();
    // The part is as thick as the plaque: what was measured, within its uncertainty.
    assert!(
        (transmittance - plaque).abs() < 0.004,
        "{transmittance} {plaque}"
    );
    assert!(batch["weld"].is_null() && found["charts"].as_array().unwrap().is_empty());
    let two = json(
        folder.path(),
        "colour s/colour/standard.csv --observer 2",
        0,
    );
    assert_ne!(two["batches"][0]["values"]["b"], batch["values"]["b"]);
}

#[test]
fn a_reflectance_alone_has_a_colour_but_no_weld() {
    let folder = starter_with_colours();
    let rows: String = (0..=32)
        .map(|i| format!("{};{}\n", 380 + 10 * i, 4.5))
        .collect();
    fs::write(
        folder.path().join("r.csv"),
        format!("nm;R over black [%]\n{rows}"),
    )
    .unwrap();
    let found = json(folder.path(), "colour r.csv", 0);
    let values = &found["batches"][0]["values"];
    assert!((values["L"].as_f64().unwrap() - (116.0 * 0.045f64.cbrt() - 16.0)).abs() < 1e-6);
    assert!(values["T"].is_null());
    let said = error(folder.path(), "r.csv --joint s/black-joint.toml");
    assert!(
        said.starts_with("error: r.csv has no transmittance, which tells"),
        "{said}"
    );
}

#[test]
fn refusals_name_what_is_wrong_and_the_cure() {
    let folder = starter_with_colours();
    fs::create_dir(folder.path().join("empty")).unwrap();
    let standard = "s/colour/standard.csv";
    for (words, expected) in [
        ("empty".to_string(), "empty holds no spectrometer file"),
        (
            format!("{standard} --limit \"T > 60 %\""),
            "\"T > 60 %\" has no >= or <=",
        ),
        (
            format!("{standard} --limit \"latitde >= 1\""),
            "did you mean `latitude`?",
        ),
        (
            format!("{standard} --limit \"T >= 60\""),
            "T \"60\" has no unit",
        ),
        (
            format!("{standard} --limit \"L <= 20\" --limit \"L >= 25\""),
            "\"L >= 25\" contradicts a limit before it",
        ),
        (
            format!("{standard} --line \"1940 nm\""),
            "is known from 360 nm to 1100 nm, not at 1940 nm",
        ),
        (
            format!("{standard} --line \"980\""),
            "wavelength \"980\" has no unit",
        ),
        ("nowhere.csv".into(), "cannot read nowhere.csv"),
    ] {
        let said = error(folder.path(), &words);
        assert!(
            said.contains(expected) && said.contains("cure:"),
            "{words}: {said}"
        );
    }
}

#[test]
fn long_names_of_batches_are_told_apart_in_figures() {
    let folder = starter_with_colours();
    let batches = folder.path().join("s/colour/batches");
    for lot in 1..=12 {
        let long = format!("a-long-name-of-a-black-masterbatch-lot-{lot:02}.csv");
        fs::rename(
            batches.join(format!("lot-{lot:02}.csv")),
            batches.join(long),
        )
        .unwrap();
    }
    let output = lightseam(folder.path(), &format!("{BATCHES} --out o"));
    assert!(output.status.code() < Some(2), "{}", stderr(&output));
    for (figure, start) in [
        ("chart-dE00", "…lot-"),
        ("swatches", "…black-masterbatch-lot-"),
    ] {
        let drawn = fs::read_to_string(folder.path().join(format!("o/{figure}.svg"))).unwrap();
        for lot in 1..=12 {
            let name = format!(">{start}{lot:02}</text>");
            assert_eq!(drawn.matches(&name).count(), 1, "{figure}: {name}");
        }
        assert!(
            drawn.contains("All names begin with “a-long-name-"),
            "{figure}"
        );
    }
}
