//! Numbers as an engineer reads them: significant digits, prefixes, units at the edge.
//!
//! Everything here is for reading. Files that are read again by programs carry full precision
//! (see [`table`](crate::report::table)).

use crate::material::NO_POLYMER_C;
use crate::units::celsius;

/// Placeholder for a value that does not exist.
pub const MISSING: &str = "–";

/// SI prefixes by power of ten, those an engineer meets.
const PREFIXES: [(i32, &str); 8] = [
    (-12, "p"),
    (-9, "n"),
    (-6, "µ"),
    (-3, "m"),
    (0, ""),
    (3, "k"),
    (6, "M"),
    (9, "G"),
];

/// `value` rounded to `digits` significant digits, zeros kept.
///
/// Plain decimals from 0.0001 up to a million, a power of ten outside. The minus is the typographic
/// one. A value that is not a number is a dash.
///
/// ```
/// use lightseam::report::number::significant;
///
/// assert_eq!(significant(20.0, 3), "20.0");
/// assert_eq!(significant(-0.012345, 2), "−0.012");
/// assert_eq!(significant(1234.0, 2), "1200");
/// assert_eq!(significant(5.7e17, 2), "5.7 × 10¹⁷");
/// assert_eq!(significant(f64::NAN, 2), "–");
/// ```
pub fn significant(value: f64, digits: usize) -> String {
    if value.is_nan() {
        return MISSING.to_string();
    }
    if value.is_infinite() {
        return if value < 0.0 { "−∞" } else { "∞" }.to_string();
    }
    if value == 0.0 {
        return "0".to_string();
    }
    let digits = digits.clamp(1, 17);
    let (mantissa, exponent) = scientific(value, digits);
    if !(-4..6).contains(&exponent) {
        return with_minus(&format!("{mantissa} × 10{}", superscript(exponent)));
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    let rounded = format!("{mantissa}e{exponent}").parse().unwrap_or(value);
    with_minus(&format!("{rounded:.decimals$}"))
}

/// Like [`significant`] without the zeros after the decimal point: for tick labels and sentences.
///
/// ```
/// use lightseam::report::number::short;
///
/// assert_eq!(short(20.0, 3), "20");
/// assert_eq!(short(0.50, 3), "0.5");
/// ```
pub fn short(value: f64, digits: usize) -> String {
    let text = significant(value, digits);
    match text.split_once(" × ") {
        Some((mantissa, power)) => format!("{} × {power}", trim_zeros(mantissa)),
        None => trim_zeros(&text).to_string(),
    }
}

/// `value` in `unit` with the SI prefix that leaves one to three digits before the point.
///
/// ```
/// use lightseam::report::number::engineering;
///
/// assert_eq!(engineering(0.0000205, "m", 3), "20.5 µm");
/// assert_eq!(engineering(0.00099996, "m", 3), "1.00 mm");
/// assert_eq!(engineering(1500.0, "W", 2), "1.5 kW");
/// assert_eq!(engineering(0.0, "s", 3), "0 s");
/// ```
pub fn engineering(value: f64, unit: &str, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return joined(&significant(value, digits), unit);
    }
    let (_, exponent) = scientific(value, digits.clamp(1, 17));
    let power = exponent.div_euclid(3) * 3;
    match PREFIXES.iter().find(|it| it.0 == power) {
        // Dividing by an exact power of ten keeps 20.5 µm from becoming 20.499 999 µm.
        Some((power, prefix)) => {
            let scaled = if *power < 0 {
                value * 10f64.powi(-power)
            } else {
                value / 10f64.powi(*power)
            };
            joined(&significant(scaled, digits), &format!("{prefix}{unit}"))
        }
        None => joined(&significant(value, digits), unit),
    }
}

/// A length in m: "20.5 µm", "1.50 mm". Never in m, as drawings of parts are in mm.
///
/// ```
/// assert_eq!(lightseam::report::number::length(0.0015, 2), "1.5 mm");
/// assert_eq!(lightseam::report::number::length(1.2, 2), "1200 mm");
/// ```
pub fn length(length_m: f64, digits: usize) -> String {
    if length_m == 0.0 {
        return "0 µm".to_string();
    }
    if 1.0 <= length_m.abs() && length_m.is_finite() {
        return joined(&significant(length_m * 1e3, digits), "mm");
    }
    engineering(length_m, "m", digits)
}

/// A length in m that must not be more than it is, rounded down.
///
/// ```
/// use lightseam::report::number;
/// assert_eq!(number::length(276.8e-6, 2), "280 µm");
/// assert_eq!(number::length_at_most(276.8e-6, 2), "270 µm");
/// assert_eq!(number::length_at_most(50e-6, 2), "50 µm");
/// ```
pub fn length_at_most(length_m: f64, digits: usize) -> String {
    length(rounded_down(length_m, digits), digits)
}

fn rounded_down(value: f64, digits: usize) -> f64 {
    if value <= 0.0 {
        return value;
    }
    let unit = 10_f64.powi(value.log10().floor() as i32 + 1 - digits as i32);
    // What is rounded already stays.
    (value / unit * (1.0 + 1e-9)).floor() * unit
}

/// A wavelength in m: always in nm, as laser lines are named.
///
/// ```
/// assert_eq!(lightseam::report::number::wavelength(980e-9), "980 nm");
/// ```
pub fn wavelength(wavelength_m: f64) -> String {
    joined(&short(wavelength_m * 1e9, 5), "nm")
}

/// A duration in s: "20.0 ms".
pub fn duration(duration_s: f64, digits: usize) -> String {
    engineering(duration_s, "s", digits)
}

/// A power in W: "20.0 W".
pub fn power(power_w: f64, digits: usize) -> String {
    joined(&significant(power_w, digits), "W")
}

/// A feed rate in m/s: always in mm/s.
///
/// ```
/// assert_eq!(lightseam::report::number::speed(0.05, 2), "50 mm/s");
/// ```
pub fn speed(speed_m_per_s: f64, digits: usize) -> String {
    joined(&significant(speed_m_per_s * 1e3, digits), "mm/s")
}

/// A line energy in J/m: always in J/mm.
///
/// ```
/// assert_eq!(lightseam::report::number::line_energy(400.0, 2), "0.40 J/mm");
/// ```
pub fn line_energy(line_energy_j_per_m: f64, digits: usize) -> String {
    joined(&significant(line_energy_j_per_m / 1e3, digits), "J/mm")
}

/// An optical coefficient in 1/m: always in 1/mm.
pub fn per_length(coefficient_per_m: f64, digits: usize) -> String {
    joined(&significant(coefficient_per_m / 1e3, digits), "/mm")
}

/// A temperature in K: whole degrees Celsius.
///
/// ```
/// assert_eq!(lightseam::report::number::temperature(493.15), "220 °C");
/// assert_eq!(lightseam::report::number::temperature(1e5), "above 2000 °C");
/// ```
pub fn temperature(temperature_k: f64) -> String {
    if NO_POLYMER_C < celsius(temperature_k) && temperature_k.is_finite() {
        return format!("above {}", joined(&format!("{NO_POLYMER_C:.0}"), "°C"));
    }
    if !temperature_k.is_finite() {
        return joined(&significant(temperature_k, 3), "°C");
    }
    joined(
        &with_minus(&format!("{:.0}", celsius(temperature_k) + 0.0)),
        "°C",
    )
}

/// A fraction of one: in percent.
///
/// ```
/// assert_eq!(lightseam::report::number::percent(0.0123, 2), "1.2 %");
/// ```
pub fn percent(fraction: f64, digits: usize) -> String {
    joined(&significant(fraction * 100.0, digits), "%")
}

/// A power of ten in superscript figures.
pub fn superscript(exponent: i32) -> String {
    const FIGURES: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    exponent
        .to_string()
        .chars()
        .map(|c| match c.to_digit(10) {
            Some(figure) => FIGURES[figure as usize],
            None => '⁻',
        })
        .collect()
}

/// Mantissa with `digits` digits and exponent of a finite, non-zero number, after rounding.
fn scientific(value: f64, digits: usize) -> (String, i32) {
    let text = format!("{value:.*e}", digits - 1);
    match text.split_once('e') {
        Some((mantissa, exponent)) => (mantissa.to_string(), exponent.parse().unwrap_or(0)),
        None => (text, 0),
    }
}

fn joined(number: &str, unit: &str) -> String {
    if unit.is_empty() || number == MISSING {
        number.to_string()
    } else {
        format!("{number} {unit}")
    }
}

fn with_minus(text: &str) -> String {
    match text {
        "-0" => "0".to_string(),
        _ => text.replace('-', "−"),
    }
}

fn trim_zeros(text: &str) -> &str {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        text
    }
}
