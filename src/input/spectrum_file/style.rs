//! Separators and decimal signs of exported tables.

/// How columns are separated and which sign stands before decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Style {
    pub separator: Separator,
    pub decimal: char,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Separator {
    Sign(char),
    Blanks,
}

/// Every style tried, the likeliest first.
pub(super) const STYLES: [Style; 7] = [
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
    /// The style in words.
    pub fn words(self) -> String {
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

    /// Cells of a line, trimmed, without empty ones at the end.
    pub fn cells(self, line: &str) -> Vec<String> {
        let mut cells = match self.separator {
            Separator::Sign(sign) => split_quoted(line, sign),
            Separator::Blanks => line.split_whitespace().map(String::from).collect(),
        };
        while cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        cells
    }

    /// The number of a cell, if it is one.
    pub fn number(self, cell: &str) -> Option<f64> {
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
    pub fn is_row(self, line: &str) -> bool {
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
