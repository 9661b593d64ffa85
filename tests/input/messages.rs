//! One bad file for each refusal, with the message beside it.
//!
//! `messages/<kind>-<name>.toml|csv|jdx` is read by the parser of its kind; the message must be the text
//! in `<kind>-<name>.txt`. `LIGHTSEAM_ACCEPT=1` writes those texts anew; read the difference.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use lightseam::error::{Error, FileProblem, InputProblem, Problem};
use lightseam::input::colour_file;
use lightseam::input::plaques::{self, PlaqueText};
use lightseam::input::{joint_file, material_file, spectrum_file};
use lightseam::material::{Sourced, Spectrum, Status};
use lightseam::optics::reduction::Assumptions;
use lightseam::study::colours::{LaserQuestion, colours, laser_light};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/input/messages")
}

fn read(name: &str) -> Result<Vec<u8>, Error> {
    fs::read(folder().join(name)).map_err(|_| {
        Error::new(FileProblem::Read {
            path: name.into(),
            reason: "no such file".into(),
        })
    })
}

fn refusal(name: &str, bytes: &[u8]) -> Error {
    let text = || std::str::from_utf8(bytes).unwrap();
    let (kind, _) = name.split_once('-').unwrap();
    let result = match kind {
        "joint" => joint_file::parse(text(), name, &read).map(|_| ()),
        "card" => material_file::parse(text(), name, "trial", &read).map(|_| ()),
        "plaques" => {
            let text = PlaqueText {
                file: name,
                bytes,
                thickness_m: None,
            };
            plaques::read(&[text]).map(|_| ())
        }
        "colour" => colour_refusal(name, bytes),
        "index" => spectrum_file::parse_index(bytes, name).map(|_| ()),
        "absorption" => spectrum_file::parse_absorption(bytes, name).map(|_| ()),
        other => panic!("{other}: no such kind of file"),
    };
    result.expect_err(name)
}

/// A sample must have a colour, and tell the laser line at 980 nm.
fn colour_refusal(name: &str, bytes: &[u8]) -> Result<(), Error> {
    let text = PlaqueText {
        file: name,
        bytes,
        thickness_m: None,
    };
    let (sample, _) = colour_file::read(&text)?;
    colours(&sample)?;
    let asked = LaserQuestion {
        line_m: 980e-9,
        part_thickness_m: None,
        refractive_index: Sourced::new(Spectrum::constant(1.5), "test", Status::Stated),
        assumed: Assumptions::default(),
    };
    laser_light(&sample, &asked).map(|_| ())
}

fn cases() -> Vec<(String, Error)> {
    let mut names: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .map(|it| it.unwrap().file_name().into_string().unwrap())
        .filter(|it| {
            [".toml", ".csv", ".jdx"]
                .iter()
                .any(|end| it.ends_with(end))
        })
        .collect();
    names.sort();
    names
        .into_iter()
        .map(|name| {
            let error = refusal(&name, &fs::read(folder().join(&name)).unwrap());
            (name, error)
        })
        .collect()
}

#[test]
fn every_refusal_says_what_it_said_before() {
    let accept = std::env::var("LIGHTSEAM_ACCEPT").is_ok();
    let mut wrong = Vec::new();
    let cases = cases();
    assert!(70 <= cases.len(), "{} cases", cases.len());
    for (name, error) in cases {
        let path = folder().join(&name).with_extension("txt");
        let message = format!("{error}\n");
        if accept {
            fs::write(&path, &message).unwrap();
        }
        let expected = fs::read_to_string(&path).unwrap_or_default();
        if expected != message {
            wrong.push(format!("--- {name}\nexpected:\n{expected}got:\n{message}"));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn every_refusal_names_file_line_and_cure() {
    for (name, error) in cases() {
        let place = error.place().unwrap_or_else(|| panic!("{name}: no place"));
        // Or the file that the file names.
        assert!(
            place.file == name || place.file.starts_with("with/"),
            "{place}"
        );
        assert!(place.line.is_some(), "{name}: no line");
        assert!(error.cure_text().is_some(), "{name}: no cure\n{error}");
    }
}

/// First word of the debug text of a problem, the name of its variant.
fn variant(problem: &Problem) -> String {
    let text = match problem {
        Problem::Input(InputProblem::Spectrum(it)) => format!("Spectrum::{it:?}"),
        Problem::Input(it) => format!("{it:?}"),
        _ => return String::new(),
    };
    text.split([' ', '{', '(']).next().unwrap().to_string()
}

#[test]
fn every_kind_of_refusal_has_a_file() {
    let source = include_str!("../../src/error/input.rs");
    let mut wanted = BTreeSet::new();
    let mut prefix = "";
    for line in source.lines() {
        if line.starts_with("pub enum SpectrumProblem") {
            prefix = "Spectrum::";
        }
        let name = line.strip_prefix("    ").unwrap_or_default();
        if name.starts_with(|it: char| it.is_ascii_uppercase()) {
            let end = name.find([' ', '(', ',']).unwrap();
            wanted.insert(format!("{prefix}{}", &name[..end]));
        }
    }
    wanted.remove("Spectrum");
    assert!(30 <= wanted.len(), "{wanted:?}");
    let found: BTreeSet<String> = cases()
        .iter()
        .map(|(_, it)| variant(it.problem()))
        .collect();
    let missing: Vec<_> = wanted.difference(&found).collect();
    assert!(missing.is_empty(), "no file provokes {missing:?}");
}
