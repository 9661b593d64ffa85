//! The block of numbers in an instrument's file, and the free lines before it.
//!
//! Separator and decimal sign are found by trying: the pair under which most lines are numbers in
//! at least two columns.

use crate::error::input::SpectrumProblem;
use crate::error::{Error, InputProblem, Place};

/// How columns are separated and which sign stands before decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Style {
    separator: Separator,
    decimal: char,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Separator {
    Sign(char),
    Blanks,
}

const STYLES: [Style; 7] = [
    style(Separator::Sign('\t'), '.'),
    style(Separator::Sign('\t'), ','),
    style(Separator::Sign(';'), '.'),
    style(Separator::Sign(';'), ','),
    style(Separator::Sign(','), '.'),
    style(Separator::Blanks, '.'),
    style(Separator::Blanks, ','),
];

const fn style(separator: Separator, decimal: char) -> Style {
    Style { separator, decimal }
}

impl Style {
    fn words(self) -> String {
        let separator = match self.separator {
            Separator::Sign('\t') => "tab",
            Separator::Sign(';') => "semicolon",
            Separator::Sign(_) => "comma",
            Separator::Blanks => "blanks",
        };
        let decimal = if self.decimal == ',' {
            "comma"
        } else {
            "point"
        };
        format!("{separator} with decimal {decimal}")
    }

    fn cells(self, line: &str) -> Vec<String> {
        let mut cells = match self.separator {
            Separator::Sign(sign) => split_quoted(line, sign),
            Separator::Blanks => line.split_whitespace().map(String::from).collect(),
        };
        while cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        cells
    }

    fn number(self, cell: &str) -> Option<f64> {
        let plain = if self.decimal == ',' {
            if cell.contains('.') {
                return None;
            }
            cell.replacen(',', ".", 1)
        } else {
            cell.to_string()
        };
        let starts = plain.trim_start_matches(['+', '-', '.']);
        if !starts.starts_with(|it: char| it.is_ascii_digit()) {
            return None;
        }
        plain.parse::<f64>().ok().filter(|it| it.is_finite())
    }

    /// True where the line is numbers in at least two columns; blanks may stand for missing values.
    fn is_row(self, line: &str) -> bool {
        let cells = self.cells(line);
        let number = |cell: &String| self.number(cell).is_some();
        2 <= cells.len()
            && cells.first().is_some_and(number)
            && cells.iter().skip(1).any(number)
            && cells.iter().all(|it| it.is_empty() || number(it))
    }
}

fn split_quoted(line: &str, sign: char) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        if letter == '"' {
            quoted = !quoted;
        } else if letter == sign && !quoted {
            cells.push(String::new());
        } else if let Some(last) = cells.last_mut() {
            last.push(letter);
        }
    }
    cells.iter().map(|it| it.trim().to_string()).collect()
}

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

/// Column names: the last line before the table with as many cells; a line of units under it is
/// joined to the names. Gives also the index of the first of these lines.
fn column_names(before: &[&str], columns: usize, style: Style) -> (Vec<String>, Option<usize>) {
    let filled = |at: usize| before[..at].iter().rposition(|it| !it.trim().is_empty());
    let empty = (Vec::new(), None);
    let Some(at) = filled(before.len()) else {
        return empty;
    };
    let Some(names) = name_cells(before[at], columns, style) else {
        return empty;
    };
    if names.iter().all(|it| is_unit(it)) {
        if let Some((above, upper)) =
            filled(at).and_then(|above| Some((above, name_cells(before[above], columns, style)?)))
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
    }
    (names, Some(at))
}

/// Cells of a line of names, if there are as many as columns.
fn name_cells(line: &str, columns: usize, style: Style) -> Option<Vec<String>> {
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
fn header_mismatch(before: &[&str], columns: usize, style: Style) -> Option<String> {
    if style.separator != Separator::Sign(',') {
        return None;
    }
    let names = name_count(before, style)?;
    (names < columns && columns <= 2 * names)
        .then(|| format!("{names} column names stand over {columns} columns separated by comma"))
}

/// Cells of the line above the table, if they are two or more and not blanks between words.
fn name_count(before: &[&str], style: Style) -> Option<usize> {
    if style.separator == Separator::Blanks {
        return None;
    }
    let line = before.iter().rev().find(|it| !it.trim().is_empty())?;
    Some(style.cells(uncomment(line)).len()).filter(|it| 2 <= *it)
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

fn uncomment(line: &str) -> &str {
    line.trim().trim_start_matches(['#', '!', '%', '*']).trim()
}

fn header_line(text: &str, style: Style) -> HeaderLine {
    let text = uncomment(text);
    let mut cells = style.cells(text);
    if cells.len() < 2 || style.separator == Separator::Blanks {
        if let Some((key, value)) = text.split_once([':', '=']) {
            cells = vec![key.trim().into(), value.trim().into()];
        }
    }
    HeaderLine {
        text: text.into(),
        cells,
    }
}
