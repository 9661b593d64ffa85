//! Files that were left out, with their errors, as a table and as JSON.

use serde_json::{Value, json};

use crate::error::Error;
use crate::report::table::{Column, Table};

/// File, what is wrong and the cure, one row a file.
pub fn table(title: &str, failed: &[(String, Error)]) -> Table {
    let cure = |it: &Error| it.cure_text().unwrap_or("").to_string();
    Table::new(
        title,
        vec![
            Column::words("File", failed.iter().map(|it| it.0.as_str())),
            Column::words(
                "Why",
                failed.iter().map(|it| {
                    let line = it.1.place().and_then(|it| it.line);
                    let line = line.map_or(String::new(), |it| format!(" (line {it})"));
                    format!("{}{line}", it.1.problem())
                }),
            ),
            Column::words("Cure", failed.iter().map(|it| cure(&it.1))),
        ],
    )
}

/// The same for programs.
pub fn rows(failed: &[(String, Error)]) -> Vec<Value> {
    failed
        .iter()
        .map(|(file, error)| {
            json!({
                "file": file,
                "error": error.problem().to_string(),
                "place": error.place().map(ToString::to_string),
                "cure": error.cure_text(),
            })
        })
        .collect()
}

/// "; 1 file is left out", empty for none.
pub fn words(failed: &[(String, Error)]) -> String {
    match failed.len() {
        0 => String::new(),
        1 => "; 1 file is left out".into(),
        some => format!("; {some} files are left out"),
    }
}
