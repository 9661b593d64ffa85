//! `weld --cross-section` as a newcomer runs it: terminal, JSON, figure, page and tables.

use std::fs;

use serde_json::Value;

use crate::support::{lightseam, stderr, stdout};

#[test]
fn a_cross_section_is_said_drawn_and_written() {
    let folder = tempfile::tempdir().unwrap();
    lightseam(folder.path(), "new s");
    let output = lightseam(folder.path(), "weld s/joint.toml --cross-section --out out");
    assert_ne!(output.status.code(), Some(2), "{}", stderr(&output));
    assert!(
        stdout(&output).contains("across: seam width"),
        "{}",
        stdout(&output)
    );
    let read = |name: &str| fs::read_to_string(folder.path().join("out").join(name)).unwrap();
    let svg = read("cross-section.svg");
    for words in ["seam width", "interface", "melt of the lower part"] {
        assert!(svg.contains(words), "{words}");
    }
    assert!(read("index.html").contains("Across the seam"));
    assert!(read("cross-section.csv").contains("melt depth in the middle, lower part"));
    let peaks = read("cross-section-peaks.csv");
    assert!(20 < peaks.lines().count());
    assert!(folder.path().join("out/cross-section.png").exists());

    let text = stdout(&lightseam(
        folder.path(),
        "weld s/joint.toml --cross-section --json --threads 1",
    ));
    let value: Value = serde_json::from_str(&text).unwrap();
    let cut = &value["cross_section"];
    let number = |key: &str| {
        cut[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{key} of {cut}"))
    };
    assert!(0.0 < number("seam_width_um"));
    assert!(number("energy_residual").abs() < 1e-10);
    // In the middle nothing can be hotter than without loss sideways, but for both grids' error.
    let flat = value["interface_peak_c"].as_f64().unwrap();
    assert!(number("interface_peak_c") < flat + 0.01 * (flat - 23.0));
    assert_eq!(
        cut["one_dimension"]["lower_melt_depth_um"],
        value["lower_melt_depth_um"]
    );
    // The same to the last digit on any number of threads.
    let again = stdout(&lightseam(
        folder.path(),
        "weld s/joint.toml --cross-section --json --threads 3",
    ));
    assert_eq!(text, again);
    // Without asking, nothing of it.
    let plain = stdout(&lightseam(folder.path(), "weld s/joint.toml --json"));
    assert!(!plain.contains("cross_section"));
}

/// Over a gap the section says how far it closed; held open, that there is no seam and what to do.
#[test]
fn a_gap_closes_in_the_section_or_is_said_to_stay_open() {
    let folder = tempfile::tempdir().unwrap();
    let joint = |contact: &str| {
        format!(
            r#"
upper = {{ material = "pc", thickness = "2 mm" }}
lower = {{ material = "pc", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.1 %" }} }}
contact = {{ {contact} }}
beam = {{ wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "16 W" }}
motion = {{ mode = "contour", speed = "20 mm/s" }}
"#
        )
    };
    let path = folder.path().join("joint.toml");
    fs::write(&path, joint("gap = \"20 µm\"")).unwrap();
    let output = lightseam(folder.path(), "weld joint.toml --cross-section --out out");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let text = stdout(&output);
    assert!(text.contains("across: width over which the parts met"));
    let svg = fs::read_to_string(folder.path().join("out/cross-section.svg")).unwrap();
    assert!(svg.contains("The gap closes over"));

    fs::write(&path, joint("gap = \"2 µm\", closure = \"none\"")).unwrap();
    let output = lightseam(folder.path(), "weld joint.toml --cross-section --json");
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    assert!(stderr(&output).contains("leave that out to let them swell"));
    let value: Value = serde_json::from_str(&stdout(&output)).unwrap();
    assert_eq!(value["verdict"], "unfused");
    assert_eq!(value["governing_criterion"], "gap_closure");
    let cut = &value["cross_section"];
    assert_eq!(cut["seam_width_um"], 0.0);
    assert_eq!(cut["gap_closed_width_um"], 0.0);
    assert!(cut["gap_swelling_um"].is_null());
    assert!(0.0 < cut["upper_melt_width_um"].as_f64().unwrap());
}

/// Where the run ends before the laser-side surface is hottest, what it did is said all the same, with
/// the most it can come to; and the warning about heat that leaves sideways names it.
#[test]
fn the_surface_of_a_quasi_simultaneous_weld_is_told_though_its_peak_comes_later() {
    let folder = tempfile::tempdir().unwrap();
    let joint = r#"
upper = { material = "pc", thickness = "2 mm" }
lower = { material = "pc", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "60 W" }
motion = { mode = "quasi-simultaneous", path_length = "180 mm", speed = "2 m/s", passes = 60 }
"#;
    fs::write(folder.path().join("joint.toml"), joint).unwrap();
    let output = lightseam(folder.path(), "weld joint.toml --cross-section --out out");
    assert_ne!(output.status.code(), Some(2), "{}", stderr(&output));
    let text = stdout(&output);
    let line = text
        .lines()
        .find(|it| it.contains("across: laser-side surface, until the run ended"))
        .unwrap_or_else(|| panic!("{text}"));
    assert!(line.contains("its peak may come later") && line.contains("in one dimension"));
    let said = stderr(&output);
    assert!(
        said.contains("heat also leaves sideways")
            && said.contains("the laser-side surface stays cooler than"),
        "{said}"
    );
    let page = fs::read_to_string(folder.path().join("out/index.html")).unwrap();
    assert!(page.contains("The laser-side surface had reached"));
    let table = fs::read_to_string(folder.path().join("out/cross-section.csv")).unwrap();
    assert!(table.contains("until the run ended"), "{table}");

    let output = lightseam(folder.path(), "weld joint.toml --cross-section --json");
    let value: Value = serde_json::from_str(&stdout(&output)).unwrap();
    let cut = &value["cross_section"];
    assert!(cut["laser_side_peak_c"].is_null(), "{cut}");
    assert_eq!(cut["laser_side_peak_is_final"], false);
    let number = |key: &str| cut[key].as_f64().unwrap();
    // Warmer than the room, and no warmer than what was hottest at the end.
    assert!(24.0 < number("laser_side_until_end_c"));
    assert!(number("laser_side_until_end_c") < number("laser_side_at_most_c"));
    assert_eq!(number("laser_side_at_most_c"), number("final_above_c"));
    // In one dimension nothing is lost sideways: hotter still.
    let flat = cut["one_dimension"]["laser_side_peak_c"].as_f64().unwrap();
    assert_eq!(flat, value["laser_side_peak_c"].as_f64().unwrap());
    assert!(number("laser_side_until_end_c") < flat);
}

/// A seam that loses so much heat sideways that the cross-section misses a limit is not called sound:
/// headline, page, JSON and exit code say so.
#[test]
fn a_limit_missed_across_the_seam_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let joint = r#"
upper = { material = "pp", thickness = "2 mm" }
lower = { material = "pp", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", shape = "top-hat", length = "2 mm", width = "2 mm", power = "60 W" }
motion = { mode = "quasi-simultaneous", path_length = "200 mm", speed = "2 m/s", passes = 30 }
"#;
    fs::write(folder.path().join("joint.toml"), joint).unwrap();
    let plain = lightseam(folder.path(), "weld joint.toml");
    assert_eq!(plain.status.code(), Some(0), "{}", stdout(&plain));
    // Without a question the answer stands in the first line.
    assert!(stdout(&plain).starts_with("sound: "), "{}", stdout(&plain));

    let cut = lightseam(folder.path(), "weld joint.toml --cross-section --out out");
    assert_eq!(cut.status.code(), Some(1));
    let words = "across the seam it is not sound: melt depth, upper part is ";
    let said = stdout(&cut);
    assert!(
        said.lines().nth(1).is_some_and(|it| it.starts_with(words)),
        "{said}"
    );
    let page = fs::read_to_string(folder.path().join("out/index.html")).unwrap();
    // Beside the verdict and in the part on the cross-section.
    assert!(2 <= page.matches(words).count());
    let json = stdout(&lightseam(
        folder.path(),
        "weld joint.toml --cross-section --json",
    ));
    let value: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["cross_section"]["missed"][0], "upper_melt_depth");
}
