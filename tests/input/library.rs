//! Every built-in card: it parses, and every number has a source and a status.

use std::fs;
use std::path::Path;

use lightseam::input::library;

#[test]
fn every_card_parses_and_names_its_sources() {
    let ids: Vec<&str> = library::ids().collect();
    assert!(21 <= ids.len());
    for id in ids {
        let (card, notes) = library::material(id)
            .unwrap()
            .unwrap_or_else(|it| panic!("{id}: {it}"));
        assert!(notes.is_empty(), "{id}: {notes:?}");
        let provenances = card.provenances();
        assert!(7 <= provenances.len(), "{id}");
        for (quantity, source, _) in provenances {
            assert!(5 < source.len(), "{id}: {quantity} has no source");
        }
    }
}

/// Folders of `spectra/` and the files in them.
fn files_of_spectra() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("spectra");
    let mut files = Vec::new();
    for substance in fs::read_dir(folder).unwrap() {
        let path = substance.unwrap().path();
        if path.is_dir() {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            for file in fs::read_dir(path).unwrap() {
                files.push((
                    name.clone(),
                    file.unwrap().file_name().into_string().unwrap(),
                ));
            }
        }
    }
    files
}

#[test]
fn every_file_of_spectra_is_described_and_every_card_built_in() {
    let readme = include_str!("../../spectra/README.md");
    let bibliography = include_str!("../../spectra/sources.bib");
    let files = files_of_spectra();
    for (substance, file) in &files {
        let path = format!("`{substance}/{file}`");
        assert!(readme.contains(&path), "{path} is not in spectra/README.md");
        if file.ends_with(".csv") {
            let full = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("spectra")
                .join(substance)
                .join(file);
            let text = fs::read_to_string(full).unwrap();
            for word in [
                "# quantity:",
                "# unit:",
                "# method:",
                "# source:",
                "# licence:",
            ] {
                assert!(text.contains(word), "{path} does not state its {word}");
            }
            let key = text.split("; key ").nth(1).unwrap().lines().next().unwrap();
            assert!(bibliography.contains(&format!("{{{key},")), "{path}: {key}");
        }
    }
    let cards: Vec<&String> = files
        .iter()
        .filter(|(_, file)| file == "material.toml")
        .map(|(substance, _)| substance)
        .collect();
    assert_eq!(cards.len(), library::ids().count());
    for id in library::ids() {
        assert!(cards.iter().any(|it| *it == id), "{id}");
    }
}

#[test]
fn values_from_memory_are_marked_as_weak() {
    // A card of estimates must warn; a clear one with read values need not.
    let weak = |id: &str| {
        let (card, _) = library::material(id).unwrap().unwrap();
        // Poisson's ratios are remembered values on every card; they matter across a gap alone.
        card.provenances()
            .iter()
            .filter(|(what, ..)| *what != "Poisson's ratio")
            .any(|(_, _, status)| status.is_weak())
    };
    assert!(weak("pa6") && weak("pp") && weak("pbt-gf30"));
    assert!(!weak("pmma"));
}
