//! The import rules of DEVELOPERS.md, checked.
//!
//! A folder may use itself and the folders to its left, never those to its right.

use std::{fs, path::Path};

/// The reading order of the program, which is also the direction of its data.
const ORDER: [&str; 12] = [
    "units", "error", "numerics", "material", "optics", "colour", "heat", "weld", "study", "input",
    "report", "cli",
];

/// Folders that compute: no files, no clock, no terminal.
const PURE: [&str; 7] = [
    "numerics", "material", "optics", "colour", "heat", "weld", "study",
];

/// Words that mean a file touches the outside world.
const OUTSIDE: [&str; 5] = [
    "std::fs",
    "std::env",
    "std::time",
    "println!",
    "std::process",
];

#[test]
fn data_flows_one_way() {
    let mut broken = Vec::new();
    for_each_source(&mut |stage, path, text| {
        let rank = rank(stage);
        for (number, line) in code_lines(text) {
            if line.contains("crate::{") || line.contains("super::super") {
                broken.push(format!(
                    "{path}:{number}: write one plain `use crate::stage::…` a line"
                ));
            }
            for used in crate_paths(line) {
                let sibling = stage == "report" && used == "input";
                if rank < self::rank(used) || sibling {
                    broken.push(format!("{path}:{number}: {stage} must not use {used}"));
                }
            }
        }
    });
    assert!(broken.is_empty(), "\n{}", broken.join("\n"));
}

#[test]
fn core_never_touches_the_outside_world() {
    let mut broken = Vec::new();
    for_each_source(&mut |stage, path, text| {
        if PURE.contains(&stage) {
            for (number, line) in code_lines(text) {
                for word in OUTSIDE.iter().filter(|word| line.contains(**word)) {
                    broken.push(format!("{path}:{number}: {word} in {stage}"));
                }
            }
        }
    });
    assert!(broken.is_empty(), "\n{}", broken.join("\n"));
}

#[test]
fn every_file_opens_with_its_purpose_and_stays_short() {
    let mut broken = Vec::new();
    for_each_source(&mut |_, path, text| {
        if !text.starts_with("//! ") {
            broken.push(format!("{path}: first line must be a `//!` sentence"));
        }
        if text.lines().count() > 500 {
            broken.push(format!("{path}: longer than 500 lines"));
        }
    });
    assert!(broken.is_empty(), "\n{}", broken.join("\n"));
}

fn rank(stage: &str) -> usize {
    ORDER
        .iter()
        .position(|it| *it == stage)
        .unwrap_or_else(|| panic!("`{stage}` is not in ORDER"))
}

/// Lines outside comments, numbered from 1. Unit tests at the foot of a file obey the same rules.
fn code_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    (1..)
        .zip(text.lines())
        .filter(|(_, line)| !line.trim_start().starts_with("//"))
}

/// The first segment of every `crate::…` path on a line.
fn crate_paths(line: &str) -> impl Iterator<Item = &str> {
    line.split("crate::").skip(1).filter_map(|rest| {
        let end = rest
            .find(|c: char| !c.is_ascii_lowercase() && c != '_')
            .unwrap_or(rest.len());
        (0 < end).then(|| &rest[..end])
    })
}

fn for_each_source(visit: &mut dyn FnMut(&str, &str, &str)) {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut folders = vec![src.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            if path.extension().is_none_or(|it| it != "rs") {
                continue;
            }
            let inside = path
                .strip_prefix(&src)
                .unwrap()
                .to_str()
                .unwrap()
                .replace('\\', "/");
            let stage = inside.split(['/', '.']).next().unwrap();
            if stage != "lib" && stage != "main" {
                visit(stage, &inside, &fs::read_to_string(&path).unwrap());
            }
        }
    }
}
