//! Quantities as people write them, `"1.5 mm"` or `"220 °C"`, to SI, checked against a range.
//!
//! Units are matched after a plain spelling: µ (U+00B5), μ (U+03BC) and u are the same, `°C` is
//! `degC`, a raised ² is 2, and blanks, brackets, `^` and `·` do not count. So `W/(m·K)`, `W/m/K` and
//! `W/mK` are one unit.

use crate::error::{Error, InputProblem};
use crate::units::ZERO_CELSIUS_K;

/// What is measured, which decides the units that fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// m.
    Length,
    /// m/s.
    Speed,
    /// s.
    Time,
    /// W.
    Power,
    /// K, a point on the scale.
    Temperature,
    /// K, a difference of two temperatures.
    TemperatureDifference,
    /// 1/m.
    PerLength,
    /// A share of one.
    Fraction,
    /// J/kg.
    SpecificEnergy,
    /// J/(kg K).
    SpecificHeat,
    /// kg/m³.
    Density,
    /// W/(m K).
    Conductivity,
    /// W/(m² K).
    Conductance,
    /// 1/s.
    Rate,
    /// J/mol.
    MolarEnergy,
    /// m²/kg.
    MassAbsorption,
    /// Pa.
    Stress,
    /// A bare number.
    Number,
}

/// One unit: how it is written, its size in SI, and where its zero lies.
struct Unit {
    word: &'static str,
    si: f64,
    zero: f64,
}

impl Unit {
    /// A number in this unit, SI. Small units divide by a whole number, so that 20 µm is the double
    /// nearest to 2e-5.
    fn to_si(&self, number: f64) -> f64 {
        let parts = (1.0 / self.si).round();
        if self.si < 1.0 {
            number / parts + self.zero
        } else {
            number * self.si + self.zero
        }
    }
}

const fn unit(word: &'static str, si: f64) -> Unit {
    Unit {
        word,
        si,
        zero: 0.0,
    }
}

impl Dimension {
    /// Units that fit, the usual one first.
    fn units(self) -> &'static [Unit] {
        const LENGTH: &[Unit] = &[
            unit("mm", 1e-3),
            unit("µm", 1e-6),
            unit("nm", 1e-9),
            unit("cm", 1e-2),
            unit("m", 1.0),
        ];
        const SPEED: &[Unit] = &[
            unit("mm/s", 1e-3),
            unit("m/s", 1.0),
            unit("m/min", 1.0 / 60.0),
            unit("mm/min", 1e-3 / 60.0),
        ];
        const TIME: &[Unit] = &[
            unit("s", 1.0),
            unit("ms", 1e-3),
            unit("µs", 1e-6),
            unit("min", 60.0),
        ];
        const POWER: &[Unit] = &[unit("W", 1.0), unit("kW", 1e3), unit("mW", 1e-3)];
        const TEMPERATURE: &[Unit] = &[
            Unit {
                word: "°C",
                si: 1.0,
                zero: ZERO_CELSIUS_K,
            },
            unit("K", 1.0),
        ];
        const DIFFERENCE: &[Unit] = &[unit("K", 1.0)];
        const PER_LENGTH: &[Unit] = &[unit("/mm", 1e3), unit("/cm", 1e2), unit("/m", 1.0)];
        const FRACTION: &[Unit] = &[unit("%", 1e-2), unit("wt%", 1e-2), unit("ppm", 1e-6)];
        const SPECIFIC_ENERGY: &[Unit] = &[unit("kJ/kg", 1e3), unit("J/g", 1e3), unit("J/kg", 1.0)];
        const SPECIFIC_HEAT: &[Unit] = &[
            unit("J/kg/K", 1.0),
            unit("kJ/kg/K", 1e3),
            unit("J/g/K", 1e3),
        ];
        const DENSITY: &[Unit] = &[unit("kg/m3", 1.0), unit("g/cm3", 1e3)];
        const CONDUCTIVITY: &[Unit] = &[unit("W/m/K", 1.0), unit("mW/m/K", 1e-3)];
        const CONDUCTANCE: &[Unit] = &[unit("W/m2/K", 1.0), unit("kW/m2/K", 1e3)];
        const RATE: &[Unit] = &[unit("1/s", 1.0), unit("1/min", 1.0 / 60.0)];
        const MOLAR_ENERGY: &[Unit] = &[unit("kJ/mol", 1e3), unit("J/mol", 1.0)];
        const MASS_ABSORPTION: &[Unit] = &[unit("m2/g", 1e3), unit("m2/kg", 1.0)];
        const STRESS: &[Unit] = &[
            unit("MPa", 1e6),
            unit("N/mm2", 1e6),
            unit("kPa", 1e3),
            unit("bar", 1e5),
            unit("Pa", 1.0),
        ];
        match self {
            Dimension::Length => LENGTH,
            Dimension::Speed => SPEED,
            Dimension::Time => TIME,
            Dimension::Power => POWER,
            Dimension::Temperature => TEMPERATURE,
            Dimension::TemperatureDifference => DIFFERENCE,
            Dimension::PerLength => PER_LENGTH,
            Dimension::Fraction => FRACTION,
            Dimension::SpecificEnergy => SPECIFIC_ENERGY,
            Dimension::SpecificHeat => SPECIFIC_HEAT,
            Dimension::Density => DENSITY,
            Dimension::Conductivity => CONDUCTIVITY,
            Dimension::Conductance => CONDUCTANCE,
            Dimension::Rate => RATE,
            Dimension::MolarEnergy => MOLAR_ENERGY,
            Dimension::MassAbsorption => MASS_ABSORPTION,
            Dimension::Stress => STRESS,
            Dimension::Number => &[],
        }
    }

    /// The units that fit, as a list for messages.
    pub fn unit_words(self) -> String {
        let words: Vec<&str> = self.units().iter().map(|it| it.word).collect();
        words.join(", ")
    }
}

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
            None => error.cure(format!("give a value from {} to {}", self.least, self.most)),
        })
    }

    /// The same number with the first unit that brings it into range.
    fn likely(&self, text: &str, least: f64, most: f64) -> Option<String> {
        let (number, rest) = self.split(text).ok()?;
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

/// A unit in plain spelling, for comparing.
fn plain(unit: &str) -> String {
    let mut word = String::with_capacity(unit.len());
    for letter in unit.chars() {
        match letter {
            'µ' | 'μ' => word.push('u'),
            '°' | 'º' => word.push_str("deg"),
            '²' => word.push('2'),
            '³' => word.push('3'),
            '℃' => word.push_str("degC"),
            '-' | '−' | '⁻' => word.push('-'),
            '¹' => word.push('1'),
            '(' | ')' | '^' | '·' | '*' | '.' | ' ' | '\u{a0}' | '\u{202f}' => {}
            other => word.push(other),
        }
    }
    // W/mK and W/m2K are written so often that they count as W/m/K.
    match word.as_str() {
        "W/mK" => "W/m/K".into(),
        "mW/mK" => "mW/m/K".into(),
        "W/m2K" => "W/m2/K".into(),
        "kW/m2K" => "kW/m2/K".into(),
        "J/kgK" => "J/kg/K".into(),
        "kJ/kgK" => "kJ/kg/K".into(),
        "J/gK" => "J/g/K".into(),
        "mm-1" => "/mm".into(),
        "cm-1" => "/cm".into(),
        "m-1" => "/m".into(),
        "s-1" => "1/s".into(),
        _ => word,
    }
}

macro_rules! fields {
    ($($(#[$doc:meta])* $name:ident = $what:literal, $dimension:ident, $least:literal, $most:literal, $example:literal;)*) => {
        $($(#[$doc])* pub const $name: Field = Field {
            what: $what,
            dimension: Dimension::$dimension,
            least: $least,
            most: $most,
            example: $example,
        };)*
        /// Every field, for checks and for listing what may be written.
        pub const FIELDS: &[Field] = &[$($name),*];
    };
}

fields! {
    /// Thickness of a part or plate.
    THICKNESS = "thickness", Length, "1 µm", "50 mm", "1.5 mm";
    /// Thickness of a thin film.
    FILM_THICKNESS = "film thickness", Length, "0.1 µm", "5 mm", "50 µm";
    /// Vacuum wavelength.
    WAVELENGTH = "wavelength", Length, "400 nm", "2500 nm", "980 nm";
    /// Size of the laser spot.
    SPOT = "spot size", Length, "10 µm", "1 m", "1 mm";
    /// Laser power at the part.
    POWER = "power", Power, "0 W", "10 kW", "20 W";
    /// Feed rate.
    SPEED = "speed", Speed, "0.01 mm/s", "100 m/s", "50 mm/s";
    /// Gap between the parts.
    GAP = "gap", Length, "0 µm", "5 mm", "20 µm";
    /// Thermal contact conductance.
    CONDUCTANCE = "conductance", Conductance, "0.001 W/m2/K", "1e9 W/m2/K", "20000 W/m2/K";
    /// Heat transfer to air.
    CONVECTION = "convection", Conductance, "0 W/m2/K", "1e5 W/m2/K", "10 W/m2/K";
    /// Temperature of parts and air at the start.
    AMBIENT = "ambient temperature", Temperature, "-80 °C", "300 °C", "23 °C";
    /// Any temperature of a material.
    TEMPERATURE = "temperature", Temperature, "-200 °C", "2500 °C", "220 °C";
    /// A difference of temperatures.
    TEMPERATURE_DIFFERENCE = "temperature difference", TemperatureDifference, "0 K", "1000 K", "20 K";
    /// Absorption coefficient.
    ABSORPTION = "absorption", PerLength, "0 /m", "1e6 /m", "0.05 /mm";
    /// Scattering coefficient.
    SCATTERING = "scattering", PerLength, "0 /m", "1e6 /m", "2 /mm";
    /// Mean cosine of the scattering angle.
    ANISOTROPY = "anisotropy", Number, "-0.99", "0.99", "0.9";
    /// Refractive index, real part.
    REFRACTIVE_INDEX = "refractive index", Number, "1", "4", "1.53";
    /// Mass fraction of an absorbing additive.
    CONTENT = "content", Fraction, "0 %", "20 %", "0.3 %";
    /// Mass absorption cross-section of an additive.
    MASS_ABSORPTION = "mass absorption", MassAbsorption, "0 m2/g", "100 m2/g", "7.5 m2/g";
    /// Transmission of a film.
    TRANSMISSION = "transmission", Fraction, "0.0001 %", "100 %", "8 %";
    /// Melt depth.
    MELT_DEPTH = "melt depth", Length, "0 µm", "50 mm", "20 µm";
    /// Damaged share.
    DAMAGE = "damage", Fraction, "0.0001 %", "100 %", "1 %";
    /// A time.
    TIME = "time", Time, "0 s", "1000 s", "50 ms";
    /// A relative standard uncertainty.
    UNCERTAINTY = "relative standard uncertainty", Fraction, "0 %", "200 %", "5 %";
    /// Density.
    DENSITY = "density", Density, "1 kg/m3", "25000 kg/m3", "1130 kg/m3";
    /// Thermal conductivity.
    CONDUCTIVITY = "conductivity", Conductivity, "0.001 W/m/K", "3000 W/m/K", "0.25 W/m/K";
    /// Specific heat.
    SPECIFIC_HEAT = "specific heat", SpecificHeat, "10 J/kg/K", "1e6 J/kg/K", "1700 J/kg/K";
    /// Heat of melting.
    LATENT_HEAT = "latent heat", SpecificEnergy, "0 kJ/kg", "1000 kJ/kg", "60 kJ/kg";
    /// Frequency factor of first-order kinetics.
    FREQUENCY = "frequency factor", Rate, "1e-10 1/s", "1e60 1/s", "1e14 1/s";
    /// Activation energy.
    ENERGY = "activation energy", MolarEnergy, "1 kJ/mol", "2000 kJ/mol", "210 kJ/mol";
    /// Pressure or stress.
    STRESS = "stress", Stress, "0 Pa", "10000 MPa", "0.26 N/mm2";
}
