//! The exponential of many numbers side by side.
//!
//! ```text
//! exp x = 2^n exp r        n = round(x / ln 2),   r = x − n ln 2,   |r| ≤ ln 2 / 2
//! ```
//!
//! exp r is its Taylor polynomial of degree 13, whose remainder is below 1e-17. Made of sums and
//! products alone, so that all lanes go through one instruction and the bits are the same on every
//! machine.
//!
//! Holds for: −708 ≤ x ≤ 708; outside, the value at the nearer end.
//! Source: W. J. Cody and W. Waite, *Software Manual for the Elementary Functions* (1980), ch. 6,
//! for the reduction in two parts (from memory).
//! Checked in: this file.

use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// ln 2 in two parts; the first has few enough bits that its products with n are exact.
const LN_2_HIGH: f64 = 0.693_145_751_953_125;
const LN_2_LOW: f64 = 1.428_606_820_309_417_2e-6;

/// exp of each lane.
#[inline(always)]
pub fn exp(x: &Lane) -> Lane {
    // Adding 1.5 · 2^52 rounds to a whole number, which then stands in the low bits.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    const TAYLOR: [f64; 12] = [
        1.0 / 6_227_020_800.0,
        1.0 / 479_001_600.0,
        1.0 / 39_916_800.0,
        1.0 / 3_628_800.0,
        1.0 / 362_880.0,
        1.0 / 40_320.0,
        1.0 / 5_040.0,
        1.0 / 720.0,
        1.0 / 120.0,
        1.0 / 24.0,
        1.0 / 6.0,
        0.5,
    ];
    let mut out = [0.0; LANES];
    for l in 0..LANES {
        let kept = x[l].clamp(-708.0, 708.0);
        let rounded = kept * std::f64::consts::LOG2_E + ROUND;
        let n = rounded - ROUND;
        let r = (kept - n * LN_2_HIGH) - n * LN_2_LOW;
        let mut sum = TAYLOR[0];
        for coefficient in &TAYLOR[1..] {
            sum = sum * r + coefficient;
        }
        let mantissa = (sum * r + 1.0) * r + 1.0;
        let power = f64::from_bits(rounded.to_bits().wrapping_add(1023) << 52);
        out[l] = mantissa * power;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library, which is right to one unit in the last place.
    #[test]
    fn agrees_with_the_standard_library() {
        for k in -70_000..70_000 {
            let x = 0.010_113 * f64::from(k);
            let ours = exp(&[x; LANES])[0];
            assert!((ours / x.exp() - 1.0).abs() < 1e-15, "{x}: {ours:e}");
        }
        assert_eq!(exp(&[0.0; LANES])[0], 1.0);
        assert_eq!(exp(&[-1e9; LANES])[0], exp(&[-708.0; LANES])[0]);
    }
}
