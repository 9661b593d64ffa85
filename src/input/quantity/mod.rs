//! Quantities as people write them, `"1.5 mm"` or `"220 °C"`, to SI, checked against a range.
//!
//! Units are matched after a plain spelling: µ (U+00B5), μ (U+03BC) and u are the same, `°C` is
//! `degC`, a raised ² is 2, and blanks, brackets, `^` and `·` do not count. So `W/(m·K)`, `W/m/K` and
//! `W/mK` are one unit.

use crate::error::{Error, InputProblem};
use crate::input::quantity::units::{Unit, plain};

mod fields;
mod units;

pub use fields::{
    ABSORPTION, AMBIENT, ANISOTROPY, COLLAPSE, CONDUCTANCE, CONDUCTIVITY, CONTENT, CONVECTION,
    DAMAGE, DENSITY, DEPTH_READING, DIAMETER, ENERGY, FIELDS, FILM_THICKNESS, FREQUENCY, GAP,
    HEALING, HEALING_TIME, INCIDENCE, LATENT_HEAT, MASS_ABSORPTION, MELT_CLEARING, MELT_DEPTH,
    MOISTURE, OPENING, PASSES, PATH, PHOTOMETRIC, POISSON_RATIO, PORT_LOSS, POWER, POWER_DENSITY,
    PRESSURE, REFERENCE, REFRACTIVE_INDEX, ROTATION, SCATTERING, SHOT, SPECIFIC_HEAT,
    SPECIFIC_VOLUME, SPEED, SPOT, STRESS, TEMPERATURE, TEMPERATURE_DIFFERENCE, THICKNESS, TIME,
    TRANSMISSION, TURNS, UNCERTAINTY, VISCOSITY, WAVELENGTH, WLF_A1,
};
pub use units::Dimension;

/// One kind of input: its name in messages, its dimension and its range as text with units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// Name in messages.
    pub what: &'static str,
    /// What is measured.
    pub dimension: Dimension,
    /// Least value allowed, as a user would write it.
    pub least: &'static str,
    /// Largest value allowed, as a user would write it.
    pub most: &'static str,
    /// A usual value, shown as an example.
    pub example: &'static str,
}

impl Field {
    /// Least and largest value allowed, SI.
    ///
    /// # Errors
    /// The range of the field itself is misspelt; a test reads them all.
    pub fn range(&self) -> Result<(f64, f64), Error> {
        Ok((self.convert(self.least)?, self.convert(self.most)?))
    }

    /// The value of `text` in SI, inside the range.
    ///
    /// # Errors
    /// No number, decimal comma, no unit or the wrong one, or out of range; each with its cure.
    ///
    /// ```
    /// use lightseam::input::quantity::{THICKNESS, TEMPERATURE};
    ///
    /// assert!((THICKNESS.parse("1.5 mm")? - 1.5e-3).abs() < 1e-15);
    /// assert!((TEMPERATURE.parse("220 °C")? - 493.15).abs() < 1e-12);
    /// assert!(THICKNESS.parse("1,5 mm").is_err());
    /// # Ok::<(), lightseam::error::Error>(())
    /// ```
    pub fn parse(&self, text: &str) -> Result<f64, Error> {
        let value = self.convert(text)?;
        self.check(value, text)
    }

    /// Value and unit word of `text`, the unit as the table spells it; for echoing what was typed.
    fn convert(&self, text: &str) -> Result<f64, Error> {
        let (number, rest) = self.split(text)?;
        if self.dimension == Dimension::Number {
            return if rest.is_empty() {
                Ok(number)
            } else {
                Err(self
                    .wrong_unit(text, rest)
                    .cure(format!("write a bare number, such as {}", self.example)))
            };
        }
        if rest.is_empty() {
            return Err(Error::new(InputProblem::MissingUnit {
                what: self.what.into(),
                value: text.trim().into(),
            })
            .cure(self.units_cure()));
        }
        let word = plain(rest);
        match self.find_unit(&word) {
            Some(unit) => Ok(unit.to_si(number)),
            None => Err(self.wrong_unit(text, rest).cure(self.units_cure())),
        }
    }

    /// `value` (SI) if it lies in the range; `text` is what the user wrote.
    pub fn check(&self, value: f64, text: &str) -> Result<f64, Error> {
        let (least, most) = self.range()?;
        // A limit written in another unit may miss itself by a rounding error.
        let slack = 1e-12 * most.abs().max(least.abs());
        if least - slack <= value && value <= most + slack {
            return Ok(value);
        }
        let error = Error::new(InputProblem::OutOfRange {
            what: self.what.into(),
            value: text.trim().into(),
            least: self.least.into(),
            most: self.most.into(),
        });
        Err(match self.likely(text, least, most) {
            Some(likely) => error.cure(format!("did you mean \"{likely}\"?")),
            None if self.dimension == Dimension::Fraction => error.cure(format!(
                "give a value from {} to {}, such as \"{}\"; units: {}",
                self.least,
                self.most,
                self.example,
                self.dimension.unit_words()
            )),
            None => error.cure(format!("give a value from {} to {}", self.least, self.most)),
        })
    }

    /// The same number with the first unit that brings it into range; none for a share, for nobody
    /// writes % where ppm was meant.
    fn likely(&self, text: &str, least: f64, most: f64) -> Option<String> {
        let (number, rest) = self.split(text).ok()?;
        if self.dimension == Dimension::Fraction {
            return None;
        }
        let typed = self.find_unit(&plain(rest))?.word;
        self.dimension
            .units()
            .iter()
            .filter(|unit| unit.word != typed)
            .find(|unit| {
                let value = unit.to_si(number);
                least <= value && value <= most
            })
            .map(|unit| format!("{number} {}", unit.word))
    }

    fn find_unit(&self, word: &str) -> Option<&'static Unit> {
        let units = self.dimension.units();
        units
            .iter()
            .find(|it| plain(it.word) == word)
            .or_else(|| {
                // 0.1 1/mm is 0.1 /mm.
                let bare = word.strip_prefix('1').filter(|it| it.starts_with('/'))?;
                units.iter().find(|it| plain(it.word) == bare)
            })
            .or_else(|| {
                // 1/s after a leading number: `1e14 /s`.
                let full = format!("1{word}");
                units.iter().find(|it| plain(it.word) == full)
            })
    }

    /// The leading number and the rest, trimmed.
    fn split<'t>(&self, text: &'t str) -> Result<(f64, &'t str), Error> {
        let text = text.trim();
        let end = number_length(text);
        let (head, rest) = text.split_at(end);
        let number = head.parse::<f64>().ok().filter(|it| it.is_finite());
        let Some(number) = number else {
            return Err(Error::new(InputProblem::NotANumber {
                what: self.what.into(),
                value: text.into(),
            })
            .cure(format!("write it as \"{}\"", self.example)));
        };
        let mut after = rest.chars();
        if after.next() == Some(',') && after.next().is_some_and(|it| it.is_ascii_digit()) {
            return Err(Error::new(InputProblem::DecimalComma {
                what: self.what.into(),
                value: text.into(),
            })
            .cure(format!(
                "write a decimal point: \"{}\"",
                text.replacen(',', ".", 1)
            )));
        }
        Ok((number, rest.trim()))
    }

    fn wrong_unit(&self, text: &str, unit: &str) -> Error {
        Error::new(InputProblem::WrongUnit {
            what: self.what.into(),
            value: text.trim().into(),
            unit: unit.into(),
        })
    }

    /// The unit people use most.
    pub fn usual_unit(&self) -> &'static str {
        self.dimension.units().first().map_or("", |it| it.word)
    }

    /// What to write instead, with the units allowed.
    pub fn units_cure(&self) -> String {
        format!(
            "allowed units: {}; for example \"{}\"",
            self.dimension.unit_words(),
            self.example
        )
    }
}

/// Length in bytes of the number `text` begins with, exponent included; 0 if it begins with none.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        at
    };
    let start = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let whole = digits(start);
    let mut end = whole;
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    // At least one digit before or after the point.
    if end <= start || (whole == start && end == start + 1) {
        return 0;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if end + 1 + sign < exponent {
            end = exponent;
        }
    }
    end
}
