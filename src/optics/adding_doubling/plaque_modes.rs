//! Reflectance and transmittance of plaques of one material in air, straight on, by eigenmodes.
//!
//! What adding-doubling finds by doubling each thickness anew, eigenvectors give for all
//! thicknesses at once; they take the same directions and matrices P and Q (`redistribution`):
//!
//! ```text
//! ds/dz = −P q,  dq/dz = −Q s       P = L Lᵀ,   Lᵀ Q L = V k² Vᵀ,   U = L V,   W = L⁻ᵀ V
//! lit alike from both sides         s(−h) = U α,                  q(−h) = W (k tanh kh) α
//! lit oppositely                    s(−h) = U (tanh kh / k) β,    q(−h) = W β
//! at the front face                 (1 − r) s + (1 + r) q = 2 t x,   t = 1 − r
//! out of the front face             r x + t (s − q) / 2
//! ```
//!
//! Light from one side is half the sum of both cases: what leaves is half the sum in front, half the
//! difference behind.
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | s, q | – | sum and difference of light going down and up, power / √c | – |
//! | k | `rates` | decay of a mode, 1/m; 0 for diffuse light that nothing absorbs | 1/m |
//! | h | `half_m` | half the thickness; z counts from the middle | m |
//! | U, W | `sums`, `nets` | a mode's sum and net flux by direction | –, – |
//! | r, x | `reflect`, – | Fresnel reflectance of the face; light arriving | – |
//!
//! Holds for: one layer with equal faces to air, light straight on, optical thickness up to
//! [`THICKEST`]: in thicker layers rounding of the flattest mode would count against the slowest.
//! Without scattering and above that, the stack is followed by doubling.
//!
//! Source: K. Stamnes et al., Appl. Opt. 27 (1988) 2502 (discrete ordinates; reduction to a symmetric
//! eigenvalue problem: T. Nakajima and M. Tanaka, J. Quant. Spectrosc. Radiat. Transf. 35 (1986) 13;
//! both from memory). Checked in: `tests/optics/plaque_modes.rs` against doubling.

use crate::error::Error;
use crate::material::optical::OpticalConstants;
use crate::numerics::small_matrix::{Matrix, dot};
use crate::numerics::symmetric::{cholesky, eigen, solve_transposed};
use crate::optics::adding_doubling::redistribution::{Kernel, peak};
use crate::optics::adding_doubling::{Grid, Incidence, Resolution, Totals, check, totals};
use crate::optics::slab::{Slab, Stack};

/// Optical thickness, forward peak not counted, up to which modes are used.
pub const THICKEST: f64 = 1e3;

/// Directions, faces and phase function of plaques of one index and anisotropy.
#[derive(Clone, Debug)]
pub struct Ordinates {
    n: f64,
    g: f64,
    resolution: Resolution,
    kernel: Kernel,
    /// Square roots of the étendue.
    roots: Vec<f64>,
    /// Reflectance of the face by direction, 1 where light is trapped.
    reflect: Vec<f64>,
    /// Directions that leave into air.
    leaving: usize,
}

/// Modes of one material.
#[derive(Clone, Debug)]
pub struct Modes<'a> {
    ordinates: &'a Ordinates,
    constants: OpticalConstants,
    solved: Option<Solved>,
}

/// What modes are made of.
#[derive(Clone, Debug)]
struct Solved {
    rates: Vec<f64>,
    sums: Matrix,
    nets: Matrix,
}

impl Ordinates {
    /// Directions for an index and an anisotropy.
    ///
    /// # Errors
    /// Index or anisotropy out of range.
    pub fn new(n: f64, g: f64, resolution: Resolution) -> Result<Self, Error> {
        // Any layer that scatters gives these directions.
        let stack = Stack::alone(Slab {
            thickness_m: 1.0,
            constants: OpticalConstants {
                n,
                mu_a_per_m: 0.0,
                mu_s_per_m: 1.0,
                g,
            },
        });
        check(&stack, Incidence::Normal)?;
        let Grid {
            roots,
            cosines,
            faces,
            ..
        } = Grid::new(&stack, Incidence::Normal, resolution);
        Ok(Ordinates {
            n,
            g,
            resolution,
            kernel: Kernel::new(n, g, &cosines[1], &roots, resolution.moments),
            leaving: faces[0].above.min(faces[0].below),
            reflect: faces[0].reflect[..cosines[1].len()].to_vec(),
            roots,
        })
    }

    /// Index and anisotropy these are for.
    pub fn material(&self) -> (f64, f64) {
        (self.n, self.g)
    }

    /// True where these are directions for this index, anisotropy and resolution.
    pub fn are_for(&self, n: f64, g: f64, resolution: Resolution) -> bool {
        self.n == n && self.g == g && self.resolution == resolution
    }

    /// Modes at coefficients of absorption and scattering, 1/m.
    pub fn modes(&self, mu_a_per_m: f64, mu_s_per_m: f64) -> Modes<'_> {
        let constants = OpticalConstants {
            n: self.n,
            mu_a_per_m,
            mu_s_per_m,
            g: self.g,
        };
        let usable = [mu_a_per_m, mu_s_per_m, self.n]
            .iter()
            .all(|it| it.is_finite());
        let solved = (usable && 0.0 < mu_s_per_m && 0.0 <= mu_a_per_m && self.g < 1.0)
            .then(|| self.solve(&constants))
            .flatten();
        Modes {
            ordinates: self,
            constants,
            solved,
        }
    }

    fn solve(&self, constants: &OpticalConstants) -> Option<Solved> {
        let matrices = self.kernel.redistribution(constants);
        let lower = cholesky(&matrices.odd)?;
        let inner = lower.transposed().times(&matrices.even.times(&lower));
        let found = eigen(&inner.symmetric_part(1.0))?;
        let modes = found.vectors.transposed();
        let sums = lower.times(&modes);
        // Rounding of the flattest mode spoils the slowest eigenvalues; what a mode loses, Uᵀ Q U, is
        // the same number without it.
        let drained = matrices.even.times(&sums);
        let mut squares = vec![0.0; sums.columns()];
        for i in 0..sums.rows() {
            let row = sums.row(i).iter().zip(drained.row(i));
            for (square, (sum, drained)) in squares.iter_mut().zip(row) {
                *square += sum * drained;
            }
        }
        Some(Solved {
            rates: squares.iter().map(|it| it.max(0.0).sqrt()).collect(),
            nets: solve_transposed(&lower, &modes),
            sums,
        })
    }
}

impl Modes<'_> {
    /// What a plaque of this thickness reflects and transmits.
    ///
    /// # Errors
    /// As [`totals`].
    pub fn totals(&self, thickness_m: f64) -> Result<Totals, Error> {
        let stack = Stack::alone(Slab {
            thickness_m,
            constants: self.constants,
        });
        let depth = self.extinction_per_m() * thickness_m;
        match &self.solved {
            Some(solved) if depth <= THICKEST => {
                check(&stack, Incidence::Normal)?;
                Ok(self.by_modes(solved, thickness_m))
            }
            _ => totals(&stack, Incidence::Normal, self.ordinates.resolution),
        }
    }

    /// Extinction, forward peak not counted, 1/m.
    fn extinction_per_m(&self) -> f64 {
        let it = &self.constants;
        it.mu_a_per_m + it.mu_s_per_m * (1.0 - peak(it.g, self.ordinates.resolution.moments))
    }

    fn by_modes(&self, solved: &Solved, thickness_m: f64) -> Totals {
        let half_m = 0.5 * thickness_m;
        let bent: Vec<f64> = (solved.rates.iter())
            .map(|rate| rate * (rate * half_m).tanh())
            .collect();
        let stretched: Vec<f64> = (solved.rates.iter())
            .map(|rate| {
                let depth = rate * half_m;
                // tanh x / x is 1 to rounding below this.
                if depth < 1e-8 {
                    half_m
                } else {
                    depth.tanh() / rate
                }
            })
            .collect();
        let ones = vec![1.0; solved.rates.len()];
        let alike = self.leaving(solved, &ones, &bent);
        let opposed = self.leaving(solved, &stretched, &ones);
        let straight = self.straight(thickness_m);
        Totals {
            reflected: 0.5 * (alike + opposed),
            transmitted: (0.5 * (alike - opposed)).max(0.0),
            ..straight
        }
    }

    /// Power that leaves one face where each mode's sum and net flux at the face carry a factor.
    fn leaving(&self, solved: &Solved, in_sums: &[f64], in_nets: &[f64]) -> f64 {
        let Ordinates {
            roots,
            reflect,
            leaving,
            ..
        } = self.ordinates;
        let size = reflect.len();
        let mut matrix = Matrix::zero(size, size);
        for (i, r) in reflect.iter().enumerate() {
            let row = matrix.row_mut(i).iter_mut();
            let sums = solved.sums.row(i).iter().zip(in_sums);
            let nets = solved.nets.row(i).iter().zip(in_nets);
            for ((it, (sum, in_sum)), (net, in_net)) in row.zip(sums).zip(nets) {
                *it = (1.0 - r) * sum * in_sum + (1.0 + r) * net * in_net;
            }
        }
        // All light arrives straight on, which is the first direction.
        let arriving = 1.0 / roots[0];
        let mut right = vec![0.0; size];
        right[0] = 2.0 * (1.0 - reflect[0]) * arriving;
        let strength = matrix.factored().solve_vector(&right);
        let in_sums: Vec<f64> = strength.iter().zip(in_sums).map(|(a, b)| a * b).collect();
        let in_nets: Vec<f64> = strength.iter().zip(in_nets).map(|(a, b)| a * b).collect();
        let back: f64 = (0..*leaving)
            .map(|i| {
                let up = dot(solved.sums.row(i), &in_sums) - dot(solved.nets.row(i), &in_nets);
                0.5 * (1.0 - reflect[i]) * up * roots[i]
            })
            .sum();
        reflect[0] + back
    }

    /// The light that is never scattered; totals left at zero.
    fn straight(&self, thickness_m: f64) -> Totals {
        let it = &self.constants;
        let r = self.ordinates.reflect[0];
        let kept = (-(it.mu_a_per_m + it.mu_s_per_m) * thickness_m).exp();
        let through = (1.0 - r).powi(2) * kept / (1.0 - (r * kept).powi(2));
        Totals {
            reflected: 0.0,
            transmitted: 0.0,
            reflected_unscattered: r + r * kept * through,
            transmitted_unscattered: through,
        }
    }
}
