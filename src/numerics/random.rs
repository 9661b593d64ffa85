//! Counter-based random streams: Philox4x64 with ten rounds.
//!
//! The generator is a bijection of a 256-bit counter under a 128-bit key, so any stream can start
//! anywhere without the ones before it. A stream belongs to (seed, purpose, index): results do not
//! depend on which thread draws it, nor when.
//!
//! ```text
//! key = (seed, purpose)        counter = (block, index, 0, 0)
//! ```
//!
//! Source: J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, "Parallel random numbers: as easy as
//! 1, 2, 3", SC'11 (2011), doi 10.1145/2063384.2063405. Checked in `tests/optics/photon/streams.rs` against
//! the known-answer vectors of Random123 and against numpy's Philox.

/// Multipliers of the rounds.
const MULTIPLIERS: [u64; 2] = [0xD2E7_470E_E14C_6C93, 0xCA5A_8263_9512_1157];

/// What is added to the key after each round: golden ratio and √3 − 1, as fractions of 2^64.
const KEY_STEPS: [u64; 2] = [0x9E37_79B9_7F4A_7C15, 0xBB67_AE85_84CA_A73B];

/// Rounds of the bijection.
const ROUNDS: u32 = 10;

/// 256 random bits that belong to `counter` under `key`.
#[inline]
pub fn philox4x64(mut counter: [u64; 4], mut key: [u64; 2]) -> [u64; 4] {
    for _ in 0..ROUNDS {
        let first = u128::from(MULTIPLIERS[0]) * u128::from(counter[0]);
        let second = u128::from(MULTIPLIERS[1]) * u128::from(counter[2]);
        counter = [
            (second >> 64) as u64 ^ counter[1] ^ key[0],
            second as u64,
            (first >> 64) as u64 ^ counter[3] ^ key[1],
            first as u64,
        ];
        key[0] = key[0].wrapping_add(KEY_STEPS[0]);
        key[1] = key[1].wrapping_add(KEY_STEPS[1]);
    }
    counter
}

/// Half of the spacing of the 53-bit numbers [`Stream::uniform`] gives.
const HALF_STEP_53: f64 = 0.5 / 9_007_199_254_740_992.0;

/// 2^-32.
const STEP_32: f64 = 1.0 / 4_294_967_296.0;

/// Random numbers of one photon, one sample or one trial.
#[derive(Clone, Debug)]
pub struct Stream {
    key: [u64; 2],
    counter: [u64; 4],
    words: [u64; 4],
    /// 32-bit halves of `words` already given away.
    used: usize,
}

impl Stream {
    /// The stream number `index` of a `purpose` under a `seed`.
    #[inline]
    pub fn new(seed: u64, purpose: u64, index: u64) -> Self {
        Stream {
            key: [seed, purpose],
            counter: [0, index, 0, 0],
            words: [0; 4],
            used: 8,
        }
    }

    #[inline]
    fn refill(&mut self) {
        self.words = philox4x64(self.counter, self.key);
        self.counter[0] += 1;
        self.used = 0;
    }

    /// 32 random bits; low half of a word first.
    #[inline]
    pub fn next_u32(&mut self) -> u32 {
        if self.used == 8 {
            self.refill();
        }
        let word = self.words[(self.used >> 1) & 3];
        let bits = (word >> (32 * (self.used & 1))) as u32;
        self.used += 1;
        bits
    }

    /// 64 random bits; a half word left over is dropped.
    #[inline]
    pub fn next_u64(&mut self) -> u64 {
        self.used = (self.used + 1) & !1;
        if self.used == 8 {
            self.refill();
        }
        let word = self.words[(self.used >> 1) & 3];
        self.used += 2;
        word
    }

    /// 128 random bits, half a block; what is left of the half before is dropped.
    #[inline(always)]
    pub fn next_pair(&mut self) -> [u64; 2] {
        self.used = (self.used + 3) & !3;
        if self.used == 8 {
            self.refill();
        }
        let first = (self.used >> 1) & 2;
        self.used += 4;
        [self.words[first], self.words[first + 1]]
    }

    /// A number between 0 and 1, neither of them, in steps of 2^-53.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0 + HALF_STEP_53
    }

    /// A number between 0 and 1, neither of them, in steps of 2^-32: quick, for many small choices.
    #[inline]
    pub fn uniform_32(&mut self) -> f64 {
        unit_interval(self.next_u32())
    }
}

/// The middle of one of 2^32 equal steps between 0 and 1.
#[inline(always)]
pub fn unit_interval(bits: u32) -> f64 {
    (f64::from(bits) + 0.5) * STEP_32
}

/// Cosine and sine of an angle that is uniform over the circle, from 32 random bits.
///
/// The two highest bits choose the quarter turn, the others the angle in it, within an eighth of a
/// turn to either side, where Taylor polynomials of degree 16 and 15 leave less than 1e-16.
#[inline(always)]
pub fn unit_circle(bits: u32) -> (f64, f64) {
    const QUARTER_STEP: f64 = std::f64::consts::FRAC_PI_2 / 1_073_741_824.0;
    let x = (f64::from(bits & 0x3FFF_FFFF) + (0.5 - 536_870_912.0)) * QUARTER_STEP;
    let x2 = x * x;
    let mut sine = -1.0 / 1_307_674_368_000.0;
    for coefficient in [
        1.0 / 6_227_020_800.0,
        -1.0 / 39_916_800.0,
        1.0 / 362_880.0,
        -1.0 / 5_040.0,
        1.0 / 120.0,
        -1.0 / 6.0,
        1.0,
    ] {
        sine = sine * x2 + coefficient;
    }
    sine *= x;
    let mut cosine = 1.0 / 20_922_789_888_000.0;
    for coefficient in [
        -1.0 / 87_178_291_200.0,
        1.0 / 479_001_600.0,
        -1.0 / 3_628_800.0,
        1.0 / 40_320.0,
        -1.0 / 720.0,
        1.0 / 24.0,
        -1.0 / 2.0,
        1.0,
    ] {
        cosine = cosine * x2 + coefficient;
    }
    // A quarter turn takes (c, s) to (−s, c).
    let quarter = bits >> 30;
    let odd = quarter & 1 == 1;
    let (c, s) = if odd { (-sine, cosine) } else { (cosine, sine) };
    let turned = u64::from(quarter >> 1) << 63;
    (
        f64::from_bits(c.to_bits() ^ turned),
        f64::from_bits(s.to_bits() ^ turned),
    )
}
