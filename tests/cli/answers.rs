//! `tolerance`, `require` and `rank` as a newcomer runs them: output, files, exit codes, errors.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{lightseam, stderr, stdout};

const JOINT: &str = r#"
question = "Does a clear lid weld to a black body?"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "6 W" }
motion = { mode = "contour", speed = "50 mm/s" }
machine = { power = ["0.5 W", "60 W"], speed = ["5 mm/s", "200 mm/s"] }
uncertainty = { power = "3 %", spot = "5 %", absorber = "20 %" }
"#;

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("joint.toml"), JOINT).unwrap();
    folder
}

fn json(folder: &Path, words: &str) -> Value {
    serde_json::from_str(&stdout(&lightseam(folder, words))).unwrap()
}

fn written(folder: &Path, files: &[&str]) {
    for file in files {
        let path = folder.join(file);
        let size = fs::metadata(&path).map_or(0, |it| it.len());
        assert!(100 < size, "{}", path.display());
    }
}

#[test]
fn tolerance_answers_and_repeats() {
    let folder = folder();
    let words = "tolerance joint.toml --samples 2000 --seed 3 --out t";
    let output = lightseam(folder.path(), words);
    assert!(output.status.code() < Some(2), "{}", stderr(&output));
    let text = stdout(&output);
    for words in [
        "of welds are sound",
        "95 % interval",
        "hold tighter",
        "matters most",
        "seed",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    // What nobody states is said to be taken as exact.
    assert!(
        stderr(&output).contains("taken as exact"),
        "{}",
        stderr(&output)
    );
    assert_eq!(text, stdout(&lightseam(folder.path(), words)));
    let one = format!("{words} --threads 1");
    assert_eq!(text, stdout(&lightseam(folder.path(), &one)));
    written(
        folder.path(),
        &[
            "t/index.html",
            "t/chance.svg",
            "t/effects.png",
            "t/margins.csv",
            "t/effects.csv",
        ]
        .map(|it| {
            if it == "t/margins.csv" {
                "t/verdicts.csv"
            } else {
                it
            }
        }),
    );
    let value = json(
        folder.path(),
        "tolerance joint.toml --samples 2000 --seed 3 --no-map --json",
    );
    let shares: f64 = value["verdict_shares"]
        .as_object()
        .unwrap()
        .values()
        .map(|it| it.as_f64().unwrap())
        .sum();
    assert!((shares - 1.0).abs() < 1e-12);
    assert_eq!(value["seed"], 3);
    assert!(value["window"].is_null());
    assert_eq!(value["inputs"].as_array().unwrap().len(), 6);
}

#[test]
fn require_answers_with_a_line_to_order_by() {
    let folder = folder();
    let output = lightseam(folder.path(), "require joint.toml --out r");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let text = stdout(&output);
    for words in [
        "must pass at least",
        "for the drawing: Total transmittance at 980 nm through 1.50 mm",
        "k = 2",
        "absorber in the lower part",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    written(
        folder.path(),
        &[
            "r/index.html",
            "r/transmittance.svg",
            "r/thickness.png",
            "r/absorber.svg",
            "r/limits.csv",
            "r/looked-at.csv",
        ],
    );
    let value = json(
        folder.path(),
        "require joint.toml --latitude \"± 25 %\" --json",
    );
    let strict = value["least_transmittance"].as_f64().unwrap();
    let lenient = json(folder.path(), "require joint.toml --json")["least_transmittance"]
        .as_f64()
        .unwrap();
    assert!(lenient < strict, "{lenient} {strict}");
    assert_eq!(value["ranges"]["absorber"]["found"], true);
}

#[test]
fn rank_sorts_grades_and_lists_what_it_cannot_read() {
    let folder = folder();
    let grades = folder.path().join("grades");
    fs::create_dir(&grades).unwrap();
    let spectra = |percent: f64| format!("nm;T 2 mm total [%]\n900;{percent}\n1000;{percent}\n");
    fs::write(grades.join("clear.csv"), spectra(90.0)).unwrap();
    fs::write(grades.join("dim.csv"), spectra(60.0)).unwrap();
    fs::write(grades.join("dark.csv"), spectra(1.0)).unwrap();
    fs::write(grades.join("notes.md"), "not a grade").unwrap();
    let output = lightseam(folder.path(), "rank joint.toml grades --out k");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let value = json(folder.path(), "rank joint.toml grades --json");
    let rows = value["grades"].as_array().unwrap();
    assert_eq!(rows.len(), 3);
    let names: Vec<&str> = rows
        .iter()
        .map(|it| it["grade"].as_str().unwrap())
        .collect();
    assert_eq!(names[2], "grades/dark.csv", "{names:?}");
    let drifts: Vec<f64> = rows
        .iter()
        .map(|it| it["drift_allowed"].as_f64().unwrap_or(-1.0))
        .collect();
    assert!(drifts.is_sorted_by(|a, b| b <= a), "{drifts:?}");
    let clear = rows
        .iter()
        .find(|it| it["grade"] == "grades/clear.csv")
        .unwrap();
    // 90 % through 2 mm; 1.5 mm of it pass a little more.
    let passes = clear["transmittance_in_air"].as_f64().unwrap();
    assert!(0.90 < passes && passes < 0.925, "{passes}");
    written(
        folder.path(),
        &["k/index.html", "k/grades.csv", "k/grades.svg"],
    );

    fs::write(
        grades.join("broken.csv"),
        "nm;T 2 mm total [%]\n900;sixty\n",
    )
    .unwrap();
    let partly = lightseam(folder.path(), "rank joint.toml grades grades/missing.csv");
    assert_eq!(partly.status.code(), Some(2), "{}", stderr(&partly));
    let text = stdout(&partly);
    for words in [
        "not ranked",
        "grades/broken.csv",
        "grades/missing.csv",
        "grades/clear.csv",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn a_card_as_grade_brings_its_own_heat() {
    let folder = folder();
    fs::copy(
        concat!(env!("CARGO_MANIFEST_DIR"), "/spectra/pa6/material.toml"),
        folder.path().join("pa6.toml"),
    )
    .unwrap();
    let value = json(folder.path(), "rank joint.toml pa6.toml --json");
    assert_eq!(value["grades"][0]["material"], "PA6, natural");
    assert_eq!(value["grades"][0]["pair"]["published"], "unknown");
}

/// Error texts, whole.
#[test]
fn bad_questions_are_refused_with_a_cure() {
    let folder = folder();
    fs::create_dir(folder.path().join("empty")).unwrap();
    for (words, text) in [
        (
            "tolerance joint.toml --samples 10",
            "error: --samples 10 is outside 1000 to 10000000\n  cure: 100000 is usual; a tenth gives a first look\n",
        ),
        (
            "require joint.toml --latitude \"95 %\"",
            "error: --latitude \"95 %\" is outside 0.1 % to 90 %\n  cure: write a share of the power such as --latitude \"15 %\", meaning ± 15 %\n",
        ),
        (
            "rank joint.toml empty",
            "error: cannot read empty: no file of spectra and no card is in it\n  cure: name a folder with files that end in csv, txt, tsv, dat, jdx, dx, jcm, toml\n",
        ),
    ] {
        let output = lightseam(folder.path(), words);
        assert_eq!(output.status.code(), Some(2), "{words}");
        assert_eq!(stderr(&output), text, "{words}");
    }
}

#[test]
fn two_cards_are_put_side_by_side() {
    let folder = folder();
    let output = lightseam(folder.path(), "materials pe-hd pom");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    for words in [
        "not weldable",
        "overlap of the melts",
        "solubility parameter",
    ] {
        assert!(
            stdout(&output).contains(words),
            "{words}: {}",
            stdout(&output)
        );
    }
    let unknown = lightseam(folder.path(), "materials pe-hd pon");
    assert_eq!(unknown.status.code(), Some(2));
}

/// `rank` says what the grades are welded to, and what the pair of polymers is.
#[test]
fn a_ranking_carries_the_pair() {
    let folder = folder();
    let output = lightseam(folder.path(), "rank joint.toml pmma pc --out r");
    let text = stdout(&output);
    let headline = text.lines().nth(1).unwrap();
    assert!(headline.starts_with("on PMMA"), "{headline}");
    assert!(
        headline.contains("pmma (PMMA on PMMA, same polymer)"),
        "{headline}"
    );
    let page = fs::read_to_string(folder.path().join("r/index.html")).unwrap();
    assert!(page.contains("lower part"));
}

/// However much light and heat forgive, a pair that a table speaks against is not named first.
#[test]
fn pairs_spoken_against_are_ranked_last() {
    let folder = folder();
    let joint = r#"
upper = { material = "pc", thickness = "1.5 mm" }
lower = { material = "pc", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "8 W" }
motion = { mode = "contour", speed = "20 mm/s" }
"#;
    fs::write(folder.path().join("pc.toml"), joint).unwrap();
    let value: serde_json::Value = serde_json::from_str(&stdout(&lightseam(
        folder.path(),
        "rank pc.toml pp pc --json",
    )))
    .unwrap();
    let grades = value["grades"].as_array().unwrap();
    let names: Vec<&str> = grades
        .iter()
        .filter_map(|it| it["grade"].as_str())
        .collect();
    assert_eq!(names, ["pc", "pp"], "{value}");
    let text = stdout(&lightseam(folder.path(), "rank pc.toml pp pc"));
    assert!(
        text.contains("first is pc (PC on PC, same polymer)"),
        "{text}"
    );
}

/// Without a machine no power is called the laser's.
#[test]
fn powers_looked_at_are_not_called_those_of_a_laser() {
    let folder = folder();
    let without: String = JOINT
        .lines()
        .filter(|it| !it.starts_with("machine"))
        .map(|it| format!("{it}\n"))
        .collect();
    fs::write(folder.path().join("none.toml"), without).unwrap();
    let words = "require none.toml --latitude \"15 %\"";
    let output = lightseam(folder.path(), &format!("{words} --out q"));
    let text = stdout(&output);
    assert!(
        text.contains("no laser stated: powers looked at 0.375 W to 96.0 W"),
        "{text}"
    );
    assert!(
        !text.contains("laser power") && !text.contains("this laser"),
        "{text}"
    );
    let page = fs::read_to_string(folder.path().join("q/index.html")).unwrap();
    assert!(!page.contains("this laser"));
    let value = json(folder.path(), &format!("{words} --json"));
    assert!(value["laser_power_w"].is_null());
    assert_eq!(value["power_looked_at_w"], serde_json::json!([0.375, 96.0]));
    let stated = json(
        folder.path(),
        "require joint.toml --latitude \"15 %\" --json",
    );
    assert_eq!(stated["laser_power_w"], serde_json::json!([0.5, 60.0]));
}

/// Where a window goes on with powers the machine does not have, it says as far as was looked.
#[test]
fn settings_at_other_powers_say_how_far_powers_were_looked_at() {
    let folder = folder();
    let weak = JOINT.replace("\"60 W\"]", "\"8 W\"]");
    fs::write(folder.path().join("weak.toml"), weak).unwrap();
    let text = stdout(&lightseam(folder.path(), "window weak.toml"));
    let line = text
        .lines()
        .find(|it| it.contains("speeds that weld"))
        .unwrap();
    assert!(
        line.contains("with powers the machine does not have, of 0.125 W to 32.0 W looked at"),
        "{line}"
    );
}

/// Which welds a chance is of, and how many were drawn of those asked for.
#[test]
fn tolerance_tells_its_two_chances_apart_and_what_was_drawn() {
    let folder = folder();
    // Inside its window, but not far, so that a tighter input helps.
    let joint = JOINT.replace("power = \"6 W\" }", "power = \"9 W\" }");
    fs::write(folder.path().join("near.toml"), joint).unwrap();
    let output = lightseam(folder.path(), "tolerance near.toml --samples 3000 --no-map");
    let text = stdout(&output);
    let tighter = text.lines().find(|it| it.contains("hold tighter")).unwrap();
    assert!(
        tighter.contains("both are of one half of the welds drawn"),
        "{tighter}"
    );
    let value = json(
        folder.path(),
        "tolerance near.toml --samples 3000 --no-map --json",
    );
    assert_eq!(value["most_welds"], 3000);
    let welds = value["welds"].as_u64().unwrap();
    assert!((1500..3000).contains(&welds), "{welds}");
    assert!(
        text.contains(&format!("{welds} (at most 3000 asked for")),
        "{text}"
    );
    let (half, all) = (
        &value["chance_before_halving"]["trials"],
        &value["chance_of_sound"]["trials"],
    );
    assert!(
        tighter.contains(&format!("drawn ({half}), while ")),
        "{tighter}"
    );
    assert!(tighter.contains(&format!("is of all {all}")), "{tighter}");
}

/// A simultaneous weld is set by W/mm² and time, and so is everything said of it.
#[test]
fn tolerance_of_a_simultaneous_weld_is_told_in_its_own_units() {
    let folder = folder();
    let shot = r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "80 mm", width = "1.5 mm", power_density = "0.3 W/mm2" }
motion = { mode = "simultaneous", time = "1.5 s" }
machine = { power = ["5 W", "400 W"], time = ["0.2 s", "8 s"] }
uncertainty = { power = "3 %", time = "2 %" }
"#;
    fs::write(folder.path().join("shot.toml"), shot).unwrap();
    let output = lightseam(folder.path(), "tolerance shot.toml --samples 2000 --out t");
    let text = stdout(&output);
    let best = text
        .lines()
        .find(|it| it.contains("best setpoint"))
        .unwrap();
    assert!(best.contains("W/mm² at "), "{best}");
    assert!(text.contains("; time ± 2.0 %"), "{text}");
    assert!(!text.contains("speed"), "{text}");
    let page = fs::read_to_string(folder.path().join("t/index.html")).unwrap();
    assert!(page.contains("Chance over power and time") && !page.contains("feed rate"));
    let svg = fs::read_to_string(folder.path().join("t/chance.svg")).unwrap();
    assert!(svg.contains("Power density at the part, W/mm²"));
    let table = fs::read_to_string(folder.path().join("t/chance.csv")).unwrap();
    assert!(table.contains("Power density at the part (W/mm²)"));
}

/// Without light there is no hottest point.
#[test]
fn a_weld_without_power_has_no_hottest_point() {
    let folder = folder();
    let dark = JOINT.replace("power = \"6 W\" }", "power = \"0 W\" }");
    fs::write(folder.path().join("dark.toml"), dark).unwrap();
    let output = lightseam(folder.path(), "weld dark.toml --cross-section");
    let text = stdout(&output);
    assert!(
        text.contains("none: nothing gets warmer than the 23 °C it starts with"),
        "{text}"
    );
    assert!(!text.contains("across: hottest point"), "{text}");
}
