//! `new`: a starter joint file with its spectra and cards, and the same files for the demo.

use std::path::Path;

use crate::cli::args::Manner;
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, files};
use crate::error::{Error, FileProblem};

/// The starter's files: path below the new folder, content.
pub const FILES: [(&str, &str); 5] = [
    (JOINT, include_str!("starter/joint.toml")),
    (
        "cards/lid-pp-natural.toml",
        include_str!("starter/cards/lid-pp-natural.toml"),
    ),
    (
        "cards/body-pp-black.toml",
        include_str!("starter/cards/body-pp-black.toml"),
    ),
    (
        "spectra/lid-1.0mm.csv",
        include_str!("starter/spectra/lid-1.0mm.csv"),
    ),
    (
        "spectra/lid-2.0mm.csv",
        include_str!("starter/spectra/lid-2.0mm.csv"),
    ),
];

/// Files of a colourant supplier, invented: a standard, and lots in the order they were made.
pub const COLOUR_FILES: [(&str, &str); 14] = [
    (BLACK_JOINT, include_str!("starter/black-joint.toml")),
    (
        "colour/standard.csv",
        include_str!("starter/colour/standard.csv"),
    ),
    (
        "colour/batches/lot-01.csv",
        include_str!("starter/colour/batches/lot-01.csv"),
    ),
    (
        "colour/batches/lot-02.csv",
        include_str!("starter/colour/batches/lot-02.csv"),
    ),
    (
        "colour/batches/lot-03.csv",
        include_str!("starter/colour/batches/lot-03.csv"),
    ),
    (
        "colour/batches/lot-04.csv",
        include_str!("starter/colour/batches/lot-04.csv"),
    ),
    (
        "colour/batches/lot-05.csv",
        include_str!("starter/colour/batches/lot-05.csv"),
    ),
    (
        "colour/batches/lot-06.csv",
        include_str!("starter/colour/batches/lot-06.csv"),
    ),
    (
        "colour/batches/lot-07.csv",
        include_str!("starter/colour/batches/lot-07.csv"),
    ),
    (
        "colour/batches/lot-08.csv",
        include_str!("starter/colour/batches/lot-08.csv"),
    ),
    (
        "colour/batches/lot-09.csv",
        include_str!("starter/colour/batches/lot-09.csv"),
    ),
    (
        "colour/batches/lot-10.csv",
        include_str!("starter/colour/batches/lot-10.csv"),
    ),
    (
        "colour/batches/lot-11.csv",
        include_str!("starter/colour/batches/lot-11.csv"),
    ),
    (
        "colour/batches/lot-12.csv",
        include_str!("starter/colour/batches/lot-12.csv"),
    ),
];

/// Name of the joint file among [`FILES`].
pub const JOINT: &str = "joint.toml";

/// Gives a starter file by the name the joint file uses.
///
/// # Errors
/// There is no such file.
pub fn read(name: &str) -> Result<Vec<u8>, Error> {
    FILES
        .iter()
        .find(|it| it.0 == name)
        .map(|it| it.1.as_bytes().to_vec())
        .ok_or_else(|| {
            Error::new(FileProblem::Read {
                path: name.into(),
                reason: "it is not part of the starter".into(),
            })
        })
}

/// Name of the joint file among [`COLOUR_FILES`].
pub const BLACK_JOINT: &str = "black-joint.toml";

/// Writes the starter into a new folder, with the batches of a colourant supplier where asked.
///
/// # Errors
/// The folder has something in it, or cannot be written.
pub fn run(
    dir: &Path,
    colour: bool,
    manner: &Manner,
    terminal: &Terminal,
) -> Result<Answer, Error> {
    files::must_be_free(dir)?;
    let more: &[(&str, &str)] = if colour { &COLOUR_FILES } else { &[] };
    let all: Vec<(&str, &str)> = FILES.iter().chain(more).copied().collect();
    let batch = files::Batch::new(dir)?;
    for (name, text) in &all {
        batch.add(name, text.as_bytes())?;
    }
    batch.commit()?;
    let shown = dir.display();
    if manner.json {
        let names: Vec<&str> = all.iter().map(|it| it.0).collect();
        deliver::json(
            terminal,
            &serde_json::json!({ "folder": shown.to_string(), "files": names }),
        );
        return Ok(Answer::Yes);
    }
    let list: String = all
        .iter()
        .map(|it| format!("  {shown}/{}\n", it.0))
        .collect();
    let mut next = format!(
        "  lightseam weld {shown}/{JOINT}\n  lightseam window {shown}/{JOINT} --out {shown}/answer"
    );
    if colour {
        next = format!(
            "  lightseam colour {shown}/colour/standard.csv\n  lightseam colour \
             {shown}/colour/batches --standard {shown}/colour/standard.csv --joint {shown}/{BLACK_JOINT} \
             --limit \"dE00 <= 1\" --limit \"T >= 60 %\" --out {shown}/answer"
        );
    }
    terminal.result(&format!("wrote\n{list}\nnext\n{next}"));
    Ok(Answer::Yes)
}
