//! The normal distribution and its quantiles, and intervals of a share that was counted.
//!
//! ```text
//! Wilson    (p + z²/2n ± z √(p (1 − p)/n + z²/4n²)) / (1 + z²/n)          p = k / n
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | k, n | `hits`, `trials` | counted, out of |
//! | z | [`Z_95`] | quantile of the normal distribution |
//!
//! Source: M. J. Wichura, Appl. Stat. 37 (1988) 477, algorithm AS 241, PPND16 (quantile);
//! E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209 (interval); t quantiles to four digits as in any
//! table. Checked in: `tests/numerics/normal.rs`.

/// Quantile of 0.975.
pub const Z_95: f64 = 1.959_963_984_540_054;

/// Distribution function of the standard normal distribution: [`normal_quantile`] undone.
pub fn normal_probability(x: f64) -> f64 {
    0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2)
}

/// Quantile of the standard normal distribution, about 16 digits; infinite at 0 and 1, not a
/// number outside.
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(&CENTRE, r);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if tail < 0.0 {
            f64::NAN
        } else {
            f64::INFINITY.copysign(q)
        };
    }
    let r = (-tail.ln()).sqrt();
    let z = if r <= 5.0 {
        ratio(&MIDDLE, r - 1.6)
    } else {
        ratio(&FAR, r - 5.0)
    };
    z.copysign(q)
}

/// Numerator and denominator, constant term first.
type Ratio = ([f64; 8], [f64; 8]);

fn ratio((above, below): &Ratio, r: f64) -> f64 {
    let horner = |all: &[f64; 8]| all.iter().rev().fold(0.0, |sum, it| sum * r + it);
    horner(above) / horner(below)
}

const CENTRE: Ratio = (
    [
        3.387_132_872_796_366_5,
        1.331_416_678_917_843_8e2,
        1.971_590_950_306_551_3e3,
        1.373_169_376_550_946e4,
        4.592_195_393_154_987e4,
        6.726_577_092_700_87e4,
        3.343_057_558_358_813e4,
        2.509_080_928_730_122_7e3,
    ],
    [
        1.0,
        4.231_333_070_160_091e1,
        6.871_870_074_920_579e2,
        5.394_196_021_424_751e3,
        2.121_379_430_158_659_7e4,
        3.930_789_580_009_271e4,
        2.872_908_573_572_194_3e4,
        5.226_495_278_852_854e3,
    ],
);

const MIDDLE: Ratio = (
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        2.417_807_251_774_506e-1,
        2.272_384_498_926_918_4e-2,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        6.897_673_349_851e-1,
        1.481_039_764_274_800_8e-1,
        1.519_866_656_361_645_7e-2,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
);

const FAR: Ratio = (
    [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        2.965_605_718_285_048_7e-1,
        2.653_218_952_657_612_4e-2,
        1.242_660_947_388_078_4e-3,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ],
    [
        1.0,
        5.998_322_065_558_88e-1,
        1.369_298_809_227_358e-1,
        1.487_536_129_085_061_5e-2,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_8e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ],
);

/// Wilson's interval of 95 % for a share counted in independent trials; 0 to 1 for no trials.
///
/// ```
/// // 9 of 10.
/// let (low, high) = lightseam::numerics::normal::wilson_95(9, 10);
/// assert!((low - 0.5958).abs() < 1e-4 && (high - 0.9821).abs() < 1e-4);
/// ```
pub fn wilson_95(hits: usize, trials: usize) -> (f64, f64) {
    if trials == 0 {
        return (0.0, 1.0);
    }
    let (n, z2) = (trials as f64, Z_95 * Z_95);
    let p = hits as f64 / n;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt() / (1.0 + z2 / n);
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

/// Half-width of the interval of 95 % of a mean, in standard errors, from `count` independent
/// values: Student's t with `count` − 1 degrees of freedom; infinite below two values.
pub fn student_95(count: usize) -> f64 {
    const T: [f64; 15] = [
        12.7062, 4.3027, 3.1824, 2.7764, 2.5706, 2.4469, 2.3646, 2.3060, 2.2622, 2.2281, 2.2010,
        2.1788, 2.1604, 2.1448, 2.1314,
    ];
    match count.checked_sub(2) {
        None => f64::INFINITY,
        Some(at) => T.get(at).copied().unwrap_or_else(|| {
            // Cornish and Fisher's expansion about the normal quantile.
            let (z, dof) = (Z_95, (count - 1) as f64);
            z + (z.powi(3) + z) / (4.0 * dof)
                + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * dof * dof)
                + (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z)
                    / (384.0 * dof.powi(3))
        }),
    }
}
