//! Tests of `colour`: tables, tristimulus values, L*a*b*, differences, swatches.

mod difference;

mod srgb;

mod tristimulus;

use std::fs;

use crate::support::project;

/// Rows of a published table as cells, without comments and heading.
fn rows(name: &str) -> Vec<Vec<String>> {
    let text = fs::read_to_string(project(&format!("tests/published/{name}"))).unwrap();
    text.lines()
        .filter(|it| !it.starts_with('#'))
        .skip(1)
        .map(|it| it.split(',').map(str::to_string).collect())
        .collect()
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap()
}
