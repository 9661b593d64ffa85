//! What names and headers say about the material of a plaque.

use std::collections::BTreeSet;

use crate::input::spectrum_file::ShareFile;

/// Abbreviations of polymers (ISO 1043-1), and older ones with what they stand for.
const POLYMERS: [(&str, &str); 42] = [
    ("ABS", "ABS"),
    ("ASA", "ASA"),
    ("COC", "COC"),
    ("COP", "COP"),
    ("HDPE", "PE"),
    ("LCP", "LCP"),
    ("LDPE", "PE"),
    ("PA", "PA"),
    ("PA1010", "PA1010"),
    ("PA11", "PA11"),
    ("PA12", "PA12"),
    ("PA46", "PA46"),
    ("PA6", "PA6"),
    ("PA610", "PA610"),
    ("PA612", "PA612"),
    ("PA66", "PA66"),
    ("PA6T", "PA6T"),
    ("PBT", "PBT"),
    ("PC", "PC"),
    ("PE", "PE"),
    ("PEEK", "PEEK"),
    ("PEI", "PEI"),
    ("PES", "PES"),
    ("PET", "PET"),
    ("PETG", "PETG"),
    ("PLA", "PLA"),
    ("PMMA", "PMMA"),
    ("POM", "POM"),
    ("PP", "PP"),
    ("PPA", "PPA"),
    ("PPS", "PPS"),
    ("PPSU", "PPSU"),
    ("PS", "PS"),
    ("PSU", "PSU"),
    ("PTFE", "PTFE"),
    ("PVC", "PVC"),
    ("PVDF", "PVDF"),
    ("SAN", "SAN"),
    ("SBC", "SBC"),
    ("TPE", "TPE"),
    ("TPU", "TPU"),
    ("UHMWPE", "PE"),
];

/// Words that say what was measured, how, and on which piece, but not of what.
const NOT_MATERIAL: [&str; 22] = [
    "absorbance",
    "collimated",
    "diffuse",
    "direct",
    "measured",
    "measurement",
    "mm",
    "no",
    "nr",
    "of",
    "plaque",
    "plate",
    "r",
    "reflectance",
    "run",
    "sample",
    "scan",
    "specimen",
    "t",
    "total",
    "transmission",
    "transmittance",
];

/// Polymers a file names: in its sample line, its columns, or its own name.
pub(super) fn polymers(file: &str, shares: &ShareFile) -> BTreeSet<String> {
    let mut texts: Vec<&str> = shares.sample.iter().map(String::as_str).collect();
    texts.extend(shares.plaques.iter().map(|it| it.name.as_str()));
    texts.extend(shares.reflectances.iter().map(|it| it.name.as_str()));
    let mut all: BTreeSet<String> = texts
        .iter()
        .flat_map(|text| words(text))
        // "PC" is a polymer, "pc" a personal computer; with a figure in it there is no doubt.
        .filter(|it| {
            it.chars()
                .all(|c| c.is_ascii_uppercase() || c.is_ascii_digit())
                || has_figure(it)
        })
        .filter_map(polymer)
        .collect();
    if all.is_empty() {
        let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
        let stem = name.rsplit_once('.').map_or(name, |it| it.0);
        all = words(stem).filter_map(polymer).collect();
    }
    all
}

/// True where two sample names differ in more than numbers, lengths and what was measured.
pub(super) fn is_other(first: &str, second: &str) -> bool {
    let material = |text: &str| -> BTreeSet<String> {
        words(text)
            .map(str::to_lowercase)
            .filter(|it| !NOT_MATERIAL.contains(&it.as_str()))
            .filter(|it| !it.starts_with(|c: char| c.is_ascii_digit()))
            .map(|it| {
                it.trim_end_matches(|c: char| c.is_ascii_digit())
                    .to_string()
            })
            .filter(|it| 1 < it.chars().count())
            .collect()
    };
    let (first, second) = (material(first), material(second));
    !first.is_empty() && !second.is_empty() && first != second
}

/// True for a column name without a word or figure that tells one plaque from another, such as `%T`,
/// `T total [%]` or `column 2`.
pub(super) fn says_nothing(name: &str) -> bool {
    const COLUMN: [&str; 13] = [
        "a",
        "abs",
        "au",
        "channel",
        "column",
        "data",
        "fraction",
        "intensity",
        "light",
        "percent",
        "spectrum",
        "value",
        "y",
    ];
    let lower = name.to_lowercase();
    let numbered = lower.starts_with("column ");
    words(&lower).all(|it| {
        NOT_MATERIAL.contains(&it)
            || COLUMN.contains(&it)
            || (numbered && it.bytes().all(|it| it.is_ascii_digit()))
    })
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|it: char| !it.is_alphanumeric())
        .filter(|it| !it.is_empty())
}

fn has_figure(word: &str) -> bool {
    word.chars().any(|it| it.is_ascii_digit())
}

fn polymer(word: &str) -> Option<String> {
    let upper = word.to_uppercase();
    POLYMERS
        .iter()
        .find(|(short, _)| *short == upper)
        .map(|(_, name)| (*name).to_string())
}
