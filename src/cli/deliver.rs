//! Hands results over: JSON on standard output, reports into a folder.

use std::path::Path;

use rayon::prelude::*;

use crate::cli::files;
use crate::cli::terminal::Terminal;
use crate::error::Error;
use crate::report::{Report, png, svg};

/// Prints a value as JSON.
pub fn json(terminal: &Terminal, value: &serde_json::Value) {
    terminal.result(&format!("{value:#}"));
}

/// Writes page, figures and tables of a report together, and says where.
///
/// # Errors
/// The folder cannot be written, or has files in it that are not of a report.
pub fn report(terminal: &Terminal, dir: &Path, report: &Report) -> Result<(), Error> {
    report_with(terminal, dir, report, &[])
}

/// The same with further files: name, content.
///
/// # Errors
/// The folder cannot be written, or has files in it that are not of a report.
pub fn report_with(
    terminal: &Terminal,
    dir: &Path,
    report: &Report,
    further: &[(&str, String)],
) -> Result<(), Error> {
    let batch = files::Batch::new(dir)?;
    report
        .figures
        .par_iter()
        .map(|(name, figure)| {
            let drawn = svg::document(figure);
            batch.add(&format!("{name}.svg"), drawn.as_bytes())?;
            batch.add(&format!("{name}.png"), &png::encode(&drawn)?)
        })
        .collect::<Result<(), Error>>()?;
    for (name, table) in &report.tables {
        batch.add(&format!("{name}.csv"), table.csv()?.as_bytes())?;
    }
    for (name, text) in further {
        batch.add(name, text.as_bytes())?;
    }
    batch.add(files::PAGE, report.page.html()?.as_bytes())?;
    files::must_be_own(dir, &batch.names())?;
    batch.commit()?;
    terminal.remark(&format!("report: {}", dir.join(files::PAGE).display()));
    Ok(())
}
