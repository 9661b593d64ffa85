//! Numbers by which coloured batches are compared, and the limits they must keep to.

use crate::numerics::control_chart::Limits;

/// A number by which batches are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Characteristic {
    /// L*.
    Lightness,
    /// a*.
    RedGreen,
    /// b*.
    YellowBlue,
    /// ΔE00 from the standard.
    Difference,
    /// Contrast ratio.
    Opacity,
    /// Transmittance of the part at the laser line.
    Transmittance,
    /// Transmittance over that of the natural grade.
    Retained,
    /// Effective extinction at the laser line, 1/m.
    Extinction,
    /// Highest over lowest sound power at the joint's speed.
    Latitude,
}

impl Characteristic {
    /// All, in the order they are shown.
    pub const ALL: [Characteristic; 9] = [
        Characteristic::Lightness,
        Characteristic::RedGreen,
        Characteristic::YellowBlue,
        Characteristic::Difference,
        Characteristic::Opacity,
        Characteristic::Transmittance,
        Characteristic::Retained,
        Characteristic::Extinction,
        Characteristic::Latitude,
    ];

    /// Those that get a control chart without being asked for.
    pub const CHARTED: [Characteristic; 5] = [
        Characteristic::Lightness,
        Characteristic::Difference,
        Characteristic::Transmittance,
        Characteristic::Extinction,
        Characteristic::Latitude,
    ];

    /// The word it goes by in limits and JSON.
    pub fn key(self) -> &'static str {
        match self {
            Characteristic::Lightness => "L",
            Characteristic::RedGreen => "a",
            Characteristic::YellowBlue => "b",
            Characteristic::Difference => "dE00",
            Characteristic::Opacity => "opacity",
            Characteristic::Transmittance => "T",
            Characteristic::Retained => "retained",
            Characteristic::Extinction => "extinction",
            Characteristic::Latitude => "latitude",
        }
    }
}

/// Limits of a characteristic, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Specified {
    /// Of what.
    pub characteristic: Characteristic,
    /// The limits.
    pub limits: Limits,
}
