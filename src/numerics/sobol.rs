//! Quasi-random points that fill a unit cube evenly: Sobol sequences, scrambled.
//!
//! Point i in one dimension is a sum (exclusive or) of direction numbers v, one for each bit of i;
//! scrambling multiplies them by a random lower triangular matrix L with a diagonal of ones and
//! adds a random shift s, so that every point is evenly distributed and the net stays a net:
//!
//! ```text
//! x_i = ⊕ (bit b of i) L v_b  ⊕  s          all over 32 bits; x is then taken in (0, 1)
//! m_k = 2 a_1 m_(k−1) ⊕ 4 a_2 m_(k−2) ⊕ … ⊕ 2^d m_(k−d) ⊕ m_(k−d),      v_k = m_k 2^(32−k)
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | a, d | first of `PRIMITIVE` | primitive polynomial over two elements, as bits, and its degree |
//! | m | second of `PRIMITIVE` | initial direction integers |
//! | L, s | [`Scramble`] | matrix and shift, drawn from the seed |
//!
//! Independent scrambles of one sequence are independent replicates of an estimate, and their
//! spread is its standard error.
//!
//! Holds for: at most [`DIMENSIONS`] dimensions and 2^32 points; powers of two of them are even.
//!
//! Source: S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635 (table new-joe-kuo-6.21201);
//! J. Matoušek, J. Complexity 14 (1998) 527 (the scramble). Checked in: `tests/numerics/sobol.rs`
//! against the points of another library.

use crate::numerics::random::Stream;

/// Most dimensions.
pub const DIMENSIONS: usize = PRIMITIVE.len() + 1;

/// Bits of a coordinate.
const BITS: usize = 32;

/// Polynomial and initial integers of every dimension but the first.
const PRIMITIVE: [(u32, &[u32]); 31] = [
    (3, &[1]),
    (7, &[1, 3]),
    (11, &[1, 3, 1]),
    (13, &[1, 1, 1]),
    (19, &[1, 1, 3, 3]),
    (25, &[1, 3, 5, 13]),
    (37, &[1, 1, 5, 5, 17]),
    (41, &[1, 1, 5, 5, 5]),
    (47, &[1, 1, 7, 11, 19]),
    (55, &[1, 1, 5, 1, 1]),
    (59, &[1, 1, 1, 3, 11]),
    (61, &[1, 3, 5, 5, 31]),
    (67, &[1, 3, 3, 9, 7, 49]),
    (91, &[1, 1, 1, 15, 21, 21]),
    (97, &[1, 3, 1, 13, 27, 49]),
    (103, &[1, 1, 1, 15, 7, 5]),
    (109, &[1, 3, 1, 15, 13, 25]),
    (115, &[1, 1, 5, 5, 19, 61]),
    (131, &[1, 3, 7, 11, 23, 15, 103]),
    (137, &[1, 3, 7, 13, 13, 15, 69]),
    (143, &[1, 1, 3, 13, 7, 35, 63]),
    (145, &[1, 3, 5, 9, 1, 25, 53]),
    (157, &[1, 3, 1, 13, 9, 35, 107]),
    (167, &[1, 3, 1, 5, 27, 61, 31]),
    (171, &[1, 1, 5, 11, 19, 41, 61]),
    (185, &[1, 3, 5, 3, 3, 13, 69]),
    (191, &[1, 1, 7, 13, 1, 19, 1]),
    (193, &[1, 3, 7, 5, 13, 19, 59]),
    (203, &[1, 1, 3, 9, 25, 29, 41]),
    (211, &[1, 3, 5, 13, 23, 1, 55]),
    (213, &[1, 3, 7, 3, 13, 59, 17]),
];

/// Direction numbers of one dimension, the one of the lowest bit of the index first.
fn directions(dimension: usize) -> [u32; BITS] {
    let mut v = [0; BITS];
    let Some((polynomial, initial)) = dimension.checked_sub(1).map(|it| PRIMITIVE[it]) else {
        for (k, it) in v.iter_mut().enumerate() {
            *it = 1 << (BITS - 1 - k);
        }
        return v;
    };
    let degree = initial.len();
    let mut m = [0u32; BITS];
    m[..degree].copy_from_slice(initial);
    for k in degree..BITS {
        let mut next = m[k - degree];
        for j in 1..=degree {
            if polynomial >> (degree - j) & 1 == 1 {
                next ^= m[k - j] << j;
            }
        }
        m[k] = next;
    }
    for (k, it) in v.iter_mut().enumerate() {
        *it = m[k] << (BITS - 1 - k);
    }
    v
}

/// How one dimension is scrambled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scramble {
    /// Rows of the matrix, the row of the highest bit first; bit 31 is the first column.
    pub rows: [u32; BITS],
    /// Exclusive or with every point.
    pub shift: u32,
}

impl Scramble {
    /// No scrambling: the sequence itself.
    pub fn none() -> Self {
        let mut rows = [0; BITS];
        for (k, row) in rows.iter_mut().enumerate() {
            *row = 1 << (BITS - 1 - k);
        }
        Scramble { rows, shift: 0 }
    }

    /// A random scramble: ones on the diagonal, random bits left of it, a random shift.
    fn drawn(stream: &mut Stream) -> Self {
        let mut scramble = Scramble::none();
        for (k, row) in scramble.rows.iter_mut().enumerate() {
            let left = !(u32::MAX >> k);
            *row |= stream.next_u32() & left;
        }
        scramble.shift = stream.next_u32();
        scramble
    }

    fn applied(&self, v: u32) -> u32 {
        let mut out = 0;
        for (k, row) in self.rows.iter().enumerate() {
            out |= ((row & v).count_ones() & 1) << (BITS - 1 - k);
        }
        out
    }
}

/// A Sobol sequence under one scramble.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sobol {
    dimensions: Vec<([u32; BITS], u32)>,
}

impl Sobol {
    /// The sequence itself, in `dimensions` ≤ [`DIMENSIONS`] dimensions (more are left out).
    pub fn plain(dimensions: usize) -> Self {
        Sobol::with(&vec![Scramble::none(); dimensions])
    }

    /// Replicate number `replicate` of a scrambled sequence under a `seed`.
    pub fn scrambled(dimensions: usize, seed: u64, replicate: u64) -> Self {
        let mut stream = Stream::new(seed, PURPOSE, replicate);
        let all: Vec<Scramble> = (0..dimensions)
            .map(|_| Scramble::drawn(&mut stream))
            .collect();
        Sobol::with(&all)
    }

    /// The sequence with a stated scramble for each dimension.
    pub fn with(scrambles: &[Scramble]) -> Self {
        Sobol {
            dimensions: scrambles
                .iter()
                .take(DIMENSIONS)
                .enumerate()
                .map(|(d, it)| (directions(d).map(|v| it.applied(v)), it.shift))
                .collect(),
        }
    }

    /// Bits of point `index`, one number a dimension: 2^32 times the coordinate.
    pub fn bits(&self, index: u32) -> impl Iterator<Item = u32> + '_ {
        // In the order of Gray's code, which visits the same net and is the order others use.
        let gray = index ^ (index >> 1);
        self.dimensions.iter().map(move |(v, shift)| {
            let mut x = *shift;
            let mut left = gray;
            while left != 0 {
                x ^= v[left.trailing_zeros() as usize];
                left &= left - 1;
            }
            x
        })
    }

    /// Point `index`, every coordinate strictly between 0 and 1 (the middle of its last bit).
    pub fn point(&self, index: u32) -> Vec<f64> {
        self.bits(index)
            .map(|bits| (f64::from(bits) + 0.5) / 4_294_967_296.0)
            .collect()
    }
}

/// Purpose of the streams scrambles are drawn from.
const PURPOSE: u64 = 0x50B0;
