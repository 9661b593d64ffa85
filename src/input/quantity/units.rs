//! The units that fit each dimension, and their plain spelling.

use std::f64::consts::PI;

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
    /// rad.
    Angle,
    /// A bare number.
    Number,
}

/// One unit: how it is written, its size in SI, and where its zero lies.
pub(super) struct Unit {
    /// As written.
    pub word: &'static str,
    si: f64,
    zero: f64,
}

impl Unit {
    /// A number in this unit, SI. Units that are a whole part of the SI unit divide by that number, so
    /// that 20 µm is the double nearest to 2e-5.
    pub fn to_si(&self, number: f64) -> f64 {
        let parts = (1.0 / self.si).round();
        if self.si < 1.0 && (parts * self.si - 1.0).abs() < 1e-12 {
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
    pub(super) fn units(self) -> &'static [Unit] {
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
        const ANGLE: &[Unit] = &[unit("°", PI / 180.0), unit("deg", PI / 180.0)];
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
            Dimension::Angle => ANGLE,
            Dimension::Number => &[],
        }
    }

    /// The units that fit, as a list for messages.
    pub fn unit_words(self) -> String {
        let words: Vec<&str> = self.units().iter().map(|it| it.word).collect();
        words.join(", ")
    }
}

/// A unit in plain spelling, for comparing.
pub(super) fn plain(unit: &str) -> String {
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
