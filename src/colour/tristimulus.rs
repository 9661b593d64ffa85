//! Tristimulus values of a spectrum under D65, and the contrast ratio of a hiding layer.
//!
//! ```text
//! X = k Σ S x̄ R Δλ,   Y = k Σ S ȳ R Δλ,   Z = k Σ S z̄ R Δλ,   k = 100 / Σ S ȳ Δλ
//! contrast ratio = Y over black / Y over white
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | S | `d65` | relative power of the illuminant | – |
//! | x̄, ȳ, z̄ | `matching` | colour-matching functions | – |
//! | R | `values` | reflectance or transmittance | – |
//! | Δλ | – | 1 nm from 360 to 830 nm | nm |
//!
//! Holds for: reflectance factors and transmittances that do not fluoresce. Y of an ideal white is
//! 100. Spectra over black and white must be of one plaque.
//!
//! Sources: ASTM E308, CIE 15, ISO/CIE 11664-3 (tristimulus values); ISO 2814 and ISO 6504-3
//! (contrast ratio of paints, by D65; here of a plaque).
//! Checked in: `tests/colour/tristimulus.rs`.

use crate::colour::observer::{Observer, table};
use crate::colour::visible::Visible;

/// Tristimulus values, Y = 100 for an ideal white.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tristimulus {
    /// X.
    pub x: f64,
    /// Y, luminous reflectance or transmittance in percent.
    pub y: f64,
    /// Z.
    pub z: f64,
}

/// Tristimulus values of a spectrum under D65.
///
/// ```
/// use lightseam::colour::{Observer, Visible, tristimulus};
///
/// // The white point of D65: 95.047, 100, 108.883 (CIE 15).
/// let white = tristimulus(&Visible::flat(1.0), Observer::TwoDegrees);
/// assert!((white.x - 95.047).abs() < 5e-4 && (white.z - 108.883).abs() < 5e-4);
/// ```
pub fn tristimulus(spectrum: &Visible, observer: Observer) -> Tristimulus {
    let (mut sums, mut white) = ([0.0; 3], 0.0);
    for (row, share) in table().iter().zip(&spectrum.values) {
        let matching = observer.matching(row);
        white += row.d65 * matching[1];
        for (sum, it) in sums.iter_mut().zip(matching) {
            *sum += row.d65 * it * share;
        }
    }
    let [x, y, z] = sums.map(|it| 100.0 * it / white);
    Tristimulus { x, y, z }
}

/// Tristimulus values of an ideal white under D65.
pub fn white(observer: Observer) -> Tristimulus {
    tristimulus(&Visible::flat(1.0), observer)
}

/// Contrast ratio of one plaque over black and over white; none where the white one is black.
///
/// 1 hides all; 0.98 is called full hiding (ISO 6504-3; from memory).
pub fn contrast_ratio(over_black: Tristimulus, over_white: Tristimulus) -> Option<f64> {
    (0.0 < over_white.y).then(|| over_black.y / over_white.y)
}
