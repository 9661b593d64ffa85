//! The melt against time: drawn until the interface is solid, or said when that is.

use lightseam::report::figure::{Figure, Mark};
use lightseam::report::melt_figure::melt_figure;
use lightseam::weld::{Joint, Settings, simulate};

use crate::support::joints;

/// Few passes of much power: the melt outlasts the light several times.
fn quasi(passes: u32, power_w: f64) -> Joint {
    joints::from_text(&format!(
        r#"
upper = {{ material = "pmma", thickness = "1.5 mm" }}
lower = {{ material = "pmma", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.1 %" }} }}
beam = {{ wavelength = "980 nm", length = "1.2 mm", width = "1.2 mm", power = "{power_w} W" }}
motion = {{ mode = "quasi-simultaneous", path_length = "150 mm", speed = "2 m/s", passes = {passes} }}
"#
    ))
}

/// The figure, and how long anything flows over the time of heating.
fn drawn(joint: &Joint) -> (Figure, f64) {
    let settings = Settings::standard().recording();
    let outcome = simulate(std::slice::from_ref(joint), &settings)
        .remove(0)
        .unwrap();
    let history = &outcome.history;
    let flows_s = history.first_flow_s.unwrap() + history.time_above_flow_s;
    let heating_s = joint.exposure(&outcome.beam).heating_s();
    (melt_figure(joint, &outcome).unwrap(), flows_s / heating_s)
}

/// Whether every depth has come back to nothing where its line ends or leaves the frame.
fn ends_solid(figure: &Figure) -> bool {
    let until = figure.x.range.unwrap()[1];
    let lines = figure.marks.iter().filter_map(|it| match it {
        Mark::Line(line) => Some(&line.points),
        _ => None,
    });
    let last = |points: &Vec<[f64; 2]>| points.iter().rfind(|it| it[0] <= until).unwrap()[1];
    let depths: Vec<f64> = lines.map(last).collect();
    assert_eq!(depths.len(), 2);
    depths.iter().all(|it| *it == 0.0)
}

#[test]
fn the_melt_is_drawn_until_it_is_solid() {
    for (passes, power_w, least, most) in [(4, 250.0, 2.5, 10.0), (60, 25.0, 0.9, 2.5)] {
        let (figure, lasts) = drawn(&quasi(passes, power_w));
        assert!(least < lasts && lasts < most, "{passes} passes: {lasts}");
        assert!(ends_solid(&figure), "{passes} passes");
        assert!(!figure.note.contains("Later"), "{}", figure.note);
    }
}

#[test]
fn a_melt_that_lasts_too_long_to_be_drawn_is_said() {
    let (figure, lasts) = drawn(&quasi(4, 500.0));
    assert!(10.0 < lasts, "{lasts}");
    assert!(!ends_solid(&figure));
    assert!(
        figure
            .note
            .contains("Later than shown: the interface is solid at"),
        "{}",
        figure.note
    );
}

/// Thick parts that nothing cools: the run ends at the longest time it follows, molten.
#[test]
fn a_melt_that_outlasts_the_run_is_not_called_solid() {
    let joint = joints::from_text(
        r#"
upper = { material = "pc", thickness = "45 mm" }
lower = { material = "pc", thickness = "45 mm", absorber = { kind = "carbon black", content = "0.01 %" } }
surroundings = { ambient = "23 °C", convection = "0 W/m2/K" }
beam = { wavelength = "980 nm", length = "50 mm", width = "2 mm", power = "900 W" }
motion = { mode = "simultaneous", time = "20 s" }
"#,
    );
    let settings = Settings::standard().recording();
    let outcome = simulate(std::slice::from_ref(&joint), &settings)
        .remove(0)
        .unwrap();
    let note = melt_figure(&joint, &outcome).unwrap().note;
    assert!(note.contains("Still molten at"), "{note}");
    assert!(!note.contains("solid"), "{note}");
}
