//! The colour difference CIEDE2000 with kL = kC = kH = 1.
//!
//! ```text
//! G   = ½ (1 − sqrt( C̄⁷ / (C̄⁷ + 25⁷) )),   a' = (1 + G) a*
//! ΔE² = (ΔL'/SL)² + (ΔC'/SC)² + (ΔH'/SH)² + RT (ΔC'/SC)(ΔH'/SH)
//! SL  = 1 + 0.015 (L̄' − 50)² / sqrt(20 + (L̄' − 50)²),   SC = 1 + 0.045 C̄',   SH = 1 + 0.015 C̄' T
//! T   = 1 − 0.17 cos(h̄' − 30°) + 0.24 cos 2h̄' + 0.32 cos(3h̄' + 6°) − 0.20 cos(4h̄' − 63°)
//! RT  = −sin(2Δθ) RC,   Δθ = 30° exp(−((h̄' − 275°)/25°)²),   RC = 2 sqrt( C̄'⁷ / (C̄'⁷ + 25⁷) )
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | L̄', C̄', h̄' | means of both colours; h̄' on the shorter way round |
//! | ΔL', ΔC', ΔH' | differences of lightness, chroma and hue |
//!
//! Holds for: differences up to about 5. The mean hue jumps where hues are opposite: there the
//! formula is not continuous, and rounding decides.
//!
//! Source: ISO/CIE 11664-6; G. Sharma, W. Wu and E. N. Dalal, Color Res. Appl. 30 (2005) 21.
//! Checked in: `tests/colour/difference.rs` with the pairs of that paper.

use crate::colour::lab::Lab;

/// Colour difference ΔE00 of two colours.
///
/// ```
/// use lightseam::colour::{Lab, ciede2000};
///
/// let of = |lightness, a, b| Lab { lightness, a, b };
/// // The first pair of Sharma, Wu and Dalal (2005).
/// let found = ciede2000(of(50.0, 2.6772, -79.7751), of(50.0, 0.0, -82.7485));
/// assert!((found - 2.0425).abs() < 5e-5);
/// ```
pub fn ciede2000(first: Lab, second: Lab) -> f64 {
    let seventh = |chroma: f64| {
        let power = chroma.powi(7);
        (power / (power + 25f64.powi(7))).sqrt()
    };
    let mean_chroma = 0.5 * (first.chroma() + second.chroma());
    let stretch = 1.5 - 0.5 * seventh(mean_chroma);
    let stretched = |it: Lab| Lab {
        a: stretch * it.a,
        ..it
    };
    let (one, two) = (stretched(first), stretched(second));
    let (c1, c2) = (one.chroma(), two.chroma());
    let (h1, h2) = (one.hue_deg(), two.hue_deg());

    let turn = if c1 * c2 == 0.0 {
        0.0
    } else {
        match h2 - h1 {
            it if 180.0 < it => it - 360.0,
            it if it < -180.0 => it + 360.0,
            it => it,
        }
    };
    let d_lightness = two.lightness - one.lightness;
    let d_chroma = c2 - c1;
    let d_hue = 2.0 * (c1 * c2).sqrt() * (0.5 * turn).to_radians().sin();

    let mean_hue = if c1 * c2 == 0.0 {
        h1 + h2
    } else if (h1 - h2).abs() <= 180.0 {
        0.5 * (h1 + h2)
    } else if h1 + h2 < 360.0 {
        0.5 * (h1 + h2 + 360.0)
    } else {
        0.5 * (h1 + h2 - 360.0)
    };
    let chroma = 0.5 * (c1 + c2);
    let from_middle = (0.5 * (one.lightness + two.lightness) - 50.0).powi(2);
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(mean_hue - 30.0)
        + 0.24 * cos(2.0 * mean_hue)
        + 0.32 * cos(3.0 * mean_hue + 6.0)
        - 0.20 * cos(4.0 * mean_hue - 63.0);
    let rotation = 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp();
    let r_t = -(2.0 * rotation).to_radians().sin() * 2.0 * seventh(chroma);
    let s_l = 1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt();
    let s_c = 1.0 + 0.045 * chroma;
    let s_h = 1.0 + 0.015 * chroma * t;
    let (l, c, h) = (d_lightness / s_l, d_chroma / s_c, d_hue / s_h);
    (l * l + c * c + h * h + r_t * c * h).max(0.0).sqrt()
}
