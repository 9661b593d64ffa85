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

/// Writes the starter into a new folder.
///
/// # Errors
/// The folder has something in it, or cannot be written.
pub fn run(dir: &Path, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    files::must_be_free(dir)?;
    let batch = files::Batch::new(dir)?;
    for (name, text) in FILES {
        batch.add(name, text.as_bytes())?;
    }
    batch.commit()?;
    let shown = dir.display();
    if manner.json {
        let names: Vec<&str> = FILES.iter().map(|it| it.0).collect();
        deliver::json(
            terminal,
            &serde_json::json!({ "folder": shown.to_string(), "files": names }),
        );
    } else {
        let list: String = FILES
            .iter()
            .map(|it| format!("  {shown}/{}\n", it.0))
            .collect();
        terminal.result(&format!(
            "wrote\n{list}\nnext\n  lightseam weld {shown}/{JOINT}\n  lightseam window \
             {shown}/{JOINT} --out {shown}/answer"
        ));
    }
    Ok(Answer::Yes)
}
