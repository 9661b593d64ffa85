//! One test for each bug that was found, named after it.

use lightseam::input::{library, material_file};
use lightseam::report::figure::{Figure, Mark};
use lightseam::report::weld_figures::time_figure;
use lightseam::study::power_limits::at_power;
use lightseam::weld::{Motion, Settings, simulate};

use crate::support::joints;

/// Scattering widens the spot, so the light at the interface lasts longer than on the part; figures
/// said it was off while the interface still warmed.
#[test]
fn light_off_is_when_the_interface_loses_it() {
    let joint = joints::from_text(
        r#"
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
"#,
    );
    let settings = Settings::standard().recording();
    let outcome = simulate(std::slice::from_ref(&joint), &settings)
        .remove(0)
        .unwrap();
    let Motion::Contour { speed_m_per_s } = joint.motion else {
        panic!("{:?}", joint.motion);
    };
    let figure: Figure = time_figure(&joint, &outcome).unwrap();
    let off_ms = figure
        .marks
        .iter()
        .find_map(|it| match it {
            Mark::VLine(line) if line.label.text == "light off" => Some(line.at),
            _ => None,
        })
        .unwrap();
    let record = outcome.history.record.as_ref().unwrap();
    let hottest = (0..record.time_s.len())
        .max_by(|&a, &b| record.interface_lower_k[a].total_cmp(&record.interface_lower_k[b]))
        .unwrap();
    let step_ms = 1e3 * (record.time_s[hottest] - record.time_s[hottest - 1]);
    assert!(
        (off_ms - 1e3 * record.time_s[hottest]).abs() <= step_ms.max(1.0),
        "{off_ms}"
    );
    assert!(1.2 * 1e3 * joint.beam.length_m / speed_m_per_s < off_ms);
}

/// Where only some nodes were warm enough to be damaged at all, the curve through the logarithms of
/// their damage ran away, and a weld at 236 °C was said to be burnt: isolated cells of maps had half
/// the highest sound power of their neighbours.
#[test]
fn damage_rises_smoothly_from_nothing() {
    let joint = joints::from_text(
        r#"
upper = { material = "pp", thickness = "1.19 mm" }
lower = { material = "pp", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.4 %" } }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "2 W" }
motion = { mode = "contour", speed = "9.3434 mm/s" }
"#,
    );
    let cases: Vec<_> = (0..120)
        .map(|i| at_power(&joint, 2.0 + 0.025 * f64::from(i)))
        .collect();
    let damage: Vec<f64> = simulate(&cases, &Settings::standard())
        .into_iter()
        .map(|it| it.unwrap().history.damage_integral.unwrap())
        .collect();
    assert!(damage[0] < 1e-12 && 1e-5 < damage[119], "{damage:?}");
    // A node that begins to count may add a tenth; burnt out of the blue was a factor of 1e12.
    for pair in damage.windows(2) {
        assert!(0.9 * pair[0] <= pair[1], "{pair:?}");
        assert!(pair[1] <= 40.0 * pair[0].max(1e-12), "{pair:?}");
    }
}

/// A table of a card could run to temperatures where nothing is, such as 10³⁰⁰ °C: what was computed
/// from the table was no number any more, and the film in a gap panicked over it.
#[test]
fn tables_of_cards_end_where_matter_does() {
    for beyond in ["1e300", "-400"] {
        let card = library::card_text("pa12").unwrap();
        let rows = if beyond.starts_with('-') {
            format!("[[{beyond}, 1800], [250, 2700]]")
        } else {
            format!("[[23, 1800], [160, 2500], [{beyond}, 2700]]")
        };
        let start = card.find("[[23, 1800]").unwrap();
        let end = start + card[start..].find("]]").unwrap() + 2;
        let card = format!("{}{rows}{}", &card[..start], &card[end..]);
        let error = material_file::parse(&card, "pa12.toml", "pa12", &library::no_files)
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("temperature") && error.contains(beyond),
            "{error}"
        );
        assert!(error.contains("in °C"), "{error}");
    }
}
