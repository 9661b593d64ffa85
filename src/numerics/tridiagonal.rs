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

/// Cases side by side: one register of eight doubles, or two of four where registers are shorter.
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

/// Elimination from the first row on, row by row: what the rows so far carry into the next one.
#[derive(Clone, Copy, Debug, Default)]
struct Sweep {
    excess: Lane,
    right_hand_side: Lane,
}

impl Sweep {
    /// Reciprocal pivot of the next row.
    #[inline(always)]
    fn factor(&mut self, excess: &Lane, left: &Lane, right: &Lane) -> Lane {
        let e = each(|l| excess[l] + self.excess[l]);
        let reciprocal = each(|l| 1.0 / (e[l] + left[l]));
        self.excess = each(|l| right[l] * (e[l] * reciprocal[l]));
        reciprocal
    }

    /// Eliminated right-hand side of the next row, given its pivot.
    #[inline(always)]
    fn forward(&mut self, b: &Lane, left: &Lane, pivot: &Lane) -> Lane {
        let scaled = each(|l| pivot[l] * (b[l] + self.right_hand_side[l]));
        self.right_hand_side = each(|l| left[l] * scaled[l]);
        scaled
    }
}

/// Writes the reciprocal pivots of the matrix into `pivot`.
pub fn factor(matrix: Excess, pivot: &mut [Lane]) {
    let last = pivot.len() - 1;
    let mut sweep = Sweep::default();
    for (i, pivot) in pivot.iter_mut().enumerate() {
        let left = if i < last {
            matrix.left[i]
        } else {
            [0.0; LANES]
        };
        *pivot = sweep.factor(&matrix.excess[i], &left, &matrix.right[i]);
    }
}

/// Solves with the pivots of [`factor`]; `x` holds b on entry and x on return.
pub fn solve(matrix: Excess, pivot: &[Lane], x: &mut [Lane]) {
    let mut sweep = Sweep::default();
    for (i, x) in x.iter_mut().enumerate() {
        *x = sweep.forward(x, &matrix.left[i], &pivot[i]);
    }
    // The last row has nothing after it.
    let mut after = [0.0; LANES];
    for i in (0..x.len()).rev() {
        after = each(|l| x[i][l] + pivot[i][l] * (matrix.right[i][l] * after[l]));
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
