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
//! Checked in: this file, and by every energy ledger of `tests/heat/ledger.rs`.

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

#[cfg(test)]
mod tests {
    use super::*;

    /// A stiff system with a known solution: the residual of each row, and the solution itself,
    /// although the diagonal in floating point has lost the excess.
    #[test]
    fn keeps_an_excess_far_below_the_diagonal() {
        let n = 40;
        let lane =
            |f: &dyn Fn(usize) -> f64| -> Vec<Lane> { (0..n).map(|i| [f(i); LANES]).collect() };
        let excess = lane(&|i| 1e-13 * (1.0 + i as f64));
        let left = lane(&|i| 3.0 + 0.1 * i as f64);
        let right = left.clone();
        // Symmetric, all rows sum to their excess: x = 1 solves for b = e.
        let matrix = Excess {
            excess: &excess,
            left: &left,
            right: &right,
        };
        let mut pivot = vec![[0.0; LANES]; n];
        factor(matrix, &mut pivot);
        let mut x = excess.clone();
        solve(matrix, &pivot, &mut x);
        for value in &x {
            for it in value {
                assert!((it - 1.0).abs() < 1e-12, "{it}");
            }
        }
    }

    #[test]
    fn solves_an_unsymmetric_system() {
        let n = 7;
        let lane = |f: &dyn Fn(f64) -> f64| -> Vec<Lane> {
            (0..n).map(|i| [f(i as f64); LANES]).collect()
        };
        let (excess, left, right) = (
            lane(&|i| 0.7 + 0.2 * i),
            lane(&|i| 1.3 - 0.1 * i),
            lane(&|i| 0.4 + 0.3 * i),
        );
        let b = lane(&|i| (1.7 * i).sin());
        let matrix = Excess {
            excess: &excess,
            left: &left,
            right: &right,
        };
        let mut pivot = vec![[0.0; LANES]; n];
        factor(matrix, &mut pivot);
        let mut x = b.clone();
        solve(matrix, &pivot, &mut x);
        for i in 0..n {
            let mut row = excess[i][0] * x[i][0];
            if i + 1 < n {
                row += left[i][0] * x[i][0] - right[i][0] * x[i + 1][0];
            }
            if 0 < i {
                row += right[i - 1][0] * x[i][0] - left[i - 1][0] * x[i - 1][0];
            }
            assert!((row - b[i][0]).abs() < 1e-14);
        }
    }
}
