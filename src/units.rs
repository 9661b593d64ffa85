//! Physical constants, and conversions between SI and the units an engineer types and reads.
//!
//! Inside the program every quantity is SI and its unit is part of its name. Engineering units
//! (mm, °C, 1/mm, J/mm) appear only where text is read or written, and go through this file.

/// 0 °C on the absolute scale, K (exact by definition of the Celsius scale).
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Molar gas constant R, J/(mol K) (CODATA 2018, exact).
pub const GAS_CONSTANT_J_PER_MOL_K: f64 = 8.314_462_618;

/// Metres in a millimetre.
pub const MM: f64 = 1e-3;

/// Metres in a micrometre.
pub const UM: f64 = 1e-6;

/// Metres in a nanometre.
pub const NM: f64 = 1e-9;

/// 1/m in one 1/mm.
pub const PER_MM: f64 = 1e3;

/// Temperature in °C of a temperature in K.
///
/// ```
/// assert!((lightseam::units::celsius(493.15) - 220.0).abs() < 1e-12);
/// ```
pub fn celsius(temperature_k: f64) -> f64 {
    temperature_k - ZERO_CELSIUS_K
}

/// Temperature in K of a temperature in °C.
///
/// ```
/// assert!((lightseam::units::kelvin(220.0) - 493.15).abs() < 1e-12);
/// ```
pub fn kelvin(temperature_c: f64) -> f64 {
    temperature_c + ZERO_CELSIUS_K
}
