//! `compare`: three methods side by side, on the stack whose values are computed by discrete
//! ordinates, and as a newcomer would run it.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{lightseam, stderr, stdout};

/// Stack A: 2 mm of µa 0.05, µs 20, g 0.9 on 2 mm of µa 10, per mm, n = 1.5, in contact, 980 nm.
const STACK_A: &str = r#"
question = "Is the transmittance in air the light delivered?"
[upper]
material = "pa66"
thickness = "2 mm"
refractive_index = 1.5
absorption = "0.05 /mm"
scattering = "20 /mm"
anisotropy = 0.9
[lower]
material = "pa66"
thickness = "2 mm"
refractive_index = 1.5
absorption = "10 /mm"
[beam]
wavelength = "980 nm"
length = "2 mm"
width = "2 mm"
power = "90 W"
[motion]
mode = "contour"
speed = "30 mm/s"
"#;

/// Discrete ordinates, computed once for this stack (perfect contact, normal incidence): reflected,
/// absorbed above and below, transmittance of the upper part in air.
const REFLECTED: f64 = 0.41733;
const ABSORBED_UPPER: f64 = 0.27424;
const DELIVERED: f64 = 0.30843;
const IN_AIR: f64 = 0.223;

/// The same: share of the delivered flux left at a depth in mm, and by collimated Beer–Lambert.
const LEFT: [(f64, f64, f64); 5] = [
    (0.01, 0.851, 0.905),
    (0.02, 0.731, 0.819),
    (0.05, 0.474, 0.607),
    (0.1, 0.242, 0.368),
    (0.2, 0.069, 0.135),
];

fn folder(text: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("joint.toml"), text).unwrap();
    folder
}

fn json(folder: &Path, words: &str) -> Value {
    let output = lightseam(folder, words);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    serde_json::from_str(&stdout(&output)).unwrap()
}

fn method<'v>(value: &'v Value, name: &str) -> &'v Value {
    value["methods"]
        .as_array()
        .unwrap()
        .iter()
        .find(|it| it["method"] == name)
        .unwrap()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key}: {value}"))
}

#[test]
fn transmittance_in_air_is_not_the_light_delivered() {
    let folder = folder(STACK_A);
    let value = json(folder.path(), "compare joint.toml --json");
    let exact = method(&value, "adding-doubling");
    let plain = method(&value, "beer-lambert");
    for (found, expected, tolerance) in [
        (number(&value, "transmittance_in_air"), IN_AIR, 5e-4),
        (number(exact, "delivered_to_interface"), DELIVERED, 1e-4),
        (number(exact, "reflected"), REFLECTED, 1e-4),
        (number(exact, "absorbed_upper"), ABSORBED_UPPER, 1e-4),
        // 38 % more than in air.
        (
            number(exact, "delivered_to_interface") / number(&value, "transmittance_in_air"),
            1.38,
            0.005,
        ),
        // Light of one direction in a lower part of 10 /mm: 63 % within 0.1 mm.
        (number(plain, "heating_depth_um"), 100.0, 0.01),
    ] {
        assert!(
            (found - expected).abs() < tolerance,
            "{found} for {expected}"
        );
    }
    // The extinction is the one that gives the transmittance back, faces of n = 1.5 counted.
    let t = (-number(&value, "extinction_per_m") * 2e-3).exp();
    let back = 0.96f64.powi(2) * t / (1.0 - (0.04 * t).powi(2));
    assert!((back - number(&value, "transmittance_in_air")).abs() < 1e-12);
    // In contact a spreadsheet gives the front face alone: 0.96 t.
    assert!((number(plain, "delivered_to_interface") - 0.96 * t).abs() < 1e-9);
}

#[test]
fn diffuse_light_dies_faster() {
    let folder = folder(STACK_A);
    let output = lightseam(folder.path(), "compare joint.toml --out page");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    for name in [
        "index.html",
        "flux-depth.svg",
        "flux-depth.png",
        "flux-depth.csv",
        "methods.csv",
    ] {
        assert!(folder.path().join("page").join(name).is_file(), "{name}");
    }
    let text = fs::read_to_string(folder.path().join("page/flux-depth.csv")).unwrap();
    let rows: Vec<Vec<f64>> = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|it| it.parse().unwrap()).collect())
        .collect();
    let left = |column: usize, depth_um: f64| {
        let i = rows.iter().position(|row| depth_um <= row[0]).unwrap();
        let (a, b) = (&rows[i - 1], &rows[i]);
        let share = (depth_um - a[0]) / (b[0] - a[0]);
        (a[column].ln() * (1.0 - share) + b[column].ln() * share).exp() / rows[0][column]
    };
    for (depth_mm, exact, plain) in LEFT {
        for (column, expected) in [(3, exact), (1, plain)] {
            let found = left(column, 1e3 * depth_mm);
            // The table is printed to three digits and interpolated: 1e-3.
            assert!(
                (found - expected).abs() < 1e-3,
                "{depth_mm} mm: {found} for {expected}"
            );
        }
    }
    let page = fs::read_to_string(folder.path().join("page/index.html")).unwrap();
    assert!(page.contains("Three methods, one joint: light"));
}

#[test]
fn a_newcomer_reads_it() {
    let folder = folder(STACK_A);
    let output = lightseam(folder.path(), "compare joint.toml");
    let text = stdout(&output);
    assert!(
        text.contains("30.8 % of the light is delivered to the lower part"),
        "{text}"
    );
    assert!(text.contains("transmits 22.3 % in air"), "{text}");
    for words in [
        "beer-lambert",
        "two-flux",
        "adding-doubling",
        "Heating depth",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn a_clear_joint_needs_no_comparison() {
    let clear = STACK_A
        .replace("scattering = \"20 /mm\"\n", "")
        .replace("anisotropy = 0.9\n", "");
    let folder = folder(&clear);
    let output = lightseam(folder.path(), "compare joint.toml --json");
    assert!(stderr(&output).contains("no part of this joint scatters"));
    let value: Value = serde_json::from_str(&stdout(&output)).unwrap();
    let delivered: Vec<f64> = value["methods"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| number(it, "delivered_to_interface"))
        .collect();
    assert!(
        delivered.iter().all(|it| (it - delivered[2]).abs() < 1e-9),
        "{delivered:?}"
    );
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let opaque = STACK_A.replace("absorption = \"0.05 /mm\"", "absorption = \"60 /mm\"");
    let folder = folder(&opaque);
    let output = lightseam(folder.path(), "compare joint.toml");
    assert_eq!(output.status.code(), Some(2));
    let text = stderr(&output);
    assert!(
        text.contains("cannot be used here") && text.contains("cure:"),
        "{text}"
    );
    let output = lightseam(folder.path(), "compare nowhere.toml");
    assert_eq!(output.status.code(), Some(2));
}
