//! One value of a TOML file: its type, its words, its quantity, and errors at its place.

use toml::de::DeValue;

use crate::error::{Error, InputProblem, Place};
use crate::input::document::{Section, Source, nearest};
use crate::input::quantity::{Dimension, Field};

/// A value with its key and position.
#[derive(Clone, Debug)]
pub struct Item<'t> {
    pub(super) source: Source<'t>,
    /// The key, with the keys of the tables around it.
    pub key: String,
    pub(super) offset: usize,
    pub(super) value: &'t DeValue<'t>,
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

    /// True where the value is a list.
    pub fn is_list(&self) -> bool {
        matches!(self.value, DeValue::Array(_))
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
