//! Reference tables built into the program, and the largest deviation from them.

/// A committed table: comments, a heading line, rows.
pub struct Rows {
    heads: Vec<&'static str>,
    rows: Vec<Vec<&'static str>>,
}

impl Rows {
    /// The rows of a table.
    pub fn of(text: &'static str) -> Self {
        let mut lines = text.lines().filter(|it| !it.starts_with('#'));
        let split = |line: &'static str| line.split(',').map(str::trim).collect();
        Rows {
            heads: lines.next().map(split).unwrap_or_default(),
            rows: lines.map(split).collect(),
        }
    }

    /// Each row in turn.
    pub fn iter(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row {
            heads: &self.heads,
            cells,
        })
    }
}

/// One row.
#[derive(Clone, Copy)]
pub struct Row<'r> {
    heads: &'r [&'static str],
    cells: &'r [&'static str],
}

impl Row<'_> {
    /// The cell of a column; empty where there is none.
    pub fn word(&self, head: &str) -> &'static str {
        let at = self.heads.iter().position(|it| *it == head);
        at.and_then(|it| self.cells.get(it)).copied().unwrap_or("")
    }

    /// The number of a column; not a number where there is none, which no check lets pass.
    pub fn number(&self, head: &str) -> f64 {
        self.word(head).parse().unwrap_or(f64::NAN)
    }
}

/// The largest of several deviations, with their count.
#[derive(Clone, Copy, Debug, Default)]
pub struct Worst {
    /// Values compared.
    pub values: usize,
    /// Largest deviation; not a number once one is not.
    pub deviation: f64,
}

impl Worst {
    /// Counts a deviation.
    pub fn add(&mut self, deviation: f64) {
        let size = deviation.abs();
        self.values += 1;
        if self.deviation < size || size.is_nan() {
            self.deviation = size;
        }
    }

    /// Counts the difference of two values.
    pub fn compare(&mut self, found: f64, expected: f64) {
        self.add(found - expected);
    }

    /// Counts the difference of two values as a share of the expected one.
    pub fn compare_relative(&mut self, found: f64, expected: f64) {
        self.add(found / expected - 1.0);
    }
}
