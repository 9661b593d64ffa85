//! Tridiagonal systems of many independent cases side by side, without loss of digits.
//!
//! ```text
//! −l[i−1] x[i−1] + (e[i] + l[i] + r[i−1]) x[i] − r[i] x[i+1] = b[i]        l, r ≥ 0, e > 0
//! ```
//!
//! `e` is what the diagonal has in excess of its column. Elimination carries the excess in place
//! of the diagonal, so nothing is ever subtracted: each pivot, and so each solution for a
//! right-hand side of one sign, is right to a few roundings whatever the condition number.
//!
//! Source: A. S. Alfa, J. Xue and Q. Ye, Math. Comp. 71 (2002) 217, for the principle (diagonally
//! dominant M-matrices kept as off-diagonals and excess; from memory).
//! Checked in: `tests/numerics/tridiagonal.rs` and by every energy ledger.

/// Cases side by side: two registers of four doubles hide the time a sum or product takes.
pub const LANES: usize = 8;

/// One number of each case.
pub type Lane = [f64; LANES];

/// The matrix: slices of one length, one entry a row.
#[derive(Clone, Copy)]
pub struct Excess<'a> {
    /// Excess e, above zero.
    pub excess: &'a [Lane],
    /// l, what row i takes from its own unknown for row i + 1; the last is not used.
    pub left: &'a [Lane],
    /// r, what row i + 1 takes from its own unknown for row i; the last is not used.
    pub right: &'a [Lane],
}

/// Writes the reciprocal pivots of the matrix into `pivot`.
#[inline(always)]
pub fn factor(matrix: Excess, pivot: &mut [Lane]) {
    let n = pivot.len();
    let (excess, left, right) = (&matrix.excess[..n], &matrix.left[..n], &matrix.right[..n]);
    let mut carried = [0.0; LANES];
    for i in 0..n {
        let outwards = if i + 1 < n { left[i] } else { [0.0; LANES] };
        for lane in 0..LANES {
            let e = excess[i][lane] + carried[lane];
            let reciprocal = 1.0 / (e + outwards[lane]);
            pivot[i][lane] = reciprocal;
            carried[lane] = right[i][lane] * (e * reciprocal);
        }
    }
}

/// Solves with the pivots of [`factor`]; `x` holds b on entry and x on return.
#[inline(always)]
pub fn solve(matrix: Excess, pivot: &[Lane], x: &mut [Lane]) {
    let n = x.len();
    let (left, right, pivot) = (&matrix.left[..n], &matrix.right[..n], &pivot[..n]);
    let mut carried = [0.0; LANES];
    for i in 0..n {
        for lane in 0..LANES {
            let scaled = pivot[i][lane] * (x[i][lane] + carried[lane]);
            x[i][lane] = scaled;
            carried[lane] = left[i][lane] * scaled;
        }
    }
    let mut after = [0.0; LANES];
    for i in (0..n).rev() {
        for lane in 0..LANES {
            // The last row has nothing after it: `after` is zero there.
            let value = x[i][lane] + pivot[i][lane] * (right[i][lane] * after[lane]);
            x[i][lane] = value;
            after[lane] = value;
        }
    }
}
