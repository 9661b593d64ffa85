//! `report`: the page on one joint, two joints side by side, and the same as JSON.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{lightseam, starter, stderr, stdout};

/// A joint that is followed quickly: clear on black.
fn joint(thickness: &str, power: &str) -> String {
    format!(
        r#"
question = "Does the clear lid weld?"
upper = {{ material = "pmma", thickness = "{thickness}" }}
lower = {{ material = "pmma", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.3 %" }} }}
beam = {{ wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "{power}" }}
motion = {{ mode = "contour", speed = "50 mm/s" }}
machine = {{ power = ["0.5 W", "60 W"], speed = ["5 mm/s", "200 mm/s"] }}
"#
    )
}

fn write(folder: &Path, name: &str, text: &str) {
    fs::write(folder.join(name), text).unwrap();
}

fn json_of(folder: &Path, name: &str) -> Value {
    serde_json::from_str(&fs::read_to_string(folder.join(name)).unwrap()).unwrap()
}

#[test]
fn one_joint_has_one_page_with_all_that_it_rests_on() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    write(at, "lid.toml", &joint("1.5 mm", "12 W"));
    let output = lightseam(at, "report lid.toml");
    assert!(output.status.code().unwrap() < 2, "{}", stderr(&output));
    let page = fs::read_to_string(at.join("reports/lid/index.html")).unwrap();
    // Question and answer come before every figure, figures before inputs, inputs before settings.
    let place = |words: &str| page.find(words).unwrap_or_else(|| panic!("no `{words}`"));
    let order = [
        "<h1>Does the clear lid weld?</h1>",
        "class=\"headline\"",
        "<h2>The window</h2>",
        "<h2>The weld at the setpoint of the joint file</h2>",
        "<h2>The weld at the recommended setpoint</h2>",
        "<h2>The light in the upper part</h2>",
        "<h2>What it rests on</h2>",
        "<h2>How it was computed</h2>",
        "<h2>Cautions</h2>",
    ]
    .map(place);
    assert!(order.is_sorted(), "{order:?}");
    // Hover values are plain titles; nothing is fetched or run.
    assert!(page.contains("<title>"));
    for outside in [
        "<script",
        "src=\"http",
        "href=\"http",
        "@import",
        "url(http",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    for printed in ["@page", "size: A4", "@bottom-left", "break-inside: avoid"] {
        assert!(page.contains(printed), "{printed}");
    }
    // Each name is one figure: the two welds do not overwrite each other.
    for file in [
        "window",
        "temperature-depth",
        "recommended-temperature-depth",
    ] {
        for ending in ["svg", "png", "csv"] {
            let file = at.join(format!("reports/lid/{file}.{ending}"));
            assert!(file.is_file(), "{}", file.display());
        }
    }
    let told = json_of(at, "reports/lid/report.json");
    let weld: Value =
        serde_json::from_str(&stdout(&lightseam(at, "weld lid.toml --json"))).unwrap();
    assert_eq!(told["weld"]["margin"], weld["margin"]);
    let window: Value =
        serde_json::from_str(&stdout(&lightseam(at, "window lid.toml --json"))).unwrap();
    assert_eq!(told["window"]["setpoint"], window["setpoint"]);
    assert_eq!(told["question"], "Does the clear lid weld?");
    assert_eq!(told["seed"], 20_261_125);
    let settings = told["sections"].as_array().unwrap().last().unwrap();
    let rows = settings["tables"][0]["rows"].as_array().unwrap();
    let setting = |name: &str| rows.iter().any(|it| it["Setting"] == name);
    for name in [
        "Light, method",
        "Heat, grid",
        "Heat, steps",
        "Heat, tolerance",
    ] {
        assert!(setting(name), "{name}");
    }
}

#[test]
fn two_joints_differ_only_where_they_do() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    write(at, "a.toml", &joint("1.5 mm", "12 W"));
    write(at, "b.toml", &joint("2.5 mm", "12 W"));
    let output = lightseam(at, "report a.toml b.toml --out both");
    assert!(output.status.code().unwrap() < 2, "{}", stderr(&output));
    let differ = fs::read_to_string(at.join("both/inputs-that-differ.csv")).unwrap();
    let rows: Vec<&str> = differ.lines().skip(1).collect();
    assert_eq!(rows.len(), 1, "{differ}");
    assert!(rows[0].starts_with("\"Upper part, thickness\",1.5 mm,2.5 mm"));
    let told = json_of(at, "both/report.json");
    // What stands side by side is what each joint has alone.
    for (key, file) in [("a", "a.toml"), ("b", "b.toml")] {
        let alone = lightseam(at, &format!("weld {file} --json"));
        let alone: Value = serde_json::from_str(&stdout(&alone)).unwrap();
        assert_eq!(told[key]["weld"]["margin"], alone["margin"]);
    }
    let sides = &told["tables_behind_figures"]["side-by-side"]["rows"];
    let delivered = sides
        .as_array()
        .unwrap()
        .iter()
        .find(|it| it["Answer"] == "light delivered to the interface")
        .unwrap();
    assert_ne!(delivered["A"], delivered["B"]);
    // Both setpoints are named in the figure, in whole, and so are the files.
    let windows = fs::read_to_string(at.join("both/windows.svg")).unwrap();
    assert!(windows.contains(">A: a.toml; B: b.toml</text>"));
    for letter in ["A", "B"] {
        assert!(windows.contains(&format!(">{letter}</text>")), "{letter}");
        let start = format!("{letter} recommended: ");
        let mut texts = windows
            .split("</text>")
            .filter_map(|it| it.rsplit('>').next());
        let whole = texts.find(|it| it.starts_with(&start)).unwrap();
        assert!(
            whole.contains(" W, ") && whole.ends_with(" mm/s"),
            "{whole}"
        );
    }

    // A joint beside itself: nothing differs, and no winner.
    let output = lightseam(at, "report a.toml a.toml --out same");
    assert!(stdout(&output).starts_with("A and B tolerate the same"));
    let page = fs::read_to_string(at.join("same/index.html")).unwrap();
    assert!(page.contains("Nothing: all "));
}

#[test]
fn three_joints_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let output = lightseam(folder.path(), "report a.toml b.toml c.toml");
    assert_eq!(output.status.code(), Some(2));
    assert!(!folder.path().join("reports").exists());
}

/// A page lists what the files state, and not the setpoint that was found, as stated.
#[test]
fn pages_of_windows_list_what_the_files_state() {
    let folder = starter();
    for words in [
        "window s/joint.toml --out w",
        "window s/joint.toml --against gap --out w",
    ] {
        let output = lightseam(folder.path(), words);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        let page = std::fs::read_to_string(folder.path().join("w/index.html")).unwrap();
        let at = page.find("Power at the part</").unwrap();
        let row = &page[at..at + page[at..].find("</tr>").unwrap()];
        let text: String = row
            .split('<')
            .filter_map(|it| it.split_once('>'))
            .map(|it| it.1)
            .collect();
        assert!(text.contains('7') && text.contains("joint file"), "{text}");
        assert!(!text.contains('.'), "{text}");
    }
}

/// The same joint, its spot running many times along a path.
fn quasi(power: &str) -> String {
    joint("1.5 mm", power)
        .replace(
            "mode = \"contour\", speed = \"50 mm/s\"",
            "mode = \"quasi-simultaneous\", path_length = \"150 mm\", speed = \"1.5 m/s\", passes = 30",
        )
        .replace("speed = [\"5 mm/s\", \"200 mm/s\"]", "passes = [2, 60]")
        .replace("\"60 W\"]", "\"150 W\"]")
}

/// Two joints that are set by different things are each told in their own words, on their own axes.
#[test]
fn joints_of_two_modes_are_told_by_what_each_is_set_by() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    write(at, "a.toml", &joint("1.5 mm", "12 W"));
    write(at, "b.toml", &quasi("40 W"));
    let output = lightseam(at, "report a.toml b.toml --out both");
    assert!(output.status.code().unwrap() < 2, "{}", stderr(&output));
    let told = stdout(&output);
    assert!(told.contains("over power and speed, it"), "{told}");
    assert!(told.contains("over power and passes, it"), "{told}");
    let first = told.lines().next().unwrap();
    assert!(
        first.contains("power and speed") && first.contains("power and passes"),
        "{first}"
    );
    let page = fs::read_to_string(at.join("both/index.html")).unwrap();
    assert!(page.contains("Over power and speed (A), power and passes (B)"));
    assert!(page.contains("Each on its own axes") && !page.contains("On shared axes"));
    // The first pulse lasts 0.8 ms, and is there; so is the word on passes that are not.
    let course = fs::read_to_string(at.join("both/interface-time.svg")).unwrap();
    assert!(course.contains(">0.1</text>"), "the axis begins too late");
    assert!(course.contains("B: Passes 2 to 22 are spread evenly"));

    write(at, "c.toml", &quasi("50 W"));
    lightseam(at, "report b.toml c.toml --out passes");
    let course = fs::read_to_string(at.join("passes/interface-time.svg")).unwrap();
    assert!(course.contains("Time since the first light reached the point, s"));
    assert!(course.contains("A and B: Passes 2 to 22 are spread evenly"));
    let page = fs::read_to_string(at.join("passes/index.html")).unwrap();
    assert!(page.contains("Over power and passes<") && page.contains("On shared axes"));
    lightseam(at, "report b.toml --out one");
    let page = fs::read_to_string(at.join("one/index.html")).unwrap();
    assert!(page.contains("Over power and passes, it") && !page.contains("power and speed"));
}

/// Trials of passes are drawn over passes, and their caption says so.
#[test]
fn trials_of_passes_are_captioned_by_passes() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    write(at, "q.toml", &quasi("40 W"));
    write(
        at,
        "trials.csv",
        "Run,Power (W),Passes,Fused (yes or no)\n1,60,30,yes\n2,20,30,no\n3,50,30,yes\n",
    );
    let output = lightseam(at, "calibrate q.toml trials.csv --out c");
    assert!(output.status.code().unwrap() < 2, "{}", stderr(&output));
    let page = fs::read_to_string(at.join("c/index.html")).unwrap();
    assert!(page.contains("Power set against passes, with the trials."));
}
