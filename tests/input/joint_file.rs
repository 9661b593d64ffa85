//! Joint files: defaults, every section, every kind of absorber, spectra, remarks.

use approx::assert_relative_eq;
use lightseam::error::{Error, FileProblem};
use lightseam::input::{Note, joint_file, library};
use lightseam::material::optical::Reading;
use lightseam::material::{Absorber, Status};
use lightseam::optics::beam::Shape;
use lightseam::weld::{Interface, Joint, Motion};

const SHORTEST: &str = r#"
[upper]
material = "pc"
thickness = "2 mm"
[lower]
material = "pc"
thickness = "3 mm"
absorber = { kind = "carbon black", content = "0.2 %" }
[beam]
wavelength = "980 nm"
diameter = "1.2 mm"
power = "20 W"
[motion]
mode = "contour"
speed = "50 mm/s"
"#;

fn parse(text: &str) -> (Joint, Vec<Note>) {
    joint_file::parse(text, "joint.toml", &library::no_files).unwrap_or_else(|it| panic!("{it}"))
}

#[test]
fn defaults_are_common_practice() {
    let (joint, notes) = parse(SHORTEST);
    assert!(notes.is_empty(), "{notes:?}");
    assert_eq!(&*joint.question, "");
    assert_eq!(
        joint.interface,
        Interface::Contact {
            conductance_w_per_m2_k: None
        }
    );
    assert!(joint.clamp.is_none() && joint.machine.is_none() && joint.method.is_none());
    assert_eq!(joint.beam.shape, Shape::TopHat);
    assert_eq!((joint.beam.length_m, joint.beam.width_m), (1.2e-3, 1.2e-3));
    assert_eq!(
        joint.motion,
        Motion::Contour {
            speed_m_per_s: 0.05
        }
    );
    let limits = &joint.limits;
    assert_relative_eq!(limits.upper_melt_depth_m.value, 20e-6);
    assert_relative_eq!(limits.lower_melt_depth_m.value, 20e-6);
    assert_relative_eq!(limits.damage.value, 0.01);
    assert_eq!(limits.damage.status, Status::CommonPractice);
    assert!(limits.time_above_flow_s.is_none());
    assert_relative_eq!(joint.surroundings.ambient_k, 296.15);
    assert_relative_eq!(joint.surroundings.convection_w_per_m2_k, 10.0);
    assert_eq!(joint.uncertainty, lightseam::weld::Uncertainty::default());
}

#[test]
fn every_section_is_read() {
    let text = format!(
        "question = \"Will it hold?\"\n{}\n{}",
        SHORTEST.replace(
            "diameter = \"1.2 mm\"",
            "shape = \"gaussian\"\nlength = \"2 mm\"\nwidth = \"1 mm\""
        ),
        r#"
[contact]
gap = "20 µm"
conductance = "1300 W/m2/K"
[clamp]
material = "glass"
thickness = "10 mm"
conductance = "20000 W/m2/K"
[machine]
power = ["5 W", "60 W"]
speed = ["5 mm/s", "200 mm/s"]
[limits]
upper_melt_depth = "30 µm"
lower_melt_depth = "40 µm"
damage = "2 %"
time_above_flow = "50 ms"
[surroundings]
ambient = "60 °C"
convection = "25 W/m2/K"
[optics]
method = "beer-lambert"
[uncertainty]
upper_optics = "10 %"
upper_thickness = "2 %"
absorber = "50 %"
power = "3 %"
speed = "1 %"
spot = "5 %"
contact = "30 %"
thermal = "15 %"
"#
    );
    let (joint, _) = parse(&text);
    assert_eq!(&*joint.question, "Will it hold?");
    assert_eq!(
        joint.interface,
        Interface::Gap {
            gap_m: 20e-6,
            conductance_w_per_m2_k: Some(1300.0),
            closes: false,
            film_factor: 1.0,
        }
    );
    assert_eq!(joint.beam.shape, Shape::Gaussian);
    assert_eq!((joint.beam.length_m, joint.beam.width_m), (2e-3, 1e-3));
    let clamp = joint.clamp.unwrap();
    assert_eq!(clamp.material.id, "glass");
    assert_eq!(clamp.conductance_w_per_m2_k, Some(20000.0));
    let machine = joint.machine.unwrap();
    assert_eq!(machine.power_w, (5.0, 60.0));
    assert_relative_eq!(machine.setting.1, 0.2);
    assert_eq!(joint.limits.upper_melt_depth_m.status, Status::Stated);
    assert_relative_eq!(joint.limits.upper_melt_depth_m.value, 30e-6);
    assert_relative_eq!(joint.limits.lower_melt_depth_m.value, 40e-6);
    assert_relative_eq!(joint.limits.damage.value, 0.02);
    assert_relative_eq!(joint.limits.time_above_flow_s.as_ref().unwrap().value, 0.05);
    assert_relative_eq!(joint.surroundings.ambient_k, 333.15);
    assert_relative_eq!(joint.surroundings.convection_w_per_m2_k, 25.0);
    assert_eq!(joint.method.unwrap().name(), "beer-lambert");
    let u = joint.uncertainty;
    let shares = [
        u.upper_optics,
        u.upper_thickness,
        u.absorber,
        u.power,
        u.speed,
        u.spot,
        u.contact,
        u.thermal,
    ];
    let expected = [0.10, 0.02, 0.50, 0.03, 0.01, 0.05, 0.30, 0.15];
    for (share, expected) in shares.iter().zip(expected) {
        assert_relative_eq!(share.unwrap(), expected, max_relative = 1e-12);
    }
}

#[test]
fn a_gap_of_zero_is_contact() {
    let (joint, _) = parse(&format!("{SHORTEST}[contact]\ngap = \"0 µm\"\n"));
    assert!(matches!(joint.interface, Interface::Contact { .. }));
}

fn absorption_of(absorber: &str) -> f64 {
    let text = SHORTEST.replace("{ kind = \"carbon black\", content = \"0.2 %\" }", absorber);
    let (joint, _) = parse(&text);
    let density = joint
        .lower
        .material
        .thermal
        .density_kg_per_m3
        .value
        .at(296.15);
    joint
        .lower
        .absorber
        .unwrap()
        .absorption_per_m(980e-9, density)
        .unwrap()
}

#[test]
fn absorbers_convert_to_an_absorption_coefficient() {
    // 7.5 m²/g at 550 nm, 1200 kg/m³, 0.2 %: 7500 · 550/980 · 1200 · 0.002.
    let default = absorption_of("{ kind = \"carbon black\", content = \"0.2 %\" }");
    assert_relative_eq!(default, 10102.04, max_relative = 1e-6);
    let own = absorption_of(
        "{ kind = \"carbon black\", content = \"0.2 %\", mass_absorption = \"15 m2/g\" }",
    );
    assert_relative_eq!(own, 2.0 * default, max_relative = 1e-12);
    assert_relative_eq!(
        absorption_of("{ kind = \"absorption\", value = \"10 /mm\" }"),
        1e4,
        max_relative = 1e-12
    );
    // −ln(0.08 / (1 − r)²) / 50 µm with n = 1.5721 at 980 nm, r = 0.049475: 48 486 1/m.
    assert_relative_eq!(
        absorption_of("{ kind = \"film\", thickness = \"50 µm\", transmission = \"8 %\" }"),
        48_485.0,
        max_relative = 1e-4
    );
}

fn files(name: &str) -> Result<Vec<u8>, Error> {
    let text = match name {
        "lid.csv" => {
            "total transmittance (integrating sphere)\nwavelength [nm];T 1 mm [%];T 2 mm [%]\n900;70;54\n980;70;54\n1064;70;54\n"
        }
        "direct.csv" => {
            "collimated, no sphere\nwavelength [nm];T 1.5 mm [%]\n900;4\n980;5\n1064;6\n"
        }
        "unsaid.csv" => "wavelength [nm];T 1.5 mm [%]\n900;40\n980;50\n1064;60\n",
        "body.csv" => "wavelength [nm],absorption [1/mm]\n900,12\n980,11\n1064,10\n",
        "cards/own.toml" => {
            return Ok(library::card_text("pc")
                .map(|it| it.replace("PC, clear", "own"))
                .unwrap_or_default()
                .into_bytes());
        }
        "cards/index-absorption-zhang2020.csv" => {
            return Ok(library::card_data("pc")[0].1.to_vec());
        }
        _ => {
            return Err(Error::new(FileProblem::Read {
                path: name.into(),
                reason: "no such file".into(),
            }));
        }
    };
    Ok(text.as_bytes().to_vec())
}

fn with_upper(lines: &str) -> (Joint, Vec<Note>) {
    let text = SHORTEST.replacen(
        "thickness = \"2 mm\"",
        &format!("thickness = \"2 mm\"\n{lines}"),
        1,
    );
    joint_file::parse(&text, "joint.toml", &files).unwrap_or_else(|it| panic!("{it}"))
}

#[test]
fn spectra_replace_the_optical_data_of_the_card() {
    let (joint, notes) = with_upper("spectra = \"lid.csv\"");
    assert_eq!(joint.upper.plaques.len(), 2);
    assert_eq!(joint.upper.optical.reading, Reading::EffectiveExtinction);
    // 54 / 70 through one more millimetre of index 1.57: about 0.26 1/mm.
    let mu_per_m = joint.upper.optical_at(980e-9).unwrap().mu_a_per_m;
    assert!((240.0..280.0).contains(&mu_per_m), "{mu_per_m}");
    assert!(notes.is_empty(), "{notes:?}");
    let text = SHORTEST.replacen(
        "thickness = \"2 mm\"",
        "thickness = \"2 mm\"\nspectra = [\"lid.csv\", \"direct.csv\"]",
        1,
    );
    let text = format!("optics = {{ invert = \"no\" }}\n{text}");
    let (joint, notes) = joint_file::parse(&text, "joint.toml", &files).unwrap();
    assert_eq!(joint.upper.plaques.len(), 3);
    assert!(!notes.is_empty(), "the direct reading has its remark");
}

#[test]
fn geometry_that_is_collimated_or_unsaid_is_remarked_with_its_place() {
    let (_, notes) = with_upper("spectra = \"direct.csv\"");
    let note = notes
        .iter()
        .find(|it| it.text.contains("only collimated"))
        .unwrap();
    let place = note.place.as_ref().unwrap();
    assert_eq!((place.file.as_str(), place.line), ("joint.toml", Some(5)));
    let (_, notes) = with_upper("spectra = \"unsaid.csv\"");
    assert!(
        notes
            .iter()
            .any(|it| it.text.contains("does not say whether")),
        "{notes:?}"
    );
}

#[test]
fn constants_may_be_stated_for_a_benchmark() {
    let (joint, notes) = with_upper(
        "refractive_index = 1.4\nabsorption = \"0.3 /mm\"\nscattering = \"20 /mm\"\nanisotropy = 0.9",
    );
    let constants = joint.upper.optical_at(980e-9).unwrap();
    assert_eq!(
        (
            constants.n,
            constants.mu_a_per_m,
            constants.mu_s_per_m,
            constants.g
        ),
        (1.4, 300.0, 20_000.0, 0.9)
    );
    let absorption = joint.upper.optical.absorption.as_ref().unwrap();
    assert_eq!(absorption.status, Status::Stated);
    assert!(
        notes.iter().any(|it| it.text.contains("one wavelength")),
        "{notes:?}"
    );
    // Scattering said to be zero needs no anisotropy.
    let (joint, _) = with_upper("absorption = \"0.3 /mm\"\nscattering = \"0 /mm\"");
    assert!(joint.upper.optical.scattering.is_none());
    // The index alone leaves the rest of the card.
    let (joint, notes) = with_upper("refractive_index = 1.4");
    assert_eq!(joint.upper.optical_at(980e-9).unwrap().n, 1.4);
    assert!(joint.upper.optical.absorption.as_ref().unwrap().status == Status::Published);
    assert!(notes.is_empty(), "{notes:?}");
}

#[test]
fn cards_and_absorbers_come_from_files_beside_the_joint() {
    let text = SHORTEST
        .replacen("material = \"pc\"", "material = \"cards/own.toml\"", 1)
        .replace(
            "{ kind = \"carbon black\", content = \"0.2 %\" }",
            "{ kind = \"spectrum\", file = \"body.csv\" }",
        );
    let (joint, _) = joint_file::parse(&text, "joint.toml", &files).unwrap();
    assert_eq!(
        (
            joint.upper.material.id.as_str(),
            joint.upper.material.name.as_str()
        ),
        ("own", "own")
    );
    let Some(Absorber::Added(spectrum)) = &joint.lower.absorber else {
        panic!("a measured absorber");
    };
    assert_relative_eq!(
        spectrum.value.at("µa", 980e-9).unwrap(),
        11_000.0,
        max_relative = 1e-12
    );
    assert_eq!(spectrum.status, Status::Measured);
}

#[test]
fn the_joint_of_the_design_is_accepted() {
    let text = r#"
question = "Does a 1.5 mm natural lid weld to the black body at 980 nm?"
[upper]            # the part the light goes through
material  = "pa6"
thickness = "1.5 mm"
[lower]            # the part that absorbs
material  = "pa6"
thickness = "3 mm"
absorber  = { kind = "carbon black", content = "0.3 %" }   # optional
[contact]
gap = "0 µm"                 # or conductance = "..."
[clamp]                      # laser-side plate; leave out for air
material = "glass"
thickness = "10 mm"
[beam]
wavelength = "980 nm"
shape = "top-hat"
length = "1 mm"
width = "1 mm"
power = "20 W"
[motion]
mode = "contour"
speed = "50 mm/s"      # contour | quasi-simultaneous | simultaneous | mask
[limits]
upper_melt_depth = "20 µm"
lower_melt_depth = "20 µm"
damage = "1 %"
[uncertainty]
"#;
    let (joint, _) = parse(text);
    let constants = joint.upper.optical_at(980e-9).unwrap();
    assert_relative_eq!(
        constants.mu_s_per_m * (1.0 - constants.g),
        200.0,
        max_relative = 1e-9
    );
}
