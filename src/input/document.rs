//! A TOML file as sections and items that know where they stand, so that every refusal names file,
//! line and column.
//!
//! The tree of the parser is walked by hand instead of through derived types: derived flattening and
//! untagged choices lose the position of a value.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::error::{Error, InputProblem, Place};
use crate::input::quantity::{Dimension, Field};

/// Text of a TOML file and its name.
#[derive(Clone, Copy, Debug)]
pub struct Source<'t> {
    /// Name as the user wrote it.
    pub file: &'t str,
    /// The text.
    pub text: &'t str,
}

impl<'t> Source<'t> {
    /// The place of a byte offset.
    pub fn place(&self, offset: usize) -> Place {
        let before = self.text.get(..offset).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |it| it + 1);
        Place {
            file: self.file.into(),
            line: Some(before.matches('\n').count() + 1),
            column: Some(before[line_start..].chars().count() + 1),
        }
    }

    /// The parsed tree.
    ///
    /// # Errors
    /// The text is not TOML.
    pub fn tree(&self) -> Result<Spanned<DeTable<'t>>, Error> {
        DeTable::parse(self.text).map_err(|fault| {
            let offset = fault.span().map_or(0, |span| span.start);
            let error = Error::new(InputProblem::NotToml {
                reason: fault.message().trim().into(),
            })
            .at(self.place(offset));
            let line = self
                .text
                .lines()
                .nth(self.place(offset).line.unwrap_or(1) - 1);
            if line.is_some_and(has_decimal_comma) {
                error.cure(
                    "a decimal comma? quantities are text with a decimal point, such as \"1.5 mm\"",
                )
            } else if line.is_some_and(has_bare_quantity) {
                error.cure("quantities are text in quotes, such as \"1.5 mm\"")
            } else if fault.message().contains("duplicate") {
                error.cure("leave one of the two out")
            } else {
                error.cure(
                    "write `key = value`; text and quantities in double quotes, sections as [name]",
                )
            }
        })
    }
}

/// A comma between two digits.
fn has_decimal_comma(line: &str) -> bool {
    let bytes = line.as_bytes();
    bytes
        .windows(3)
        .any(|w| w[0].is_ascii_digit() && w[1] == b',' && w[2].is_ascii_digit())
}

/// `= 1.5 mm` without quotes.
fn has_bare_quantity(line: &str) -> bool {
    line.split_once('=').is_some_and(|(_, value)| {
        let value = value.trim();
        value.starts_with(|it: char| it.is_ascii_digit())
            && value.contains(|it: char| it.is_alphabetic() || it == '%' || it == '°')
    })
}

/// A table of the file: its items by key.
#[derive(Clone, Debug)]
pub struct Section<'t> {
    source: Source<'t>,
    name: String,
    offset: usize,
    table: &'t DeTable<'t>,
}

/// A value with its key and position.
#[derive(Clone, Debug)]
pub struct Item<'t> {
    source: Source<'t>,
    /// The key, with the keys of the tables around it.
    pub key: String,
    offset: usize,
    value: &'t DeValue<'t>,
}

impl<'t> Section<'t> {
    /// The whole file as a section.
    pub fn root(source: Source<'t>, tree: &'t Spanned<DeTable<'t>>) -> Self {
        Section {
            source,
            name: "the file".into(),
            offset: 0,
            table: tree.get_ref(),
        }
    }

    /// Refuses keys that are not in `known`, naming the nearest that is.
    ///
    /// # Errors
    /// An unknown key.
    pub fn only(&self, known: &[&str]) -> Result<(), Error> {
        let mut unknown: Vec<_> = self
            .table
            .iter()
            .filter(|(key, _)| !known.contains(&key.get_ref().as_ref()))
            .collect();
        unknown.sort_by_key(|(key, _)| key.span().start);
        let Some((key, _)) = unknown.first() else {
            return Ok(());
        };
        let word = key.get_ref().as_ref();
        Err(Error::new(InputProblem::UnknownKey {
            key: word.into(),
            section: self.name.clone(),
        })
        .at(self.source.place(key.span().start))
        .cure(nearest_or_list(word, known)))
    }

    /// The item of a key.
    pub fn get(&self, key: &str) -> Option<Item<'t>> {
        let value = self.table.get(key)?;
        Some(Item {
            source: self.source,
            key: key.into(),
            offset: value.span().start,
            value: value.get_ref(),
        })
    }

    /// The item of a key that has to be there.
    ///
    /// # Errors
    /// It is not.
    pub fn need(&self, key: &str, example: &str) -> Result<Item<'t>, Error> {
        self.get(key).ok_or_else(|| {
            Error::new(InputProblem::MissingKey {
                key: key.into(),
                section: self.name.clone(),
            })
            .at(self.place())
            .cure(format!("add `{key} = {example}`"))
        })
    }

    /// A quantity that has to be there.
    ///
    /// # Errors
    /// It is missing, not a quantity, or out of range.
    pub fn quantity(&self, key: &str, field: &Field) -> Result<f64, Error> {
        let example = if field.dimension == Dimension::Number {
            field.example.to_string()
        } else {
            format!("\"{}\"", field.example)
        };
        self.need(key, &example)?.quantity(field)
    }

    /// A quantity that may be left out.
    ///
    /// # Errors
    /// It is there and is not a quantity or out of range.
    pub fn quantity_if(&self, key: &str, field: &Field) -> Result<Option<f64>, Error> {
        self.get(key).map(|it| it.quantity(field)).transpose()
    }

    /// The section of a key, if there is one.
    ///
    /// # Errors
    /// The key stands for something else than a table.
    pub fn section(&self, key: &str) -> Result<Option<Section<'t>>, Error> {
        self.get(key).map(|it| it.section()).transpose()
    }

    /// A section that has to be there.
    ///
    /// # Errors
    /// It is missing or no table.
    pub fn need_section(&self, key: &str, example: &str) -> Result<Section<'t>, Error> {
        match self.section(key)? {
            Some(section) => Ok(section),
            None => Err(Error::new(InputProblem::MissingKey {
                key: format!("[{key}]"),
                section: self.name.clone(),
            })
            .at(self.place())
            .cure(example)),
        }
    }

    /// Keys in the order of the file.
    pub fn keys(&self) -> Vec<String> {
        let mut keys: Vec<_> = self.table.keys().collect();
        keys.sort_by_key(|it| it.span().start);
        keys.iter().map(|it| it.get_ref().to_string()).collect()
    }

    /// Name in messages, such as `[beam]`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Where the section begins.
    pub fn place(&self) -> Place {
        self.source.place(self.offset)
    }
}

impl<'t> Item<'t> {
    /// Where the value stands.
    pub fn place(&self) -> Place {
        self.source.place(self.offset)
    }

    /// An error at this place.
    pub fn error(&self, problem: InputProblem) -> Error {
        Error::new(problem).at(self.place())
    }

    fn wrong_type(&self, needed: &str) -> Error {
        self.error(InputProblem::WrongType {
            key: self.key.clone(),
            found: self.found(),
            needed: needed.into(),
        })
    }

    /// What stands there, in words.
    fn found(&self) -> String {
        match self.value {
            DeValue::String(text) => format!("the text \"{text}\""),
            DeValue::Integer(number) => format!("the bare number {number}"),
            DeValue::Float(number) => format!("the bare number {number}"),
            DeValue::Boolean(value) => format!("{value}"),
            DeValue::Datetime(value) => format!("the date {value}"),
            DeValue::Array(_) => "a list".into(),
            DeValue::Table(_) => "a table".into(),
        }
    }

    /// Text.
    ///
    /// # Errors
    /// It is something else, or empty.
    pub fn text(&self) -> Result<&'t str, Error> {
        match self.value {
            DeValue::String(text) if !text.trim().is_empty() => Ok(text.as_ref()),
            DeValue::String(_) => Err(self
                .error(InputProblem::WrongType {
                    key: self.key.clone(),
                    found: "empty".into(),
                    needed: "text".into(),
                })
                .cure("write something between the quotes, or leave the key out")),
            _ => Err(self
                .wrong_type("text in double quotes")
                .cure(format!("write {} = \"…\"", self.key))),
        }
    }

    /// Text, or a list of texts.
    ///
    /// # Errors
    /// It is something else.
    pub fn texts(&self) -> Result<Vec<(Item<'t>, &'t str)>, Error> {
        match self.value {
            DeValue::Array(_) => {
                let items = self.items()?;
                items
                    .into_iter()
                    .map(|it| it.text().map(|text| (it.clone(), text)))
                    .collect()
            }
            _ => Ok(vec![(self.clone(), self.text()?)]),
        }
    }

    /// The entries of a list.
    ///
    /// # Errors
    /// It is no list.
    pub fn items(&self) -> Result<Vec<Item<'t>>, Error> {
        let DeValue::Array(list) = self.value else {
            return Err(self
                .wrong_type("a list in square brackets")
                .cure(format!("write {} = […]", self.key)));
        };
        Ok(list
            .iter()
            .map(|it| Item {
                source: self.source,
                key: self.key.clone(),
                offset: it.span().start,
                value: it.get_ref(),
            })
            .collect())
    }

    /// A bare finite number.
    ///
    /// # Errors
    /// It is something else.
    pub fn number(&self) -> Result<f64, Error> {
        self.number_if().filter(|it| it.is_finite()).ok_or_else(|| {
            self.wrong_type("a bare number")
                .cure("write a number without quotes")
        })
    }

    fn number_if(&self) -> Option<f64> {
        match self.value {
            DeValue::Integer(number) if number.radix() == 10 => {
                number.as_str().replace('_', "").parse().ok()
            }
            DeValue::Float(number) => number.as_str().replace('_', "").parse().ok(),
            _ => None,
        }
    }

    /// A quantity: text with a unit, or for a dimensionless field a bare number.
    ///
    /// # Errors
    /// It is something else, has the wrong unit, or is out of range.
    pub fn quantity(&self, field: &Field) -> Result<f64, Error> {
        match (self.value, field.dimension) {
            (DeValue::String(text), _) => field.parse(text).map_err(|it| it.at(self.place())),
            (_, Dimension::Number) => {
                let number = self
                    .number()
                    .map_err(|it| it.cure(format!("write a number, such as {}", field.example)))?;
                field
                    .check(number, &number.to_string())
                    .map_err(|it| it.at(self.place()))
            }
            _ => Err(match self.number_if() {
                Some(number) => {
                    // A bare share of one is a hundred times as many percent.
                    let usual = if field.dimension == Dimension::Fraction && number <= 1.0 {
                        100.0 * number
                    } else {
                        number
                    };
                    let unit = field.usual_unit();
                    self.wrong_type("text with a unit").cure(format!(
                        "if {usual} {unit} is meant, write {} = \"{usual} {unit}\"; allowed units: {}",
                        self.key,
                        field.dimension.unit_words()
                    ))
                }
                None => self.wrong_type("text with a unit").cure(field.units_cure()),
            }),
        }
    }

    /// A range of two quantities, `["5 W", "60 W"]`, the first below the second.
    ///
    /// # Errors
    /// It is something else, or the first is not below the second.
    pub fn pair(&self, field: &Field) -> Result<(f64, f64), Error> {
        let cure = format!(
            "write the least and the largest value as a list of two, each like \"{}\"",
            field.example
        );
        let DeValue::Array(_) = self.value else {
            return Err(self.wrong_type("a list of two quantities").cure(cure));
        };
        let items = self.items()?;
        let [first, second] = items.as_slice() else {
            return Err(self.wrong_type("a list of two quantities").cure(cure));
        };
        let (least, most) = (first.quantity(field)?, second.quantity(field)?);
        if least < most {
            return Ok((least, most));
        }
        Err(self
            .error(InputProblem::NotARange {
                what: field.what.into(),
                least: first.echo(),
                most: second.echo(),
            })
            .cure("write the smaller value first"))
    }

    /// The value as written, without quotes.
    pub fn echo(&self) -> String {
        match self.value {
            DeValue::String(text) => text.trim().into(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            _ => self.found(),
        }
    }

    /// A table.
    ///
    /// # Errors
    /// It is something else.
    pub fn section(&self) -> Result<Section<'t>, Error> {
        let DeValue::Table(table) = self.value else {
            return Err(self
                .wrong_type("a table")
                .cure(format!("write {0} = {{ … }} or a section [{0}]", self.key)));
        };
        Ok(Section {
            source: self.source,
            name: format!("[{}]", self.key),
            offset: self.offset,
            table,
        })
    }

    /// True where the value is a table.
    pub fn is_table(&self) -> bool {
        matches!(self.value, DeValue::Table(_))
    }

    /// One word out of a list of pairs (word, meaning).
    ///
    /// # Errors
    /// It is no text or another word.
    pub fn word<T: Copy>(&self, words: &[(&str, T)]) -> Result<T, Error> {
        let text = self.text()?;
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == text) {
            return Ok(*meaning);
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let cure = nearest(text, &known).unwrap_or_else(|| "use one of these words".into());
        Err(self
            .error(InputProblem::UnknownWord {
                key: self.key.clone(),
                word: text.into(),
                allowed: known.join(", "),
            })
            .cure(cure))
    }
}

/// "did you mean `x`?" if one of `known` is near, otherwise the list.
pub fn nearest_or_list(word: &str, known: &[&str]) -> String {
    nearest(word, known).unwrap_or_else(|| format!("use one of: {}", known.join(", ")))
}

/// "did you mean `x`?" if one of `known` is near.
fn nearest(word: &str, known: &[&str]) -> Option<String> {
    let lower = word.to_lowercase();
    let (distance, near) = known
        .iter()
        .map(|it| (strsim::damerau_levenshtein(&lower, it), *it))
        .min_by_key(|(distance, _)| *distance)?;
    (distance <= 1 + word.chars().count() / 3).then(|| format!("did you mean `{near}`?"))
}
