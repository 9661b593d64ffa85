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

/// A value for each lane.
///
/// All of `value` is read before anything is written, which lets the compiler use one instruction
/// for several lanes.
#[inline(always)]
pub fn each(value: impl Fn(usize) -> f64) -> Lane {
    let mut out = [0.0; LANES];
    for (l, out) in out.iter_mut().enumerate() {
        *out = value(l);
    }
    out
}

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
        let e = each(|l| excess[i][l] + carried[l]);
        let reciprocal = if i + 1 < n {
            each(|l| 1.0 / (e[l] + left[i][l]))
        } else {
            each(|l| 1.0 / e[l])
        };
        pivot[i] = reciprocal;
        carried = each(|l| right[i][l] * (e[l] * reciprocal[l]));
    }
}

/// Solves with the pivots of [`factor`]; `x` holds b on entry and x on return.
#[inline(always)]
pub fn solve(matrix: Excess, pivot: &[Lane], x: &mut [Lane]) {
    let n = x.len();
    let (left, right, pivot) = (&matrix.left[..n], &matrix.right[..n], &pivot[..n]);
    let mut carried = [0.0; LANES];
    for i in 0..n {
        let scaled = each(|l| pivot[i][l] * (x[i][l] + carried[l]));
        x[i] = scaled;
        carried = each(|l| left[i][l] * scaled[l]);
    }
    // The last row has nothing after it.
    let mut after = [0.0; LANES];
    for i in (0..n).rev() {
        after = each(|l| x[i][l] + pivot[i][l] * (right[i][l] * after[l]));
        x[i] = after;
    }
}
