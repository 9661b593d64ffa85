//! Material cards: tables, ranges, spectra and constants.

use approx::assert_relative_eq;
use lightseam::error::Error;
use lightseam::input::{library, material_file};
use lightseam::material::optical::Reading;
use lightseam::material::{Kind, Material, Status};
use lightseam::units::kelvin;

const CARD: &str = r#"
name = "Trial grade"
kind = "semicrystalline"
notes = ["first lot", "dried"]
[optical]
refractive_index = { value = 1.53, source = "supplier", status = "measured" }
absorption = { table = [[900, 20.0], [1100, 40.0]], source = "supplier", status = "measured", uncertainty = "20 %" }
scattering = { value = "2 /mm", over = ["800 nm", "1000 nm"], source = "guess", status = "from memory" }
anisotropy = { value = 0.9, source = "usual", status = "common practice" }
[thermal]
density = { value = "1130 kg/m3", source = "data sheet", status = "handbook" }
conductivity = { table = [[23, 0.27], [250, 0.24]], source = "data sheet", status = "handbook" }
specific_heat = { value = "1700 J/kg/K", source = "data sheet", status = "handbook" }
latent_heat = { value = "60 kJ/kg", over = ["200 °C", "225 °C"], source = "data sheet", status = "handbook" }
flow_temperature = { value = "225 °C", source = "data sheet", status = "handbook" }
surface_temperature = { value = "180 °C", source = "data sheet", status = "common practice" }
[damage]
frequency = { value = "1e14 1/s", source = "paper", status = "published" }
energy = { value = "210 kJ/mol", source = "paper", status = "published" }
[fume]
contains = "caprolactam"
source = "paper"
status = "published"
"#;

fn parse(text: &str) -> Material {
    material_file::parse(text, "cards/trial.toml", "trial", &library::no_files)
        .unwrap_or_else(|it| panic!("{it}"))
        .0
}

#[test]
fn every_entry_of_a_card_is_read() {
    let card = parse(CARD);
    assert_eq!(
        (card.id.as_str(), card.name.as_str()),
        ("trial", "Trial grade")
    );
    assert_eq!(card.kind, Kind::Semicrystalline);
    assert_eq!(card.notes, ["first lot", "dried"]);
    let constants = card.optical_at(1000e-9).unwrap();
    assert_relative_eq!(constants.mu_a_per_m, 30.0, max_relative = 1e-9);
    assert_relative_eq!(constants.mu_s_per_m, 2000.0, max_relative = 1e-12);
    assert!(
        card.optical_at(850e-9).is_err(),
        "the absorption begins at 900 nm"
    );
    assert!(
        card.optical_at(1050e-9).is_err(),
        "the scattering ends at 1000 nm"
    );
    let absorption = card.optical.absorption.as_ref().unwrap();
    assert_eq!(absorption.value.relative_uncertainty, Some(0.2));
    let thermal = &card.thermal;
    let conductivity = &thermal.conductivity_w_per_m_k.value;
    assert_relative_eq!(conductivity.at(kelvin(136.5)), 0.255, max_relative = 1e-9);
    assert!(thermal.density_kg_per_m3.value.is_constant());
    let latent = thermal.latent_heat.as_ref().unwrap().value;
    assert_relative_eq!(latent.heat_j_per_kg, 60e3);
    assert_relative_eq!(latent.from_k, kelvin(200.0));
    assert_relative_eq!(thermal.flow_temperature_k.value, kelvin(225.0));
    assert_eq!(thermal.surface_temperature_k.status, Status::CommonPractice);
    let damage = card.damage.as_ref().unwrap();
    // 1e14 exp(−210e3 / (8.314463 · 700)) = 0.0214 1/s.
    assert_relative_eq!(damage.rate_per_s(700.0), 0.021_37, max_relative = 2e-3);
    assert_eq!(card.fume.as_ref().unwrap().value, "caprolactam");
    assert_eq!(card.provenances().len(), 12);
}

#[test]
fn an_onset_stands_in_where_no_kinetics_are_published() {
    let start = CARD.find("frequency = ").unwrap();
    let end = CARD.find("[fume]").unwrap();
    let onset = "onset = { value = \"445 °C\", source = \"paper\", status = \"published\" }\n";
    let card = parse(&format!("{}{onset}{}", &CARD[..start], &CARD[end..]));
    assert!(card.damage.is_none());
    assert_relative_eq!(card.decomposition_k.as_ref().unwrap().value, kelvin(445.0));
    let both = CARD.replace("frequency = ", &format!("{onset}frequency = "));
    let read = &library::no_files;
    let error = material_file::parse(&both, "cards/trial.toml", "trial", read).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("`onset` and `frequency` cannot both"),
        "{error}"
    );
}

#[test]
fn plaque_spectra_of_a_card_count_from_its_folder() {
    let start = CARD.find("absorption = ").unwrap();
    let end = CARD.find("[thermal]").unwrap();
    let text = format!(
        "{}spectra = \"plaques.csv\"\nsource = \"own laboratory\"\nstatus = \"measured\"\n{}",
        &CARD[..start],
        &CARD[end..]
    );
    let read = |name: &str| -> Result<Vec<u8>, Error> {
        assert_eq!(name, "cards/plaques.csv");
        Ok(b"sphere\nwavelength [nm];T 1.5 mm [%]\n900;60\n1000;61\n".to_vec())
    };
    let (card, _) = material_file::parse(&text, "cards/trial.toml", "trial", &read).unwrap();
    assert_eq!(card.optical.reading, Reading::EffectiveExtinction);
    let absorption = card.optical.absorption.as_ref().unwrap();
    assert_eq!(absorption.source, "own laboratory");
    assert!(absorption.value.relative_uncertainty.is_some());
}

#[test]
fn a_card_without_absorption_serves_below_an_absorber() {
    let start = CARD.find("absorption = ").unwrap();
    let end = CARD.find("[thermal]").unwrap();
    let card = parse(&format!("{}{}", &CARD[..start], &CARD[end..]));
    let error = card.optical_at(980e-9).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("Trial grade has no absorption coefficient"),
        "{error}"
    );
}
