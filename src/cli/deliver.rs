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

/// Writes page, figures and tables of a report, and says where.
///
/// # Errors
/// The folder cannot be written.
pub fn report(terminal: &Terminal, dir: &Path, report: &Report) -> Result<(), Error> {
    report
        .figures
        .par_iter()
        .map(|(name, figure)| {
            let drawn = svg::document(figure);
            files::write(&dir.join(format!("{name}.svg")), drawn.as_bytes())?;
            files::write(&dir.join(format!("{name}.png")), &png::encode(&drawn)?)
        })
        .collect::<Result<(), Error>>()?;
    for (name, table) in &report.tables {
        files::write(&dir.join(format!("{name}.csv")), table.csv()?.as_bytes())?;
    }
    files::write(&dir.join("index.html"), report.page.html()?.as_bytes())?;
    terminal.remark(&format!("report: {}", dir.join("index.html").display()));
    Ok(())
}
