//! Water in parts: the absorption it adds, and what is said where it is not stated.

use lightseam::error::{InputProblem, MaterialProblem, Problem};
use lightseam::input::{joint_file, library};
use lightseam::material::Moisture;
use lightseam::material::moisture::WATER_DENSITY_KG_PER_M3;
use lightseam::units::NM;
use lightseam::weld::warning::{Warning, warnings};
use lightseam::weld::{Joint, Settings, simulate};

use crate::support;

fn joint_text(wavelength_nm: f64, upper: &str) -> String {
    format!(
        r#"
[upper]
material = "pa6"
thickness = "1.5 mm"
refractive_index = 1.52
absorption = "0.3 /mm"
{upper}
[lower]
material = "pa6"
thickness = "3 mm"
refractive_index = 1.52
absorption = "9 /mm"
moisture = "0 %"
[beam]
wavelength = "{wavelength_nm} nm"
length = "1 mm"
width = "1 mm"
power = "20 W"
[motion]
mode = "contour"
speed = "50 mm/s"
"#
    )
}

fn parse(text: &str) -> Result<(Joint, Vec<String>), lightseam::error::Error> {
    let (joint, notes) = joint_file::parse(text, "joint.toml", &library::no_files)?;
    Ok((joint, notes.iter().map(ToString::to_string).collect()))
}

fn water_per_mm(wavelength_nm: f64) -> f64 {
    let water = library::water().unwrap();
    water.value.at("water", wavelength_nm * NM).unwrap() / 1e3
}

/// 4πk/λ by hand from k as printed at refractiveindex.info (Segelstein 1981).
#[test]
fn water_absorbs_as_its_k_says() {
    for (wavelength_nm, k, by_hand_per_mm) in [
        (940.0, 2.194e-6, 0.029_330),
        (980.0, 3.409e-6, 0.043_713),
        (1450.0, 3.633e-4, 3.148_554),
        (1940.0, 1.91e-3, 12.372_026),
    ] {
        let from_k = 4.0 * std::f64::consts::PI * k / (wavelength_nm * 1e-6);
        assert!((from_k / by_hand_per_mm - 1.0).abs() < 1e-4, "{from_k}");
        let found = water_per_mm(wavelength_nm);
        assert!((found / by_hand_per_mm - 1.0).abs() < 1e-4, "{found}");
    }
}

/// A second measurement: J. A. Curcio and C. C. Petty, J. Opt. Soc. Am. 41 (1951) 302, peaks of
/// liquid water 0.46, 26 and 114 1/cm at 0.97, 1.45 and 1.94 µm (from memory). The compilation of
/// Segelstein lies up to 21 % higher at 1.45 µm: two measurements of water agree no better.
#[test]
fn water_agrees_with_another_measurement() {
    for (wavelength_nm, per_cm, apart) in [
        (970.0, 0.46, 0.05),
        (1450.0, 26.0, 0.22),
        (1940.0, 114.0, 0.10),
    ] {
        let found_per_cm = 10.0 * water_per_mm(wavelength_nm);
        assert!(
            (found_per_cm / per_cm - 1.0).abs() < apart,
            "{wavelength_nm}: {found_per_cm}"
        );
    }
}

/// 2.5 wt% in PA6 (1130 kg/m³): about 0.35 1/mm at 1940 nm and 0.001 1/mm at 940 to 980 nm.
#[test]
fn polyamide_with_water() {
    let (pa6, _) = library::material("pa6").unwrap().unwrap();
    let density = pa6.thermal.density_kg_per_m3.value.at(296.15);
    let moisture = Moisture {
        content: 0.025,
        water_absorption: library::water().unwrap(),
    };
    let added_per_mm = |nm: f64| moisture.absorption_per_m(nm * NM, density).unwrap() / 1e3;
    let share = 0.025 * 1130.0 / 997.05;
    assert!((moisture.volume_fraction(density) - share).abs() < 1e-12);
    assert!((WATER_DENSITY_KG_PER_M3 - 997.05).abs() < 1e-12);
    assert!((added_per_mm(1940.0) - 0.3505).abs() < 5e-4);
    assert!((0.0008..0.0013).contains(&added_per_mm(940.0)));
    assert!((0.0008..0.0013).contains(&added_per_mm(980.0)));
}

#[test]
fn a_part_absorbs_what_it_states_and_its_water() {
    let (joint, notes) = parse(&joint_text(1940.0, "moisture = \"2.5 %\"")).unwrap();
    let at = |part: &lightseam::weld::Part| part.optical_at(1940.0 * NM).unwrap().mu_a_per_m;
    assert!((at(&joint.upper) - (300.0 + 350.5)).abs() < 0.5);
    assert_eq!(at(&joint.lower), 9000.0);
    assert!(
        notes
            .iter()
            .any(|it| it.starts_with("moisture is added to `absorption`")),
        "{notes:?}"
    );
    // Nothing to be counted twice in a dry part.
    assert!(
        notes.iter().filter(|it| it.contains("moisture")).count() == 1,
        "{notes:?}"
    );
}

fn moisture_warnings(text: &str) -> Vec<String> {
    let (joint, _) = parse(text).unwrap();
    let outcome = simulate(std::slice::from_ref(&joint), &Settings::standard())
        .remove(0)
        .unwrap();
    warnings(&joint, &outcome)
        .iter()
        .filter(|it| matches!(it, Warning::MoistureUnknown { .. }))
        .map(|it| format!("{}: {it}", it.key()))
        .collect()
}

#[test]
fn unknown_moisture_is_said_where_water_absorbs() {
    let said = moisture_warnings(&joint_text(1940.0, ""));
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].starts_with("moisture_unknown: water absorbs at this wavelength"));
    assert!(
        said[0].contains("the upper part (PA6, natural)"),
        "{said:?}"
    );
    assert_eq!(moisture_warnings(&joint_text(1400.0, "")).len(), 1);
    assert!(moisture_warnings(&joint_text(980.0, "")).is_empty());
    assert!(moisture_warnings(&joint_text(1940.0, "moisture = \"0 %\"")).is_empty());
    // A polymer that takes up next to no water is not asked.
    let dry = joint_text(1940.0, "").replace("\"pa6\"", "\"pp\"");
    assert!(moisture_warnings(&dry).is_empty());
}

#[test]
fn out_of_range_is_refused_and_beyond_saturation_remarked() {
    let error = parse(&joint_text(1940.0, "moisture = \"21 %\"")).unwrap_err();
    let Problem::Input(InputProblem::OutOfRange { least, most, .. }) = error.problem() else {
        panic!("{error}")
    };
    assert_eq!((least.as_str(), most.as_str()), ("0 %", "20 %"));
    assert!(error.place().unwrap().line.is_some());

    let error = parse(&joint_text(2050.0, "moisture = \"2 %\"")).unwrap_err();
    let Problem::Material(MaterialProblem::OutsideSpectrum { from_nm, to_nm, .. }) =
        error.problem()
    else {
        panic!("{error}")
    };
    assert!((from_nm - 400.0).abs() < 1e-6 && (to_nm - 2000.0).abs() < 1e-6);
    assert!(error.to_string().contains("absorption of water"), "{error}");

    let (_, notes) = parse(&joint_text(1940.0, "moisture = \"12 %\"")).unwrap();
    assert!(
        notes
            .iter()
            .any(|it| it.contains("more than PA6, natural takes up at saturation, 9.5 %")),
        "{notes:?}"
    );
}

#[test]
fn the_page_shows_water_as_its_own_term() {
    let folder = tempfile::tempdir().unwrap();
    let text = joint_text(1940.0, "moisture = \"2.5 %\"");
    std::fs::write(folder.path().join("joint.toml"), text).unwrap();
    let output = support::lightseam(folder.path(), "weld joint.toml --out page");
    assert!(
        output.status.code().unwrap() < 2,
        "{}",
        support::stderr(&output)
    );
    let page = std::fs::read_to_string(folder.path().join("page/index.html")).unwrap();
    assert!(page.contains("Moisture: water, 2.5 %"));
    assert!(page.contains("0.351") || page.contains("0.35<"));
}
