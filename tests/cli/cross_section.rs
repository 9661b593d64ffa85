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
