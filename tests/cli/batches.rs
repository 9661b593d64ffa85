//! Folders of files as they come: limits that nobody can judge, files twice, files that cannot be read.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{lightseam, starter_with_colours, stderr, stdout};

fn json(folder: &Path, words: &str, code: i32) -> Value {
    let output = lightseam(folder, &format!("{words} --json"));
    assert_eq!(output.status.code(), Some(code), "{}", stderr(&output));
    serde_json::from_str(&stdout(&output)).unwrap()
}

fn refusal(folder: &Path, words: &str) -> String {
    let output = lightseam(folder, words);
    assert_eq!(output.status.code(), Some(2), "{}", stdout(&output));
    assert!(stdout(&output).is_empty(), "{}", stdout(&output));
    stderr(&output)
}

/// The lots of the starter cut off behind the visible.
fn visible_alone(folder: &Path, lot: &str) -> String {
    let path = folder.join(format!("s/colour/batches/{lot}.csv"));
    let text = fs::read_to_string(path).unwrap();
    let kept = |line: &&str| {
        let first = line.split(';').next().unwrap();
        first.parse::<f64>().map_or(true, |nm| nm <= 780.0)
    };
    text.lines()
        .filter(kept)
        .map(|it| format!("{it}\n"))
        .collect()
}

fn names(value: &Value) -> Vec<&str> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it.as_str().unwrap())
        .collect()
}

#[test]
fn a_limit_that_needs_an_option_is_refused_without_it() {
    let folder = starter_with_colours();
    for (limit, missing, cure) in [
        ("dE00 <= 1", "there is no standard", "--standard FILE"),
        ("latitude >= 2", "there is no joint", "--joint JOINT"),
        (
            "retained >= 70 %",
            "there is no natural grade",
            "--natural FILE",
        ),
    ] {
        let said = refusal(
            folder.path(),
            &format!("colour s/colour/batches --limit \"{limit}\""),
        );
        let key = limit.split(' ').next().unwrap();
        let begins = format!("error: the limit of {key} cannot be judged: {missing}");
        assert!(said.starts_with(&begins), "{said}");
        assert!(
            said.contains(&format!("cure: {key} needs {cure}")),
            "{said}"
        );
    }
}

#[test]
fn a_limit_of_what_no_file_shows_is_refused() {
    let folder = starter_with_colours();
    let rows: String = (0..=40)
        .map(|i| format!("{};{}\n", 380 + 10 * i, 5.5))
        .collect();
    fs::write(folder.path().join("r.csv"), format!("nm;R [%]\n{rows}")).unwrap();
    for (limit, missing) in [
        ("T >= 60 %", "lets the laser through at 980 nm"),
        ("extinction <= 0.3 /mm", "lets the laser through at 980 nm"),
        ("opacity >= 98 %", "over black and over white"),
    ] {
        let said = refusal(folder.path(), &format!("colour r.csv --limit \"{limit}\""));
        assert!(
            said.contains("cannot be judged") && said.contains(missing) && said.contains("cure:"),
            "{said}"
        );
    }
}

#[test]
fn a_batch_whose_limit_is_not_known_does_not_pass() {
    let folder = starter_with_colours();
    fs::create_dir(folder.path().join("lots")).unwrap();
    let lot = |name: &str| folder.path().join(format!("lots/{name}"));
    fs::write(lot("lot-01.csv"), visible_alone(folder.path(), "lot-01")).unwrap();
    for name in ["lot-02.csv", "lot-03.csv"] {
        let from = folder.path().join(format!("s/colour/batches/{name}"));
        fs::copy(from, lot(name)).unwrap();
    }
    let found = json(folder.path(), "colour lots --limit \"T >= 60 %\"", 2);
    assert_eq!(names(&found["unjudged"]), ["lot-01"]);
    assert!(names(&found["outside"]).is_empty());
    assert_eq!(names(&found["batches"][0]["unjudged"]), ["T"]);
    let headline = found["answer"].as_str().unwrap();
    assert!(
        headline.ends_with("not judged by every limit: lot-01"),
        "{headline}"
    );
    // Without the limit nothing is wrong with it.
    json(folder.path(), "colour lots", 0);
    fs::remove_file(lot("lot-01.csv")).unwrap();
    json(folder.path(), "colour lots --limit \"T >= 60 %\"", 0);
    json(folder.path(), "colour lots --limit \"T >= 70 %\"", 1);
}

#[test]
fn files_that_cannot_be_read_or_followed_are_left_out_and_named() {
    let folder = starter_with_colours();
    fs::create_dir(folder.path().join("lots")).unwrap();
    let lot = |name: &str| folder.path().join(format!("lots/{name}"));
    fs::write(lot("lot-00.csv"), "no table\n").unwrap();
    fs::write(lot("lot-01.csv"), visible_alone(folder.path(), "lot-01")).unwrap();
    for name in ["lot-02.csv", "lot-03.csv"] {
        let from = folder.path().join(format!("s/colour/batches/{name}"));
        fs::copy(from, lot(name)).unwrap();
    }
    let words = "colour lots lots/nowhere.csv --joint s/black-joint.toml";
    let found = json(folder.path(), words, 2);
    let batches = found["batches"].as_array().unwrap();
    let kept: Vec<&str> = batches
        .iter()
        .map(|it| it["name"].as_str().unwrap())
        .collect();
    assert_eq!(kept, ["lot-02", "lot-03"]);
    assert!(batches.iter().all(|it| it["weld"]["verdict"] == "sound"));
    let left_out = found["left_out"].as_array().unwrap();
    let why = |file: &str, error: &str| {
        let row = left_out.iter().find(|it| it["file"] == file).unwrap();
        assert!(row["error"].as_str().unwrap().contains(error), "{row}");
        assert!(row["cure"].is_string(), "{row}");
    };
    assert_eq!(left_out.len(), 3);
    why("lots/lot-00.csv", "no table of numbers");
    why("lots/lot-01.csv", "not at 980 nm");
    why("lots/nowhere.csv", "cannot read");
    // In words, on the page, and each batch as if the others had not been there.
    let output = lightseam(folder.path(), &format!("{words} --out answer"));
    assert_eq!(output.status.code(), Some(2));
    let text = stdout(&output);
    assert!(text.contains("3 files are left out") && text.contains("lots/lot-00.csv"));
    let page = fs::read_to_string(folder.path().join("answer/index.html")).unwrap();
    assert!(page.contains("Files left out") && page.contains("lots/lot-00.csv"));
    let alone = json(
        folder.path(),
        "colour lots/lot-02.csv --joint s/black-joint.toml",
        0,
    );
    assert_eq!(alone["batches"][0]["weld"], batches[0]["weld"]);
    // Nothing left: the first error, as for one file.
    let said = refusal(folder.path(), "colour lots/lot-00.csv lots/nowhere.csv");
    assert!(said.starts_with("error: no table of numbers"), "{said}");
}

#[test]
fn a_file_named_twice_counts_once_and_a_copy_is_remarked() {
    let folder = starter_with_colours();
    let lid = "s/spectra/lid-1.0mm.csv";
    fs::copy(folder.path().join(lid), folder.path().join("copy.csv")).unwrap();
    // Plaques of one material: a copy tells nothing more, and must not narrow the errors.
    let alone = json(folder.path(), &format!("spectra {lid}"), 0);
    for words in [
        format!("spectra {lid} {lid}"),
        format!("spectra {lid} s/colour/../spectra/lid-1.0mm.csv"),
        format!("spectra {lid} copy.csv"),
    ] {
        let twice = json(folder.path(), &words, 0);
        assert_eq!(twice["lines"], alone["lines"], "{words}");
        let said = twice["warnings"].to_string();
        assert!(
            said.contains("counts once") || said.contains("same content"),
            "{said}"
        );
    }
    let rank = format!("rank s/joint.toml {lid} s/spectra/../spectra/lid-1.0mm.csv copy.csv");
    let ranked = json(folder.path(), &rank, 0);
    assert_eq!(ranked["grades"].as_array().unwrap().len(), 2);
    let said = ranked["warnings"].to_string();
    assert!(
        said.contains("is named more than once and counts once"),
        "{said}"
    );
    assert!(
        said.contains(&format!("{lid} and copy.csv have the same content")),
        "{said}"
    );
    // A batch: the copy may carry other words above its numbers.
    let first = "s/colour/batches/lot-01.csv";
    let text = fs::read_to_string(folder.path().join(first)).unwrap();
    let renamed = text.replacen("Sample;", "Sample;another ", 1);
    assert_ne!(renamed, text);
    fs::write(folder.path().join("lot-13.csv"), renamed).unwrap();
    let found = json(
        folder.path(),
        &format!("colour {first} {first} lot-13.csv"),
        0,
    );
    assert_eq!(found["batches"].as_array().unwrap().len(), 2);
    let said = found["warnings"].to_string();
    assert!(
        said.contains("counts once")
            && said.contains(&format!("{first} and lot-13.csv hold the same numbers")),
        "{said}"
    );
    let all = json(folder.path(), "colour s/colour/batches", 0);
    assert!(!all["warnings"].to_string().contains("same numbers"));
}

#[test]
fn rank_takes_the_names_of_built_in_cards() {
    let folder = starter_with_colours();
    let found = json(folder.path(), "rank s/joint.toml pp pc", 0);
    let mut ranked: Vec<&str> = found["grades"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["grade"].as_str().unwrap())
        .collect();
    ranked.sort_unstable();
    assert_eq!(ranked, ["pc", "pp"]);
    // As the file of the card does.
    fs::write(
        folder.path().join("pp.toml"),
        include_str!("../../spectra/pp/material.toml"),
    )
    .unwrap();
    let by_file = json(folder.path(), "rank s/joint.toml pp.toml", 0);
    let by_name = found["grades"].as_array().unwrap();
    let by_name = by_name.iter().find(|it| it["grade"] == "pp").unwrap();
    assert_eq!(by_file["grades"][0]["margin"], by_name["margin"]);
    let partly = json(folder.path(), "rank s/joint.toml pp paa6", 2);
    let row = &partly["not_ranked"][0];
    assert_eq!(
        row["error"],
        "cannot read paa6: there is no such file, folder or built-in card"
    );
    assert!(
        row["cure"]
            .as_str()
            .unwrap()
            .contains("did you mean `pa6`?")
    );
}

#[test]
fn a_run_on_one_side_of_the_mean_is_said_in_words() {
    let folder = starter_with_colours();
    fs::create_dir(folder.path().join("lots")).unwrap();
    for lot in 0..17 {
        let share = if lot < 8 { 4.5 } else { 5.0 } + 0.01 * f64::from(lot % 3);
        let rows: String = (0..=40)
            .map(|i| format!("{};{share}\n", 380 + 10 * i))
            .collect();
        let path = folder.path().join(format!("lots/lot-{lot}.csv"));
        fs::write(path, format!("nm;R [%]\n{rows}")).unwrap();
    }
    let text = stdout(&lightseam(folder.path(), "colour lots"));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("lot-16; 8 or more in a row above the mean, the last of them lot-16"),
        "{text}"
    );
}

#[test]
fn spectra_says_what_to_name_in_place_of_a_folder() {
    let folder = starter_with_colours();
    let said = refusal(folder.path(), "spectra s/spectra");
    assert!(
        said.contains("it is a folder") && said.contains("s/spectra/*.csv"),
        "{said}"
    );
}

#[test]
fn ranges_and_shares_are_refused_with_the_form_expected() {
    let folder = starter_with_colours();
    let map = "survey s/joint.toml --x power --y speed --field peak --x-range";
    for (words, cure) in [
        (format!("{map} \"1 W - 40 W\""), "write \"1 W .. 40 W\""),
        (format!("{map} \"1 W to 40 W\""), "write \"1 W .. 40 W\""),
        (
            format!("{map} \"40 W .. 1 W\""),
            "write the smaller value first: \"1 W .. 40 W\"",
        ),
        (
            format!("{map} \"40 W\""),
            "the smaller value, two points and the larger",
        ),
        (
            "require s/joint.toml --latitude 15".into(),
            "write --latitude \"15 %\" for ± 15 % of",
        ),
        (
            "require s/joint.toml --latitude 0.15".into(),
            "write --latitude \"15 %\" for ± 15 % of",
        ),
        (
            // (1.3 − 1) / (1.3 + 1) = 13.0 %.
            "require s/joint.toml --latitude 1.3".into(),
            "where 1.3 is the highest over the lowest power, --latitude \"13 %\"",
        ),
        (
            "require s/joint.toml --latitude 200".into(),
            "from 0.1 % to 90 %",
        ),
    ] {
        let said = refusal(folder.path(), &words);
        assert!(
            said.contains("cure:") && said.contains(cure),
            "{words}: {said}"
        );
    }
}

#[test]
fn a_report_does_not_go_among_the_files_it_is_made_from() {
    let folder = starter_with_colours();
    for words in [
        "colour s/colour/batches --out s/colour/batches",
        "colour s/colour/batches --out s/colour/../colour/batches",
        "rank s/joint.toml s/spectra --out s/spectra",
    ] {
        let said = refusal(folder.path(), words);
        let out = words.rsplit(' ').next().unwrap();
        let error = format!("error: files are read from {out}, which is no place for the report");
        assert!(said.starts_with(&error), "{said}");
        assert!(said.contains(&format!("such as {out}/answer")), "{said}");
        assert!(!folder.path().join(out).join("index.html").exists());
    }
    // What the cure names works, twice.
    let words = "colour s/colour/batches --out s/colour/batches/answer";
    for _ in 0..2 {
        let output = lightseam(folder.path(), words);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    }
}

/// A lot of the starter with its first columns alone.
fn columns_alone(folder: &Path, lot: &str, columns: usize) -> String {
    let path = folder.join(format!("s/colour/batches/{lot}.csv"));
    let text = fs::read_to_string(path).unwrap();
    let cut = |line: &str| {
        let cells: Vec<&str> = line.split(';').take(columns).collect();
        cells.join(";") + "\n"
    };
    text.lines().map(cut).collect()
}

#[test]
fn a_file_without_the_colour_of_the_others_is_left_out_and_named() {
    let folder = starter_with_colours();
    let words = "colour s/colour/batches --standard s/colour/standard.csv --limit \"dE00 <= 1\"";
    let whole = json(folder.path(), words, 1);
    let odd = columns_alone(folder.path(), "lot-05", 2);
    fs::write(folder.path().join("s/colour/batches/lot-05.csv"), odd).unwrap();
    let found = json(folder.path(), words, 2);
    // The others are as they were.
    let kept = found["batches"].as_array().unwrap();
    assert_eq!(kept.len(), 11);
    for batch in kept {
        let all = whole["batches"].as_array().unwrap();
        let before = all.iter().find(|it| it["name"] == batch["name"]).unwrap();
        assert_eq!(before["colours"], batch["colours"]);
        assert_eq!(before["values"]["dE00"], batch["values"]["dE00"]);
    }
    let row = &found["left_out"][0];
    assert_eq!(row["file"], "s/colour/batches/lot-05.csv");
    assert!(
        row["error"].as_str().unwrap().contains(
            "has no reflectance over black, which the others are compared by; it shows transmittance"
        ),
        "{row}"
    );
    assert!(row["cure"].as_str().unwrap().contains("as the others"));
}

#[test]
fn as_many_files_with_a_reflectance_as_without_are_refused_and_a_lesser_kind_is_remarked() {
    let folder = starter_with_colours();
    let lot = |name: &str| format!("s/colour/batches/{name}.csv");
    let odd = columns_alone(folder.path(), "lot-05", 2);
    fs::write(folder.path().join("odd.csv"), odd).unwrap();
    let said = refusal(folder.path(), &format!("colour {} odd.csv", lot("lot-01")));
    assert!(
        said.starts_with("error: odd.csv shows transmittance"),
        "{said}"
    );
    assert!(said.contains("cure: measure all plaques"), "{said}");
    // A transmittance alone is compared with its like.
    json(folder.path(), "colour odd.csv", 0);
    // With reflectance, though not over black: all have that.
    let own = columns_alone(folder.path(), "lot-06", 3);
    fs::write(folder.path().join("own.csv"), own).unwrap();
    let words = format!("colour {} {} own.csv", lot("lot-01"), lot("lot-02"));
    let found = json(folder.path(), &words, 0);
    assert_eq!(found["batches"].as_array().unwrap().len(), 3);
    let remarks = found["warnings"].to_string();
    assert!(
        remarks.contains("colours are compared by reflectance, which all files have; own.csv has no reflectance over black"),
        "{remarks}"
    );
}

/// Nor by its files one by one; and a folder that had a report before is read without its tables.
#[test]
fn files_of_a_folder_are_read_without_the_report_that_lies_among_them() {
    let folder = starter_with_colours();
    let lots = folder.path().join("s/colour/batches");
    let files: Vec<String> = (1..=12)
        .map(|i| format!("s/colour/batches/lot-{i:02}.csv"))
        .collect();
    for words in [
        format!("colour {} --out s/colour/batches", files.join(" ")),
        format!(
            "rank s/black-joint.toml {} --out s/colour/batches",
            files.join(" ")
        ),
    ] {
        let said = refusal(folder.path(), &words);
        assert!(said.contains("no place for the report"), "{said}");
    }
    let words = "colour s/colour/batches --standard s/colour/standard.csv";
    let clean = json(folder.path(), words, 0);
    // As older reports were left there.
    lightseam(folder.path(), &format!("{words} --out report"));
    for name in ["index.html", "batches.csv", "charts.csv"] {
        fs::copy(folder.path().join("report").join(name), lots.join(name)).unwrap();
    }
    let found = json(folder.path(), words, 0);
    assert_eq!(found["batches"], clean["batches"]);
    assert_eq!(found["left_out"], clean["left_out"]);
    let remarks = found["warnings"].to_string();
    assert!(
        remarks.contains("batches.csv and s/colour/batches/charts.csv are tables of a report"),
        "{remarks}"
    );
    let ranked = json(folder.path(), "rank s/black-joint.toml s/colour/batches", 0);
    assert_eq!(ranked["not_ranked"].as_array().unwrap().len(), 0);
    assert_eq!(ranked["grades"].as_array().unwrap().len(), 12);
    let said = refusal(folder.path(), "colour s/colour/batches/charts.csv");
    assert!(said.contains("it is a table of a report"), "{said}");
    // Without a page of ours beside it, it is a file that cannot be read.
    fs::remove_file(lots.join("index.html")).unwrap();
    let found = json(folder.path(), words, 2);
    assert_eq!(found["left_out"].as_array().unwrap().len(), 2);
}
