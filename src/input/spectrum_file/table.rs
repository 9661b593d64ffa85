//! The block of numbers in an instrument's file, and the free lines before it.
//!
//! Separator and decimal sign are found by trying: the pair under which most lines are numbers in
//! at least two columns.

use crate::error::input::SpectrumProblem;
use crate::error::{Error, InputProblem, Place};
use crate::input::spectrum_file::names::{column_names, header_mismatch, name_count, uncomment};
use crate::input::spectrum_file::style::{STYLES, Separator, Style};

/// One row of the table.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Line in the file, from 1.
    pub line: usize,
    /// Cells as written.
    pub cells: Vec<String>,
    /// Their numbers; none for an empty cell.
    pub values: Vec<Option<f64>>,
}

/// A line before the table.
#[derive(Clone, Debug)]
pub(super) struct HeaderLine {
    /// The text, without a leading comment sign.
    pub text: String,
    /// The text cut at the table's separator (at colon or equals sign where that does not occur).
    pub cells: Vec<String>,
}

/// The numbers of a file and what stands before them.
#[derive(Clone, Debug)]
pub(super) struct Table {
    /// File name as the user wrote it.
    pub file: String,
    /// Free lines before the column names.
    pub header: Vec<HeaderLine>,
    /// Column names, empty where the file has none.
    pub names: Vec<String>,
    /// Line of the column names, or of the first row.
    pub names_line: usize,
    /// The rows, in the order of the file; at least two, all with as many cells as names.
    pub rows: Vec<Row>,
}

impl Table {
    /// A place in the file.
    pub fn place(&self, line: usize) -> Place {
        place(&self.file, line)
    }

    /// An error at a line.
    pub fn error(&self, line: usize, problem: SpectrumProblem) -> Error {
        Error::new(InputProblem::Spectrum(problem)).at(self.place(line))
    }

    /// Finds the table in `text`.
    ///
    /// # Errors
    /// No numbers in columns, one row only, text among the numbers, or mixed separators.
    pub fn find(text: &str, file: &str) -> Result<Self, Error> {
        let lines: Vec<&str> = lines(text);
        let error = |line: usize, problem: SpectrumProblem| {
            Error::new(InputProblem::Spectrum(problem)).at(place(file, line))
        };
        let count = |style: Style| lines.iter().filter(|it| style.is_row(it)).count();
        // The first of several equals wins; `max_by_key` takes the last, hence the reversal.
        let best = STYLES
            .iter()
            .rev()
            .map(|it| (count(*it), *it))
            .max_by_key(|(rows, _)| *rows);
        let Some((_, style)) = best.filter(|(rows, _)| 0 < *rows) else {
            return Err(error(1, SpectrumProblem::NoTable).cure(
                "export as text: one row a wavelength, columns separated by comma, semicolon or tab",
            ));
        };
        let (start, end) = table_span(&lines, style);
        let rows = read_rows(&lines, (start, end), style, &error)?;
        let columns = rows[0].cells.len();
        let (names, names_at) = column_names(&lines[..start], columns, style);
        if let Some(found) = header_mismatch(&lines[..start], columns, style) {
            return Err(
                error(start + 1, SpectrumProblem::MixedSeparators { found }).cure(
                    "a comma cannot both separate columns and stand before decimals: export with \
                 semicolons or with a decimal point",
                ),
            );
        }
        let header = lines[..names_at.unwrap_or(start)]
            .iter()
            .filter(|text| !text.trim().is_empty())
            .map(|text| header_line(text, style))
            .collect();
        Ok(Table {
            file: file.into(),
            header,
            names,
            names_line: names_at.unwrap_or(start) + 1,
            rows,
        })
    }
}

fn place(file: &str, line: usize) -> Place {
    Place {
        file: file.into(),
        line: Some(line),
        column: None,
    }
}

/// Lines ended by LF, CR LF or CR.
fn lines(text: &str) -> Vec<&str> {
    text.split('\n')
        .flat_map(|it| it.strip_suffix('\r').unwrap_or(it).split('\r'))
        .collect()
}

/// First line of the table and the line behind its last: everything between the first and the last
/// row belongs to the table, so that nothing is passed over in silence.
fn table_span(lines: &[&str], style: Style) -> (usize, usize) {
    let is_row: Vec<bool> = lines.iter().map(|it| style.is_row(it)).collect();
    let first = is_row.iter().position(|it| *it).unwrap_or(0);
    // A first row may be the one that is broken.
    let like_row = |at: usize| {
        let cells = style.cells(lines[at]);
        2 <= cells.len() && cells.first().is_some_and(|it| style.number(it).is_some())
    };
    let mut start = first;
    while 0 < start && like_row(start - 1) {
        start -= 1;
    }
    let last = is_row.iter().rposition(|it| *it).unwrap_or(first);
    // A last row may be the one that is broken.
    let mut end = last + 1;
    let begins_like_row = |at: usize| {
        let cells = style.cells(lines[at]);
        cells.first().is_some_and(|it| style.number(it).is_some())
    };
    while end < lines.len() && begins_like_row(end) {
        end += 1;
    }
    (start, end)
}

fn read_rows(
    lines: &[&str],
    (start, end): (usize, usize),
    style: Style,
    error: &dyn Fn(usize, SpectrumProblem) -> Error,
) -> Result<Vec<Row>, Error> {
    let first = style.cells(lines[start]);
    let named = name_count(&lines[..start], style);
    let most = lines[start..end]
        .iter()
        .map(|it| style.cells(it).len())
        .max()
        .unwrap_or(first.len());
    let mut found = Vec::with_capacity(end - start);
    for (at, text) in lines.iter().enumerate().take(end).skip(start) {
        if text.trim().is_empty() {
            continue;
        }
        let mut cells = style.cells(text);
        let mut values = Vec::with_capacity(cells.len());
        for (column, cell) in cells.iter().enumerate() {
            let value = style.number(cell);
            if value.is_none() && (column == 0 || !cell.is_empty()) {
                let names = column_names(&lines[..start], most, style).0;
                let name = names.get(column).cloned();
                let name = name.unwrap_or_else(|| format!("{}", column + 1));
                return Err(bad_cell(style, at + 1, text, (&name, cell), error));
            }
            values.push(value);
        }
        let too_many = named.is_some_and(|named| first.len() <= named && named < values.len());
        if values.len() < 2 || too_many {
            return Err(error(
                at + 1,
                SpectrumProblem::UnevenRow {
                    found: values.len(),
                    needed: named.unwrap_or(most),
                },
            )
            .cure(
                "every row needs a wavelength and its values; a comma cannot both separate columns \
                 and stand before decimals",
            ));
        }
        // Empty cells at the end of a row were cut off: they are missing values.
        values.resize(most, None);
        cells.resize(most, String::new());
        found.push(Row {
            line: at + 1,
            cells,
            values,
        });
    }
    if found.len() < 2 {
        return Err(
            error(start + 1, SpectrumProblem::TooFewRows { rows: found.len() })
                .cure("export the whole spectrum, one row a wavelength"),
        );
    }
    Ok(found)
}

fn bad_cell(
    style: Style,
    line: usize,
    text: &str,
    (column, cell): (&str, &str),
    error: &dyn Fn(usize, SpectrumProblem) -> Error,
) -> Error {
    let other = STYLES.iter().find(|it| **it != style && it.is_row(text));
    match other {
        Some(other) => error(
            line,
            SpectrumProblem::MixedSeparators {
                found: format!("{}, and on this line {}", style.words(), other.words()),
            },
        )
        .cure("export all rows in one way"),
        None => error(
            line,
            SpectrumProblem::TextCell {
                column: column.into(),
                cell: cell.chars().take(40).collect(),
            },
        )
        .cure("leave the cell empty or delete the row; one table a file, with nothing between its rows"),
    }
}

fn header_line(text: &str, style: Style) -> HeaderLine {
    let text = uncomment(text);
    let mut cells = style.cells(text);
    if (cells.len() < 2 || style.separator == Separator::Blanks)
        && let Some((key, value)) = text.split_once([':', '='])
    {
        cells = vec![key.trim().into(), value.trim().into()];
    }
    HeaderLine {
        text: text.into(),
        cells,
    }
}
