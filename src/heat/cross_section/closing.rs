//! A film of air across the seam that closes, at every place by the swelling of the parts there.
//!
//! ```text
//! u(y)  =  Σ over both parts of ∫ ε(T(z, y)) dz        swelling towards the gap
//! g(y)  =  max(g_0 − u(y), 0)                          width left, and h(y) from it
//! ```
//!
//! Symbols, the law of h and what it is worth: `heat::closure`, whose one-dimensional film this is in
//! every column of the cross-section. The conductance is taken at the state of each stage of a step,
//! so that it costs no order (`step`: the matrix may leave it out). The heat that crosses is one
//! number for both parts, so heat is conserved whatever the conductance. So does the light of a column
//! change, from one step to the next, once melt has wetted the other part there.
//!
//! Holds for: heated depths thin against the width of the seam, so that the surface rises over what
//! is hot beneath it, as in one dimension. Both backs are held, so the gap stays open beside the seam,
//! and the middle does not push its neighbours apart. Does not hold for: the pull of cold material on
//! what swells beside it, which rounds the bulge off within about its heated depth; melt pushed
//! sideways.
//!
//! Checked in: `tests/heat/cross_section/gap.rs`.

use std::sync::Arc;

use crate::heat::closure::Film;
use crate::heat::column::Column;
use crate::heat::cross_section::equations::Equations;

/// What does not change of a film on its way.
#[derive(Clone, Debug)]
pub struct Closing {
    pub film: Arc<Film>,
    flow_k: [f64; 2],
}

/// The film of air in every column; empty without one.
#[derive(Clone, Debug, Default)]
pub struct Air {
    /// Swelling of both parts together, m.
    pub swelling_m: Vec<f64>,
    /// Conductance, W/(m² K).
    pub conductance_w_per_m2_k: Vec<f64>,
    /// True where the parts have touched while a face flowed: they stay together.
    wetted: Vec<bool>,
}

impl Air {
    /// Columns in which the parts have touched while a face flowed.
    pub fn wetted(&self) -> impl Iterator<Item = usize> {
        (0..self.wetted.len()).filter(|j| self.wetted[*j])
    }

    /// Takes over where the parts have wetted each other.
    pub fn stay_wetted_as(&mut self, other: &Air) {
        self.wetted.clone_from(&other.wetted);
    }
}

impl Closing {
    /// The film of a column; none where its contact does not change.
    pub fn of(column: &Column) -> Option<Self> {
        let film = Arc::clone(column.film.as_ref()?);
        let flow_k = [0, 1].map(|side| {
            let thermal = &column.bodies[column.upper + side].thermal;
            thermal.flow_temperature_k.value
        });
        Some(Closing { film, flow_k })
    }

    /// Swelling and conductance of every column at the temperatures of the cells.
    pub fn look(&self, equations: &Equations, temperature_k: &[f64], air: &mut Air) {
        let columns = equations.width_m.len();
        air.wetted.resize(columns, false);
        air.swelling_m.clear();
        air.swelling_m.resize(columns, 0.0);
        for (side, swelling) in self.film.swelling.iter().enumerate() {
            let Some(swelling) = swelling else { continue };
            let body = equations.upper + side;
            for i in equations.first_row[body]..equations.first_row[body + 1] {
                let height_m = equations.rows[i].height_m;
                let cells = &temperature_k[i * columns..(i + 1) * columns];
                for (u, t) in air.swelling_m.iter_mut().zip(cells) {
                    *u += height_m * swelling.strain(*t);
                }
            }
        }
        let above = equations.above_interface() * columns;
        air.conductance_w_per_m2_k.clear();
        for j in 0..columns {
            let left_m = if air.wetted[j] {
                0.0
            } else {
                self.film.gap_m - air.swelling_m[j]
            };
            // The cells at the faces have the mean temperature of these, to second order.
            let faces_k = [above, above + columns].map(|row| temperature_k[row + j]);
            let conductance = self.film.conductance_w_per_m2_k(left_m, faces_k);
            air.conductance_w_per_m2_k.push(conductance);
        }
    }

    /// Takes note of where the parts touch while a face flows, from the temperatures of both faces.
    pub fn wet(&self, faces_k: &[[f64; 2]], air: &mut Air) {
        for (j, faces_k) in faces_k.iter().enumerate() {
            let flows = (0..2).any(|side| self.flow_k[side] <= faces_k[side]);
            air.wetted[j] |= flows && self.film.gap_m <= air.swelling_m[j];
        }
    }
}
