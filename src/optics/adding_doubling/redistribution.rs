//! Phase function to scattering between directions, in the sum and difference of the two ways.
//!
//! Light going down (d) and up (u) in a layer obeys, in the symmetric variable power / √c,
//!
//! ```text
//! dd/dz = −A d + B u,   du/dz = −B d + A u
//! s = d + u, q = d − u:   ds/dz = −P q,   dq/dz = −Q s,   P = A + B,  Q = A − B
//! Q_ij = δ_ij µt*/µ_i − ½ µs* E(µ_i, µ_j) √(c_i c_j) / (n² µ_i µ_j)    even moments l
//! P_ij = δ_ij µt*/µ_i − ½ µs* O(µ_i, µ_j) √(c_i c_j) / (n² µ_i µ_j)    odd moments l
//! E + O = 2 Σ_l (2l + 1) χ_l P_l(µ_i) P_l(µ_j)
//! ```
//!
//! The forward peak (delta-M): of the moments g^l of Henyey and Greenstein only the first M are
//! kept, and the share f = g^M that scatters into the peak counts as not scattered:
//! µs* = µs (1 − f), χ_l = (g^l − f) / (1 − f), µt* = µa + µs*.
//!
//! The diagonals of Q and P are not taken from the formula but from the two laws that the matrices
//! must obey in every direction j, so that no rule of quadrature can break them:
//!
//! ```text
//! Σ_i √c_i Q_ij = µa √c_j / µ_j               what does not scatter is absorbed
//! Σ_i µ_i √c_i P_ij = (µa + µs (1 − g)) √c_j   the mean cosine of scattering is g
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | µ_i | `cosines` | cosine of a direction in the layer | – |
//! | c_i | `roots`² | étendue of a direction | – |
//! | χ_l | `moments` | Legendre moments of the truncated phase function | – |
//! | f | `peak` | share of scattering in the forward peak | – |
//!
//! Holds for: g from −0.5 to 0.99; the error of the truncation grows with g (a few 1e-4 of the
//! incident light at g = 0.9, 1e-3 at 0.95, for single thin slabs; see `tests/optics/limits.rs`).
//! For g < 0 there is no forward peak and f = 0.
//!
//! Source: W. J. Wiscombe, J. Atmos. Sci. 34 (1977) 1408 (delta-M); L. G. Henyey and J. L.
//! Greenstein, Astrophys. J. 93 (1941) 70; sum and difference as in K. Stamnes et al., Appl. Opt.
//! 27 (1988) 2502 (all from memory). Checked in: `tests/optics/published.rs`.

use crate::material::optical::OpticalConstants;
use crate::numerics::small_matrix::Matrix;

/// Sum and difference matrices of one layer, 1/m.
#[derive(Clone, Debug)]
pub struct Redistribution {
    /// Q: how the sum of both ways drains the net flux.
    pub even: Matrix,
    /// P: how the net flux drains the sum.
    pub odd: Matrix,
    /// Absorbed share per metre of each direction: µa √c / µ.
    pub absorption: Vec<f64>,
}

/// Share of scattering that counts as going straight on.
pub fn peak(g: f64, moments: usize) -> f64 {
    if g <= 0.0 {
        0.0
    } else {
        g.powi(moments as i32)
    }
}

/// The matrices of a layer for directions with these `cosines` and square-root étendues.
pub fn redistribution(
    constants: &OpticalConstants,
    cosines: &[f64],
    roots: &[f64],
    moments: usize,
) -> Redistribution {
    Kernel::new(constants.n, constants.g, cosines, roots, moments).redistribution(constants)
}

/// What the matrices of one index, anisotropy and set of directions have in common.
#[derive(Clone, Debug)]
pub struct Kernel {
    cosines: Vec<f64>,
    roots: Vec<f64>,
    peak: f64,
    /// Even moments, ½ E √(c c) / (n² µ µ).
    even: Matrix,
    /// Odd moments, the same of O.
    odd: Matrix,
}

impl Kernel {
    /// For directions with these `cosines` and square-root étendues.
    pub fn new(n: f64, g: f64, cosines: &[f64], roots: &[f64], moments: usize) -> Self {
        let peak = peak(g, moments);
        let size = cosines.len();
        let legendre = legendre_table(cosines, moments);
        let mut even = Matrix::zero(size, size);
        let mut odd = Matrix::zero(size, size);
        let mut power = 1.0;
        for (l, polynomial) in legendre.iter().enumerate() {
            let moment = (power - peak) / (1.0 - peak);
            power *= g;
            let factor = 2.0 * (2 * l + 1) as f64 * moment;
            let target = if l % 2 == 0 { &mut even } else { &mut odd };
            for (i, &p) in polynomial.iter().enumerate() {
                let row = target.row_mut(i).iter_mut().zip(polynomial);
                row.for_each(|(it, other)| *it += factor * p * other);
            }
        }
        let spread: Vec<f64> = (0..size).map(|i| roots[i] / (n * cosines[i])).collect();
        let half: Vec<f64> = spread.iter().map(|it| 0.5 * it).collect();
        Kernel {
            cosines: cosines.to_vec(),
            roots: roots[..size].to_vec(),
            peak,
            even: even.scaled_rows(&half).scaled_columns(&spread),
            odd: odd.scaled_rows(&half).scaled_columns(&spread),
        }
    }

    /// The matrices at the coefficients of `constants`, whose index and anisotropy are the kernel's.
    pub fn redistribution(&self, constants: &OpticalConstants) -> Redistribution {
        let OpticalConstants {
            mu_a_per_m,
            mu_s_per_m,
            g,
            ..
        } = *constants;
        let (cosines, roots) = (&self.cosines, &self.roots);
        let scattering = mu_s_per_m * (1.0 - self.peak);
        let extinction = mu_a_per_m + scattering;
        let transport = mu_a_per_m + mu_s_per_m * (1.0 - g);
        let size = cosines.len();
        let of = |kernel: &Matrix| {
            let mut matrix = kernel.blend(-scattering, kernel, 0.0);
            for (i, cosine) in cosines.iter().enumerate() {
                matrix.row_mut(i)[i] += extinction / cosine;
            }
            matrix
        };
        let (mut even, mut odd) = (of(&self.even), of(&self.odd));
        let absorption: Vec<f64> = (0..size)
            .map(|i| mu_a_per_m * roots[i] / cosines[i])
            .collect();
        let drained: Vec<f64> = roots.iter().map(|root| transport * root).collect();
        let slanted: Vec<f64> = (0..size).map(|i| cosines[i] * roots[i]).collect();
        set_diagonal(&mut even, roots, &absorption);
        set_diagonal(&mut odd, &slanted, &drained);
        Redistribution {
            even,
            odd,
            absorption,
        }
    }
}

/// Sets the diagonal so that Σ_i `weights`_i M_ij = `sums`_j.
fn set_diagonal(matrix: &mut Matrix, weights: &[f64], sums: &[f64]) {
    let size = weights.len();
    for j in 0..size {
        // The matrix is symmetric: row j is column j.
        let others: f64 = (0..size)
            .filter(|&i| i != j)
            .map(|i| weights[i] * matrix.row(j)[i])
            .sum();
        matrix.row_mut(j)[j] = (sums[j] - others) / weights[j];
    }
}

/// P_l at each cosine, one row for each l below `moments`.
fn legendre_table(cosines: &[f64], moments: usize) -> Vec<Vec<f64>> {
    let mut table = vec![vec![1.0; cosines.len()], cosines.to_vec()];
    for l in 1..moments.saturating_sub(1) {
        let order = l as f64;
        let next = (0..cosines.len())
            .map(|i| {
                let (before, last) = (table[l - 1][i], table[l][i]);
                ((2.0 * order + 1.0) * cosines[i] * last - order * before) / (order + 1.0)
            })
            .collect();
        table.push(next);
    }
    table.truncate(moments);
    table
}
