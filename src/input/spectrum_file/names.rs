//! Column names: which line above a table holds them, and what it says about separators.

use crate::input::spectrum_file::style::{Separator, Style};

/// Column names: the last line before the table with as many cells; a line of units under it is
/// joined to the names. Gives also the index of the first of these lines.
pub(super) fn column_names(
    before: &[&str],
    columns: usize,
    style: Style,
) -> (Vec<String>, Option<usize>) {
    let filled = |at: usize| before[..at].iter().rposition(|it| !it.trim().is_empty());
    let empty = (Vec::new(), None);
    let Some(at) = filled(before.len()) else {
        return empty;
    };
    let Some(names) = name_cells(before[at], columns, style) else {
        return empty;
    };
    if names.iter().all(|it| is_unit(it))
        && let Some(above) = filled(at)
        && let Some(upper) = name_cells(before[above], columns, style)
        && upper.first().is_some_and(|it| names_an_axis(it))
    {
        let joined = upper
            .iter()
            .zip(&names)
            .map(|(name, unit)| {
                if unit.is_empty() {
                    name.clone()
                } else {
                    format!("{name} [{}]", unit.trim_matches(['[', ']', '(', ')']))
                }
            })
            .collect();
        return (joined, Some(above));
    }
    (names, Some(at))
}

/// Cells of a line of names, if there are as many as columns.
pub(super) fn name_cells(line: &str, columns: usize, style: Style) -> Option<Vec<String>> {
    let line = uncomment(line);
    let mut cells = style.cells(line);
    if style.separator == Separator::Blanks && cells.len() != columns {
        cells = line
            .split("  ")
            .map(|it| it.trim().to_string())
            .filter(|it| !it.is_empty())
            .collect();
    }
    if cells.len() < columns && cells.len() + 1 >= columns && style.separator != Separator::Blanks {
        cells.resize(columns, String::new());
    }
    let text = cells
        .iter()
        .any(|it| it.chars().any(char::is_alphabetic) || it.contains('%'));
    (cells.len() == columns && text).then_some(cells)
}

/// With comma as separator: names in half as many columns mean that the comma is the decimal sign
/// too.
pub(super) fn header_mismatch(before: &[&str], columns: usize, style: Style) -> Option<String> {
    if style.separator != Separator::Sign(',') {
        return None;
    }
    let names = name_count(before, style)?;
    (names < columns && columns <= 2 * names)
        .then(|| format!("{names} column names stand over {columns} columns separated by comma"))
}

/// Cells of the line above the table, if they are two or more and not blanks between words.
pub(super) fn name_count(before: &[&str], style: Style) -> Option<usize> {
    if style.separator == Separator::Blanks {
        return None;
    }
    let line = before.iter().rev().find(|it| !it.trim().is_empty())?;
    Some(style.cells(uncomment(line)).len()).filter(|it| 2 <= *it)
}

/// True for what stands above the wavelengths; a free line such as "conditioning" does not.
fn names_an_axis(cell: &str) -> bool {
    let lower = cell.to_lowercase();
    let words = [
        "wave", "wellen", "lambda", "λ", "nm", "abscissa", "freq", "longueur",
    ];
    matches!(lower.trim(), "" | "x" | "wl") || words.iter().any(|it| lower.contains(it))
}

fn is_unit(cell: &str) -> bool {
    let plain = cell.trim_matches(['[', ']', '(', ')', ' ']).to_lowercase();
    matches!(
        plain.as_str(),
        "" | "nm"
            | "µm"
            | "μm"
            | "um"
            | "1/cm"
            | "cm-1"
            | "cm^-1"
            | "cm⁻¹"
            | "%"
            | "%t"
            | "t%"
            | "%r"
            | "r%"
            | "t"
            | "r"
            | "-"
            | "1"
            | "a"
            | "abs"
            | "a.u."
            | "1/mm"
            | "1/m"
            | "fraction"
            | "percent"
    )
}

pub(super) fn uncomment(line: &str) -> &str {
    line.trim().trim_start_matches(['#', '!', '%', '*']).trim()
}
