//! One step in time: Rosenbrock's of second order, its matrix split into depth and width.
//!
//! ```text
//! (I − γ τ J_z) (I − γ τ J_y) k1 = F(u)                        γ = 1 − 1/√2
//! (I − γ τ J_z) (I − γ τ J_y) k2 = F(u + τ k1) − 2 k1
//! u' = u + 3/2 τ k1 + 1/2 τ k2,    error of u + τ k1:  1/2 τ (k1 + k2)
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | u | `enthalpy` | enthalpy of the cells | J/m³ |
//! | F | `Equations::rise` | its rise | W/m³ |
//! | J_z, J_y | `Lines` | slopes of F by conduction in depth and in width | 1/s |
//! | τ | `step_s` | step | s |
//!
//! The formula keeps its second order whatever the matrix (a "W-method"), so neither the split nor
//! slopes that change with melting cost order. Both factors are conservative matrices: columns sum
//! to one but for the outer faces, so what is stored and what is lost through the faces add up to
//! the light absorbed, to rounding. For modes that decay fast in one direction the step damps
//! completely, for those that decay fast in both it is stable.
//!
//! An alternating-direction step of Douglas's kind costs the same but does not damp, and rings
//! after the light switches.
//!
//! Checked in: this file (stability), `tests/heat/cross_section/order.rs` (order in time).

use crate::heat::cross_section::equations::Equations;
use crate::heat::cross_section::equations::Link;
use crate::heat::cross_section::equations::State;
use crate::numerics::tridiagonal::Excess;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;
use crate::numerics::tridiagonal::factor;
use crate::numerics::tridiagonal::solve;

const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;

/// Tridiagonal systems along one direction, eight lines side by side.
#[derive(Clone, Debug)]
struct Lines {
    lines: usize,
    length: usize,
    /// Distance in memory from a line to the next, and from a node to the next.
    strides: [usize; 2],
    excess: Vec<Lane>,
    left: Vec<Lane>,
    right: Vec<Lane>,
    pivot: Vec<Lane>,
    x: Vec<Lane>,
}

impl Lines {
    fn new(lines: usize, length: usize, strides: [usize; 2]) -> Self {
        let size = lines.div_ceil(LANES) * length;
        Lines {
            lines,
            length,
            strides,
            // Lines that fill up the last lanes: one times x is zero.
            excess: vec![[1.0; LANES]; size],
            left: vec![[0.0; LANES]; size],
            right: vec![[0.0; LANES]; size],
            pivot: vec![[1.0; LANES]; size],
            x: vec![[0.0; LANES]; size],
        }
    }

    /// Place in the lanes of a node of a line.
    fn place(&self, line: usize, node: usize) -> (usize, usize) {
        (line / LANES * self.length + node, line % LANES)
    }

    fn factor(&mut self) {
        let n = self.length;
        for block in 0..self.lines.div_ceil(LANES) {
            let all = block * n..(block + 1) * n;
            let matrix = Excess {
                excess: &self.excess[all.clone()],
                left: &self.left[all.clone()],
                right: &self.right[all.clone()],
            };
            factor(matrix, &mut self.pivot[all]);
        }
    }

    /// Solves for `b` times the weights of the nodes, in place.
    fn solve(&mut self, weight: &[f64], b: &mut [f64]) {
        let n = self.length;
        let [across, along] = self.strides;
        for block in 0..self.lines.div_ceil(LANES) {
            let all = block * n..(block + 1) * n;
            let first = block * LANES;
            let used = LANES.min(self.lines - first);
            let x = &mut self.x[all.clone()];
            for (node, x) in x.iter_mut().enumerate() {
                for (lane, x) in x.iter_mut().enumerate().take(used) {
                    *x = weight[node] * b[(first + lane) * across + node * along];
                }
            }
            let matrix = Excess {
                excess: &self.excess[all.clone()],
                left: &self.left[all.clone()],
                right: &self.right[all.clone()],
            };
            solve(matrix, &self.pivot[all], x);
            for (node, x) in x.iter().enumerate() {
                for (lane, x) in x.iter().enumerate().take(used) {
                    b[(first + lane) * across + node * along] = *x;
                }
            }
        }
    }
}

/// Memory of the steps.
#[derive(Clone, Debug)]
pub struct Stepper {
    depth: Lines,
    width: Lines,
    height_m: Vec<f64>,
    /// Slopes of the heat through the outer faces, W/m² for unit enthalpy.
    face_slope: [Vec<f64>; 2],
    k1: Vec<f64>,
    k2: Vec<f64>,
    middle: Vec<f64>,
    middle_state: State,
}

/// What a step did.
#[derive(Clone, Copy, Debug)]
pub struct Done {
    /// Largest error estimate, K.
    pub error_k: f64,
    /// Largest change, K.
    pub change_k: f64,
    /// Heat that left through the outer faces of this half, J/m of seam.
    pub lost_j_per_m: f64,
}

impl Stepper {
    pub fn new(equations: &Equations) -> Self {
        let (rows, columns) = (equations.rows.len(), equations.width_m.len());
        Stepper {
            depth: Lines::new(columns, rows, [1, columns]),
            width: Lines::new(rows, columns, [columns, 1]),
            height_m: equations.rows.iter().map(|it| it.height_m).collect(),
            face_slope: [vec![0.0; columns], vec![0.0; columns]],
            k1: vec![0.0; rows * columns],
            k2: vec![0.0; rows * columns],
            middle: vec![0.0; rows * columns],
            middle_state: State::default(),
        }
    }

    /// Goes from `enthalpy`, whose `state` is known, to `next`.
    pub fn step(
        &mut self,
        equations: &Equations,
        enthalpy: &[f64],
        state: &State,
        (step_s, irradiance): (f64, f64),
        next: &mut [f64],
    ) -> Done {
        self.matrices(equations, enthalpy, state, GAMMA * step_s);
        let lost = equations.rise(enthalpy, state, irradiance, &mut self.k1);
        let mut lost_j_per_m = 0.5 * step_s * (lost[0] + lost[1]);
        lost_j_per_m += 0.5 * step_s * self.solve(equations, GAMMA * step_s, false);
        for (middle, (h, k)) in self.middle.iter_mut().zip(enthalpy.iter().zip(&self.k1)) {
            *middle = h + step_s * k;
        }
        self.middle_state.air.stay_wetted_as(&state.air);
        equations.look_up(&self.middle, &mut self.middle_state);
        let lost = equations.rise(&self.middle, &self.middle_state, irradiance, &mut self.k2);
        lost_j_per_m += 0.5 * step_s * (lost[0] + lost[1]);
        for (k2, k1) in self.k2.iter_mut().zip(&self.k1) {
            *k2 -= 2.0 * k1;
        }
        lost_j_per_m += 0.5 * step_s * self.solve(equations, GAMMA * step_s, true);
        let columns = equations.width_m.len();
        let (mut error_k, mut change_k): (f64, f64) = (0.0, 0.0);
        for (i, row) in equations.rows.iter().enumerate() {
            let (mut largest, mut most): (f64, f64) = (0.0, 0.0);
            for c in i * columns..(i + 1) * columns {
                let (k1, k2) = (self.k1[c], self.k2[c]);
                let change = step_s * (1.5 * k1 + 0.5 * k2);
                next[c] = enthalpy[c] + change;
                most = most.max(change.abs());
                largest = largest.max((k1 + k2).abs());
            }
            let kelvin = equations.kelvin[row.body];
            error_k = error_k.max(0.5 * step_s * largest * kelvin);
            change_k = change_k.max(most * kelvin);
        }
        Done {
            error_k,
            change_k,
            lost_j_per_m,
        }
    }

    /// Solves for the first or the second stage in place; returns the heat through the outer faces
    /// that the matrix adds to that of the stage's start, W/m.
    fn solve(&mut self, equations: &Equations, scale_s: f64, second: bool) -> f64 {
        let k = if second { &mut self.k2 } else { &mut self.k1 };
        let columns = equations.width_m.len();
        self.depth.solve(&self.height_m, k);
        let mut lost = 0.0;
        for (side, slope) in self.face_slope.iter().enumerate() {
            let row = if side == 0 {
                0
            } else {
                self.height_m.len() - 1
            };
            for j in 0..columns {
                lost += scale_s * slope[j] * k[row * columns + j] * equations.width_m[j];
            }
        }
        self.width.solve(&equations.width_m, k);
        lost
    }

    fn matrices(&mut self, equations: &Equations, enthalpy: &[f64], state: &State, scale_s: f64) {
        let (rows, columns) = (equations.rows.len(), equations.width_m.len());
        for i in 0..rows {
            let height = self.height_m[i];
            for j in 0..columns {
                let c = i * columns + j;
                let (at, lane) = self.depth.place(j, i);
                self.depth.excess[at][lane] = height;
                if i + 1 < rows {
                    let below = c + columns;
                    let (left, right) = match equations.links[i] {
                        Link::Within(per_m) => (per_m * state.slope[c], per_m * state.slope[below]),
                        Link::Between { .. } => {
                            let it = equations.contact((i, j), enthalpy, state).0;
                            (it[1], it[2])
                        }
                    };
                    self.depth.left[at][lane] = scale_s * left;
                    self.depth.right[at][lane] = scale_s * right;
                }
                let (at, lane) = self.width.place(i, j);
                self.width.excess[at][lane] = equations.width_m[j];
                if j + 1 < columns {
                    let link = scale_s * equations.width_link[j];
                    self.width.left[at][lane] = link * state.slope[c];
                    self.width.right[at][lane] = link * state.slope[c + 1];
                }
            }
        }
        for (side, row) in [(0, 0), (1, rows - 1)] {
            for j in 0..columns {
                let slope = equations.outer(side, enthalpy[row * columns + j]).1;
                self.face_slope[side][j] = slope;
                let (at, lane) = self.depth.place(j, row);
                self.depth.excess[at][lane] += scale_s * slope;
            }
        }
        self.depth.factor();
        self.width.factor();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Growth of a mode that decays at the rates `a` and `b` in depth and in width.
    fn growth(a: f64, b: f64) -> f64 {
        let q = (1.0 + GAMMA * a) * (1.0 + GAMMA * b);
        let z = -(a + b);
        let k1 = z / q;
        let k2 = (z * (1.0 + k1) - 2.0 * k1) / q;
        1.0 + 1.5 * k1 + 0.5 * k2
    }

    /// No mode grows, whatever its rates; modes that are stiff in one direction vanish.
    #[test]
    fn no_mode_grows() {
        let rates = || (-40..60).map(|i| 10f64.powf(0.1 * f64::from(i)));
        for a in rates() {
            for b in rates().chain([0.0]) {
                let it = growth(a, b);
                assert!(it.abs() < 1.0, "{a} {b}: {it}");
            }
        }
        assert!(growth(1e9, 0.0).abs() < 1e-8);
    }
}
