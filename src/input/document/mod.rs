//! A TOML file as sections and items that know where they stand, so that every refusal names file,
//! line and column.
//!
//! The tree of the parser is walked by hand instead of through derived types: derived flattening and
//! untagged choices lose the position of a value.

use toml::Spanned;
use toml::de::DeTable;

use crate::error::{Error, InputProblem, Place};
use crate::input::quantity::{Dimension, Field};

mod item;

pub use item::Item;

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
