//! Columns with name and unit, written as CSV, JSON, Markdown, terminal text or HTML cells.
//!
//! Numbers in CSV and JSON carry full precision and come back bit for bit; everywhere else they are
//! rounded for reading. A missing value is an empty field in CSV, `null` in JSON, a dash in print.

use comfy_table::CellAlignment;
use comfy_table::ContentArrangement;
use comfy_table::LineStyle;
use comfy_table::TableStyle;
use comfy_table::presets;
use serde_json::Map;
use serde_json::Value;

use crate::error::ReportProblem;
use crate::report::number::MISSING;
use crate::report::number::significant;

/// Rows that need one line each are told apart without rules between them.
const ONE_LINE_ROWS: TableStyle =
    TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));

/// A table, complete but not yet written.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What the table holds; may be empty.
    pub title: String,
    /// Columns, left to right. Short ones are filled up with missing values.
    pub columns: Vec<Column>,
}

/// One column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Quantity.
    pub name: String,
    /// Unit; empty for none.
    pub unit: String,
    /// What stands in its rows.
    pub cells: Vec<Cell>,
    /// Significant digits for reading.
    pub digits: usize,
}

/// One value.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number; one that is not finite counts as missing.
    Number(f64),
    /// Words.
    Text(String),
    /// Nothing.
    Missing,
}

/// One input of a computation, as the page lists it.
#[derive(Clone, Debug, PartialEq)]
pub struct InputRow {
    /// Quantity.
    pub quantity: String,
    /// Value, already in the unit an engineer reads.
    pub value: String,
    /// Unit; empty for none.
    pub unit: String,
    /// Where the value comes from.
    pub source: String,
    /// How far it can be trusted: measured, published, handbook, common practice, from memory.
    pub status: String,
}

impl Column {
    /// A column of numbers, read with four digits.
    pub fn numbers(
        name: impl Into<String>,
        unit: impl Into<String>,
        values: impl IntoIterator<Item = f64>,
    ) -> Self {
        Column {
            name: name.into(),
            unit: unit.into(),
            cells: values.into_iter().map(Cell::Number).collect(),
            digits: 4,
        }
    }

    /// A column of words.
    pub fn words<W: Into<String>>(
        name: impl Into<String>,
        words: impl IntoIterator<Item = W>,
    ) -> Self {
        Column {
            name: name.into(),
            unit: String::new(),
            cells: words.into_iter().map(|it| Cell::Text(it.into())).collect(),
            digits: 4,
        }
    }

    /// The same column read with `digits` significant digits.
    pub fn digits(self, digits: usize) -> Self {
        Column { digits, ..self }
    }

    /// Name and unit: "Power (W)".
    pub fn heading(&self) -> String {
        if self.unit.is_empty() {
            self.name.clone()
        } else {
            format!("{} ({})", self.name, self.unit)
        }
    }

    /// Whether the column holds numbers, and is set flush right.
    pub fn is_numeric(&self) -> bool {
        !self.cells.iter().any(|it| matches!(it, Cell::Text(_)))
            && self.cells.iter().any(|it| matches!(it, Cell::Number(_)))
    }

    fn read(&self, row: usize) -> String {
        match self.cells.get(row) {
            Some(Cell::Number(value)) if value.is_finite() => significant(*value, self.digits),
            Some(Cell::Text(words)) if !words.is_empty() => words.clone(),
            Some(_) | None => MISSING.to_string(),
        }
    }
}

impl Table {
    /// A table of columns.
    pub fn new(title: impl Into<String>, columns: Vec<Column>) -> Self {
        Table {
            title: title.into(),
            columns,
        }
    }

    /// A table of inputs with value, unit, source and status.
    pub fn of_inputs(title: impl Into<String>, rows: &[InputRow]) -> Self {
        let column = |name: &str, of: fn(&InputRow) -> &String| {
            Column::words(name, rows.iter().map(|it| of(it).as_str()))
        };
        Table::new(
            title,
            vec![
                column("Input", |it| &it.quantity),
                column("Value", |it| &it.value),
                column("Unit", |it| &it.unit),
                column("Source", |it| &it.source),
                column("Status", |it| &it.status),
            ],
        )
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.columns
            .iter()
            .map(|it| it.cells.len())
            .max()
            .unwrap_or(0)
    }

    /// Headings, left to right.
    pub fn headings(&self) -> Vec<String> {
        self.columns.iter().map(Column::heading).collect()
    }

    /// Rows as text rounded for reading.
    pub fn reading_rows(&self) -> Vec<Vec<String>> {
        (0..self.rows())
            .map(|row| self.columns.iter().map(|it| it.read(row)).collect())
            .collect()
    }

    /// As CSV (RFC 4180) with one heading line, numbers in full precision.
    ///
    /// # Errors
    ///
    /// [`ReportProblem::Table`] if the writer refuses, which memory alone can cause.
    pub fn csv(&self) -> Result<String, ReportProblem> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let mut rows = vec![self.headings()];
        for row in 0..self.rows() {
            let field = |column: &Column| match column.cells.get(row) {
                // Rust prints the shortest decimals that read back to the same bits.
                Some(Cell::Number(value)) if value.is_finite() => format!("{value:?}"),
                Some(Cell::Text(words)) => words.clone(),
                Some(Cell::Number(_) | Cell::Missing) | None => String::new(),
            };
            rows.push(self.columns.iter().map(field).collect());
        }
        for row in rows {
            writer.write_record(&row).map_err(problem)?;
        }
        String::from_utf8(writer.into_inner().map_err(problem)?).map_err(problem)
    }

    /// As JSON: title, units by column name, and one object a row.
    ///
    /// A name that comes again is numbered: "Peak", "Peak 2".
    pub fn json(&self) -> Value {
        let keys = self.keys();
        let units: Map<String, Value> = keys
            .iter()
            .zip(&self.columns)
            .map(|(key, it)| (key.clone(), it.unit.clone().into()))
            .collect();
        let value = |column: &Column, row: usize| match column.cells.get(row) {
            Some(Cell::Number(value)) if value.is_finite() => Value::from(*value),
            Some(Cell::Text(words)) => Value::from(words.as_str()),
            Some(Cell::Number(_) | Cell::Missing) | None => Value::Null,
        };
        let rows: Vec<Value> = (0..self.rows())
            .map(|row| {
                let cells = keys.iter().zip(&self.columns);
                cells
                    .map(|(key, it)| (key.clone(), value(it, row)))
                    .collect::<Map<_, _>>()
                    .into()
            })
            .collect();
        serde_json::json!({ "title": self.title, "units": units, "rows": rows })
    }

    fn keys(&self) -> Vec<String> {
        let mut keys: Vec<String> = Vec::new();
        for column in &self.columns {
            let mut key = column.name.clone();
            let mut number = 2;
            while keys.contains(&key) {
                key = format!("{} {number}", column.name);
                number += 1;
            }
            keys.push(key);
        }
        keys
    }

    /// As Markdown.
    pub fn markdown(&self) -> String {
        // A bar would end the cell.
        let safe = |it: &String| it.replace('|', "\\|").replace('\n', " ");
        let mut text = String::new();
        let row = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
        text.push_str(&row(self.headings().iter().map(safe).collect()));
        let rule = |it: &Column| if it.is_numeric() { "---:" } else { "---" }.to_string();
        text.push_str(&row(self.columns.iter().map(rule).collect()));
        for cells in self.reading_rows() {
            text.push_str(&row(cells.iter().map(safe).collect()));
        }
        text
    }

    /// Characters across that the widest cells and headings need, with a blank either side.
    fn natural_width(&self) -> usize {
        let rows = self.reading_rows();
        let headings = self.headings();
        let width = |column: usize| {
            rows.iter()
                .filter_map(|row| row.get(column))
                .chain(headings.get(column))
                .map(|it| it.chars().count())
                .max()
                .unwrap_or(0)
        };
        (0..self.columns.len())
            .map(|it| width(it) + 2)
            .sum::<usize>()
            + self.columns.len()
    }

    /// For a terminal `width` characters wide; `None` lets lines run on.
    pub fn terminal(&self, width: Option<u16>) -> String {
        let mut table = comfy_table::Table::new();
        table.load_style(ONE_LINE_ROWS);
        table.set_header(self.headings());
        table.add_rows(self.reading_rows());
        if let Some(width) = width
            && usize::from(width) < self.natural_width()
        {
            table.load_style(presets::UTF8_HORIZONTAL_ONLY);
            table.set_content_arrangement(ContentArrangement::Dynamic);
            table.set_width(width);
        }
        for (shown, column) in table.column_iter_mut().zip(&self.columns) {
            if column.is_numeric() {
                shown.set_cell_alignment(CellAlignment::Right);
            }
        }
        table.trim_fmt()
    }
}

fn problem(reason: impl std::fmt::Display) -> ReportProblem {
    ReportProblem::Table {
        reason: reason.to_string(),
    }
}
