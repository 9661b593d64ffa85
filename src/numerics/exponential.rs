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

use pulp::Simd;

use crate::numerics::pack::Pack;
use crate::numerics::pack::ROUND;
use crate::numerics::pack::Sight;

/// ln 2 in two parts; the first has few enough bits that its products with n are exact.
const LN_2_HIGH: f64 = 0.693_145_751_953_125;
const LN_2_LOW: f64 = 1.428_606_820_309_417_2e-6;

/// exp of each lane.
#[inline(always)]
pub fn exp<S: Simd>(sight: Sight<S>, x: Pack<S>) -> Pack<S> {
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
    let (one, round) = (sight.all(1.0), sight.all(ROUND));
    let kept = x.max(sight.all(-708.0)).min(sight.all(708.0));
    let rounded = kept.times_plus(sight.all(std::f64::consts::LOG2_E), round);
    let n = rounded - round;
    let r = n.times_from(sight.all(LN_2_HIGH), kept);
    let r = n.times_from(sight.all(LN_2_LOW), r);
    let mut sum = sight.all(TAYLOR[0]);
    for coefficient in &TAYLOR[1..] {
        sum = sum.times_plus(r, sight.all(*coefficient));
    }
    let mantissa = sum.times_plus(r, one).times_plus(r, one);
    let mut power = rounded.numbers();
    for power in &mut power {
        *power = f64::from_bits(power.to_bits().wrapping_add(1023) << 52);
    }
    mantissa * sight.of(&power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::pack::Sweeping;
    use crate::numerics::pack::sweep;
    use crate::numerics::tridiagonal::LANES;
    use crate::numerics::tridiagonal::Lane;

    struct Exp(Lane);

    impl Sweeping for Exp {
        #[inline(always)]
        fn sweep<S: Simd>(&mut self, simd: S) {
            for sight in Sight::<S>::all_of(simd) {
                let value = exp(sight, sight.read(&self.0));
                sight.write(&mut self.0, value);
            }
        }
    }

    fn exp_of(x: f64) -> f64 {
        let mut it = Exp([x; LANES]);
        sweep(&mut it);
        assert!(it.0.iter().all(|y| *y == it.0[0]));
        it.0[0]
    }

    /// Against the standard library, which is right to one unit in the last place.
    #[test]
    fn agrees_with_the_standard_library() {
        for k in -70_000..70_000 {
            let x = 0.010_113 * f64::from(k);
            let ours = exp_of(x);
            assert!((ours / x.exp() - 1.0).abs() < 1e-15, "{x}: {ours:e}");
        }
        assert_eq!(exp_of(0.0), 1.0);
        assert_eq!(exp_of(-1e9), exp_of(-708.0));
    }
}
