//! Every command as a newcomer runs it, in an empty folder: output, files, exit codes.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{lightseam, starter, stderr, stdout};

fn json(folder: &Path, words: &str) -> Value {
    serde_json::from_str(&stdout(&lightseam(folder, words))).unwrap()
}

#[test]
fn without_a_command_it_says_what_it_can_do() {
    let folder = tempfile::tempdir().unwrap();
    let output = lightseam(folder.path(), "");
    assert_eq!(output.status.code(), Some(0));
    for command in [
        "demo",
        "new",
        "weld",
        "window",
        "survey",
        "materials",
        "spectra",
        "compare",
    ] {
        assert!(stdout(&output).contains(command), "{command}");
    }
    assert_eq!(lightseam(folder.path(), "wled x").status.code(), Some(2));
}

#[test]
fn the_demo_answers_and_says_where_it_wrote() {
    let folder = tempfile::tempdir().unwrap();
    let output = lightseam(folder.path(), "demo");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let text = stdout(&output);
    for words in [
        "it welds",
        "W at",
        "latitude",
        "lower side set by",
        "upper side set by",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert!(stderr(&output).contains("reports/demo/index.html"));
    let page = fs::read_to_string(folder.path().join("reports/demo/index.html")).unwrap();
    for outside in [
        "<script",
        "src=\"http",
        "href=\"http",
        "@import",
        "url(http",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    for figure in [
        "window",
        "temperature-depth",
        "temperature-time",
        "latitude-wavelength-thickness",
        "latitude-speed-thickness",
        "latitude-wavelength-speed",
    ] {
        for ending in ["svg", "png", "csv"] {
            let path = folder
                .path()
                .join(format!("reports/demo/{figure}.{ending}"));
            assert!(
                200 < fs::metadata(&path).unwrap().len(),
                "{}",
                path.display()
            );
        }
    }
}

#[test]
fn the_starter_runs_at_once_and_is_never_overwritten() {
    let folder = starter();
    let weld = lightseam(folder.path(), "weld s/joint.toml");
    assert!(weld.status.code() < Some(2), "{}", stderr(&weld));
    let again = lightseam(folder.path(), "new s");
    assert_eq!(again.status.code(), Some(2));
    assert!(
        stderr(&again).contains("already exists"),
        "{}",
        stderr(&again)
    );
}

/// The keys of `weld --json` that others build on.
#[test]
fn weld_json_has_the_promised_keys() {
    let folder = starter();
    let weld = json(folder.path(), "weld s/joint.toml --json");
    for key in [
        "verdict",
        "governing_criterion",
        "margin",
        "interface_peak_c",
        "body_peak_c",
        "body_peak_depth_um",
        "laser_side_peak_c",
        "upper_melt_depth_um",
        "lower_melt_depth_um",
        "time_above_flow_s",
        "damage_fraction",
        "reflected",
        "transmitted",
        "absorbed_upper",
        "absorbed_lower",
        "delivered_to_interface",
        "energy_residual",
        "warnings",
    ] {
        assert!(weld.get(key).is_some(), "{key}");
    }
    let share = |key: &str| weld[key].as_f64().unwrap();
    let sum = share("reflected")
        + share("transmitted")
        + share("absorbed_upper")
        + share("absorbed_lower");
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    assert!(share("energy_residual").abs() < 1e-6);
}

#[test]
fn exit_codes_tell_sound_from_not_sound_from_no_answer() {
    let folder = starter();
    let window = json(folder.path(), "window s/joint.toml --json");
    let at = |key: &str| window["setpoint"][key].as_f64().unwrap();
    let (power, speed) = (at("power_w"), 1e3 * at("speed_m_per_s"));
    let text = fs::read_to_string(folder.path().join("s/joint.toml")).unwrap();
    let pose = |power: String| {
        let posed = text
            .replace("power  = \"7 W\"", &format!("power = \"{power}\""))
            .replace("speed = \"40 mm/s\"", &format!("speed = \"{speed} mm/s\""));
        assert_ne!(posed, text, "the starter has other words now");
        fs::write(folder.path().join("s/posed.toml"), posed).unwrap();
        lightseam(folder.path(), "weld s/posed.toml --json")
    };
    assert_eq!(pose(format!("{power} W")).status.code(), Some(0));
    assert_eq!(pose(format!("{} W", 0.2 * power)).status.code(), Some(1));
    let refused = pose("seven W".into());
    assert_eq!(refused.status.code(), Some(2));
    let message = stderr(&refused);
    assert!(
        message.contains("s/posed.toml, line ") && message.contains("cure:"),
        "{message}"
    );
    assert!(stdout(&refused).is_empty());
}

#[test]
fn any_two_axes_make_a_map() {
    let folder = starter();
    for (x, y, field) in [
        ("power", "speed", "margin"),
        ("absorber", "power", "peak"),
        ("thickness", "absorber", "latitude"),
    ] {
        let words =
            format!("survey s/joint.toml --x {x} --y {y} --field {field} --cells 4x3 --json");
        let map = json(folder.path(), &words);
        assert_eq!(map["cells"].as_array().unwrap().len(), 3);
        assert_eq!(map["cells"][0].as_array().unwrap().len(), 4);
    }
    let range = "survey s/joint.toml --x wavelength --x-range \"900 nm .. 1000 nm\" --y speed --cells 3x2 --json";
    let map = json(folder.path(), range);
    assert_eq!(map["x_values_si"][0].as_f64(), Some(900e-9));
    for refused in [
        "survey s/joint.toml --x power --y speed",
        "survey s/joint.toml --x speed --y speed --field peak",
        "survey s/joint.toml --x speed --y power --field peak --x-range \"5 mm/s\"",
        "survey s/joint.toml --cells 1x9999",
    ] {
        let output = lightseam(folder.path(), refused);
        assert_eq!(output.status.code(), Some(2), "{refused}");
        assert!(stderr(&output).contains("cure:"), "{}", stderr(&output));
    }
}

#[test]
fn cards_are_listed_and_printed_with_their_sources() {
    let folder = tempfile::tempdir().unwrap();
    let list = stdout(&lightseam(folder.path(), "materials"));
    let card = stdout(&lightseam(folder.path(), "materials pbt-gf30"));
    assert!(list.contains("pbt-gf30") && list.contains("peek"));
    for words in ["Conductivity", "FDS Validation Guide", "published", "Fume"] {
        assert!(card.contains(words), "{words}: {card}");
    }
    let unknown = lightseam(folder.path(), "materials pbtt");
    assert_eq!(unknown.status.code(), Some(2));
    assert!(stderr(&unknown).contains("did you mean `pbt`"));
}

#[test]
fn threads_change_nothing() {
    let folder = starter();
    let on = |threads: &str| {
        stdout(&lightseam(
            folder.path(),
            &format!("window s/joint.toml --json --threads {threads}"),
        ))
    };
    assert_eq!(on("1"), on("3"));
}

/// Nothing is written outside `--out`.
#[test]
fn without_out_nothing_is_written() {
    let folder = starter();
    let before = fs::read_dir(folder.path()).unwrap().count();
    lightseam(folder.path(), "weld s/joint.toml");
    lightseam(folder.path(), "materials");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), before);
}

/// Beyond the spectra of the lid there is no answer, which is not the same as no sound power.
#[test]
fn a_map_beyond_the_data_says_so() {
    let folder = starter();
    let told = ["of the map has no answer", "no answer: outside the data"];
    for (range, beyond) in [("900 nm .. 1000 nm", false), ("900 nm .. 2400 nm", true)] {
        let words = format!(
            "survey s/joint.toml --x wavelength --y speed --x-range \"{range}\" --cells 7x4 --out m"
        );
        let output = lightseam(folder.path(), &words);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        let figure = folder.path().join("m/latitude-wavelength-speed.svg");
        let figure = fs::read_to_string(figure).unwrap();
        assert_eq!(
            stdout(&output).contains(told[0]),
            beyond,
            "{}",
            stdout(&output)
        );
        assert_eq!(figure.contains(told[1]), beyond, "{range}");
    }
}

/// The verdict is about light and heat; that the polymers do not join at all is said wherever one is
/// given.
#[test]
fn a_pair_that_does_not_weld_is_named_by_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let joint = r#"
upper = { material = "pe-hd", thickness = "1 mm" }
lower = { material = "pom", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "6 W" }
motion = { mode = "contour", speed = "50 mm/s" }
machine = { power = ["0.5 W", "60 W"], speed = ["5 mm/s", "200 mm/s"] }
uncertainty = { power = "3 %" }
"#;
    fs::write(folder.path().join("joint.toml"), joint).unwrap();
    for words in [
        "weld joint.toml",
        "window joint.toml",
        "survey joint.toml --cells 4x4",
        "tolerance joint.toml --samples 1000",
        "require joint.toml",
        "compare joint.toml",
        "trials joint.toml",
        "report joint.toml",
    ] {
        let output = lightseam(folder.path(), words);
        assert!(
            output.status.code() < Some(2),
            "{words}: {}",
            stderr(&output)
        );
        let message = stderr(&output);
        let said = message
            .matches("PE and POM are not weldable to each other")
            .count();
        assert_eq!(said, 1, "{words}: {message}");
    }
    let value = json(folder.path(), "weld joint.toml --json");
    let warnings = value["warnings"].to_string();
    assert!(warnings.contains("not weldable"), "{warnings}");
    // Beside the verdict too, where `--quiet` keeps warnings away.
    let text = stdout(&lightseam(folder.path(), "weld joint.toml --quiet"));
    assert!(
        text.contains("this is about light and heat alone: "),
        "{text}"
    );
}

/// Faces that lie dry are told of where they matter: their sound powers by `weld`, which are those of a
/// narrow gap, and what becomes of the recommended setpoint by `window`.
#[test]
fn dry_faces_are_told_of_where_they_matter() {
    let folder = starter();
    let weld = json(folder.path(), "weld s/joint.toml --json");
    let dry = &weld["sound_powers_dry"];
    let path = folder.path().join("s/joint.toml");
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains("gap = \"0 µm\""));
    let gap = text.replace("gap = \"0 µm\"", "gap = \"1 µm\"");
    fs::write(folder.path().join("s/gap.toml"), gap).unwrap();
    let over_a_gap = json(folder.path(), "weld s/gap.toml --json");
    assert_eq!(*dry, over_a_gap["sound_powers"]);
    assert!(over_a_gap["sound_powers_dry"].is_null());
    let low = |it: &Value| it["low_power_w"].as_f64().unwrap();
    assert!(1.1 * low(&weld["sound_powers"]) < low(dry), "{dry}");
    let text = stdout(&lightseam(folder.path(), "weld s/joint.toml"));
    assert!(text.contains("the same where the faces lie dry"), "{text}");

    let window = json(folder.path(), "window s/joint.toml --json");
    let warnings = window["warnings"].to_string();
    assert!(warnings.contains("faces that lie dry let"), "{warnings}");
    let text = stdout(&lightseam(folder.path(), "window s/joint.toml"));
    let verdict = window["setpoint_dry"]["verdict"].as_str().unwrap();
    let said = text
        .lines()
        .find(|it| it.contains("where the faces lie dry"));
    assert!(said.is_some_and(|it| it.contains(verdict)), "{text}");
}

/// A weld that is not sound says which powers would do, and what the machine cannot deliver.
#[test]
fn a_weak_weld_says_which_powers_are_sound() {
    let folder = starter();
    let window = json(folder.path(), "window s/joint.toml --json");
    let weld = json(folder.path(), "weld s/joint.toml --json");
    assert_eq!(weld["verdict"], "weak");
    let line = |speed: f64| {
        window["lines"].as_array().unwrap().iter().min_by(|a, b| {
            let far = |it: &Value| (it["speed_m_per_s"].as_f64().unwrap() / speed).ln().abs();
            far(a).total_cmp(&far(b))
        })
    };
    // The line nearest to the joint's own speed is a few per cent away.
    let near = line(0.04).unwrap();
    for key in ["low_power_w", "high_power_w"] {
        let (here, there) = (weld["sound_powers"][key].as_f64(), near[key].as_f64());
        assert!(
            (here.unwrap() / there.unwrap() - 1.0).abs() < 0.15,
            "{here:?} {there:?}"
        );
    }
    let text = stdout(&lightseam(folder.path(), "weld s/joint.toml"));
    assert!(text.contains("sound powers at 40.0 mm/s"), "{text}");

    let path = folder.path().join("s/joint.toml");
    let strong = fs::read_to_string(&path)
        .unwrap()
        .replace("\"7 W\"", "\"7 kW\"");
    fs::write(&path, strong).unwrap();
    let output = lightseam(folder.path(), "weld s/joint.toml");
    assert!(stderr(&output).contains("7000 W is not within the 1.00 W to 40.0 W of the machine"));
    assert!(
        stdout(&output).contains("above 2000 °C"),
        "{}",
        stdout(&output)
    );
}

#[test]
fn glass_is_a_clamp_and_no_part() {
    let folder = starter();
    let path = folder.path().join("s/joint.toml");
    let joint = fs::read_to_string(&path).unwrap();
    let glass = joint.replace("\"cards/body-pp-black.toml\"", "\"glass\"");
    fs::write(&path, glass).unwrap();
    let refused = lightseam(folder.path(), "weld s/joint.toml");
    assert_eq!(refused.status.code(), Some(2));
    let message = stderr(&refused);
    for words in ["does not melt", "[clamp]", "line 21"] {
        assert!(message.contains(words), "{words}: {message}");
    }
}

/// A turning part has room for so thick an upper part and no more; nothing is said beyond.
#[test]
fn a_round_part_ends_at_its_axis() {
    let folder = tempfile::tempdir().unwrap();
    let joint = r#"
upper = { material = "pmma", thickness = "1.5 mm" }
lower = { material = "pmma", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "60 W" }
motion = { mode = "radial", diameter = "20 mm", rotation = "240 rpm", turns = 4 }
machine = { power = ["1 W", "300 W"], turns = [1, 20] }
"#;
    fs::write(folder.path().join("joint.toml"), joint).unwrap();
    let needed = lightseam(folder.path(), "require joint.toml --json");
    assert!(needed.status.code() < Some(2), "{}", stderr(&needed));
    // 10 mm of radius less 2 mm of the lower part.
    let map = |most: &str| {
        let words = format!(
            "survey joint.toml --x turns --y thickness --y-range \"1 mm .. {most}\" --cells 3x4"
        );
        lightseam(folder.path(), &words)
    };
    assert_eq!(
        map("8 mm").status.code(),
        Some(0),
        "{}",
        stderr(&map("8 mm"))
    );
    let refused = map("12 mm");
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        stderr(&refused).contains("at most 8.000 mm"),
        "{}",
        stderr(&refused)
    );
}
