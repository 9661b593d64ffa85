//! The cells of a cross-section, what joins them, and the rise of their enthalpy.
//!
//! ```text
//! within a body      q = (θ_a − θ_b) / distance
//! between bodies     q = (T_a − T_b) / (d_a/k_a + 1/h + d_b/k_b)
//! outer faces        q = (T − T_air) / (d/k + 1/h)
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | q | – | heat flux towards greater depth, or outwards | W/m² |
//! | d | `above_m`, `below_m`, `half_m` | half the height of the cell at the face | m |
//! | h | `conductance` | contact conductance or heat transfer coefficient | W/(m² K) |
//!
//! k at a face between bodies is that of the cell beside it: off by half a cell's change of k,
//! which is of second order in the temperature. The conductance of a film of air is that at the state
//! of the stage (`closing`); in the matrix of a step it stands still.

// Cells index many arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::error::HeatProblem;
use crate::heat::column::Column;
use crate::heat::column::Contact;
use crate::heat::column::Face;
use crate::heat::cross_section::Settings;
use crate::heat::cross_section::across::Across;
use crate::heat::cross_section::closing::Air;
use crate::heat::cross_section::closing::Closing;
use crate::heat::cross_section::grid::Grid;
use crate::heat::properties::Curves;
use crate::heat::table::Pool;
use crate::heat::table::Table;
use crate::heat::table::on;

/// One row of cells at the same depth.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Index of its body.
    pub body: usize,
    /// Table of its material.
    pub table: Table,
    /// Height, m.
    pub height_m: f64,
    /// Depth of its centre from the laser-side face of the upper part, m.
    pub depth_m: f64,
    /// Share of the light absorbed in it, and where melt has wetted the other part.
    pub share: f64,
    /// See `share`.
    pub wetted_share: f64,
}

/// What joins a row to the next one.
#[derive(Clone, Copy, Debug)]
pub enum Link {
    /// The same body; one over the distance of the centres, 1/m.
    Within(f64),
    /// A contact between bodies.
    Between {
        above_m: f64,
        below_m: f64,
        conductance: f64,
    },
}

/// State at given enthalpies.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// Kirchhoff's potential, W/m.
    pub potential: Vec<f64>,
    /// Its slope over the enthalpy, m²/s.
    pub slope: Vec<f64>,
    /// Temperature, K.
    pub temperature: Vec<f64>,
    /// The film of air, where there is one.
    pub air: Air,
}

/// Temperature, its slope over the enthalpy and the conductivity of one cell.
#[derive(Clone, Copy, Debug)]
struct Local {
    t: f64,
    per_h: f64,
    k: f64,
}

/// One half of a cross-section.
#[derive(Clone, Debug)]
pub struct Equations {
    pub pool: Pool,
    pub rows: Vec<Row>,
    pub links: Vec<Link>,
    /// Widths and centres of the columns, m.
    pub width_m: Vec<f64>,
    pub across_m: Vec<f64>,
    /// One over the distances of neighbouring columns, 1/m.
    pub width_link: Vec<f64>,
    /// Mean of the light over each column, relative to the middle of the seam.
    pub light: Vec<f64>,
    pub faces: [Face; 2],
    /// First row of each body, and the number of rows.
    pub first_row: Vec<usize>,
    /// Which body the upper part is.
    pub upper: usize,
    /// Enthalpy at the start, one for every row, J/m³.
    pub start: Vec<f64>,
    /// Kelvin for unit enthalpy of each body on the way to its flow temperature, m³ K/J.
    pub kelvin: Vec<f64>,
    /// Highest rise of a cell for unit energy, K m²/J.
    pub rise_k_m2_per_j: f64,
    /// The film of air between the parts; none where their contact does not change.
    pub closing: Option<Closing>,
}

impl Equations {
    pub fn new(column: &Column, across: &Across, settings: &Settings) -> Result<Self, HeatProblem> {
        let curves = column
            .bodies
            .iter()
            .map(|it| Curves::new(&it.thermal))
            .collect::<Result<Vec<_>, _>>()?;
        let grid = Grid::new(column, &curves, across, settings);
        let mut pool = Pool::default();
        let (mut rows, mut links, mut first_row) = (Vec::<Row>::new(), Vec::new(), vec![0]);
        let (mut start, mut kelvin) = (Vec::new(), Vec::new());
        let mut rise_k_m2_per_j: f64 = 0.0;
        let mut front: f64 = -column.bodies[..column.upper]
            .iter()
            .map(|it| it.thickness_m)
            .sum::<f64>();
        for (b, (body, curves)) in column.bodies.iter().zip(&curves).enumerate() {
            let table = pool.add(curves);
            let faces = &grid.depth_m[b];
            let shares = column.light.layers[body.light_layer].between(faces);
            let wetted = column.wetted_light().unwrap_or(&column.light);
            let wetted = wetted.layers[body.light_layer].between(faces);
            let at_start = table.enthalpy_j_per_m3(&pool, body.initial_k);
            let flow = body
                .thermal
                .flow_temperature_k
                .value
                .max(body.initial_k + 1.0);
            let mean = (flow - body.initial_k) / (table.enthalpy_j_per_m3(&pool, flow) - at_start);
            kelvin.push(mean);
            let capacity = curves.sensible_capacity_j_per_m3_k(body.initial_k);
            let shares = shares.into_iter().zip(wetted);
            for (pair, (share, wetted_share)) in faces.windows(2).zip(shares) {
                let height_m = pair[1] - pair[0];
                if let Some(before) = rows.last() {
                    links.push(if before.body == b {
                        Link::Within(2.0 / (before.height_m + height_m))
                    } else {
                        Link::Between {
                            above_m: 0.5 * before.height_m,
                            below_m: 0.5 * height_m,
                            conductance: match column.contacts[b - 1] {
                                Contact::Perfect => f64::INFINITY,
                                Contact::Conductance {
                                    conductance_w_per_m2_k,
                                } => conductance_w_per_m2_k,
                            },
                        }
                    });
                }
                rise_k_m2_per_j = rise_k_m2_per_j.max(share / (height_m * capacity));
                rows.push(Row {
                    body: b,
                    table,
                    height_m,
                    depth_m: front + 0.5 * (pair[0] + pair[1]),
                    share,
                    wetted_share,
                });
                start.push(at_start);
            }
            first_row.push(rows.len());
            front += body.thickness_m;
        }
        let faces = &grid.across_m;
        let width_m: Vec<f64> = faces.windows(2).map(|it| it[1] - it[0]).collect();
        Ok(Equations {
            pool,
            rows,
            links,
            across_m: faces.windows(2).map(|it| 0.5 * (it[0] + it[1])).collect(),
            width_link: width_m.windows(2).map(|it| 2.0 / (it[0] + it[1])).collect(),
            light: faces
                .windows(2)
                .map(|it| (across.until_m(it[1]) - across.until_m(it[0])) / (it[1] - it[0]))
                .collect(),
            width_m,
            faces: [column.laser_side, column.far_side],
            first_row,
            upper: column.upper,
            start,
            kelvin,
            rise_k_m2_per_j,
            closing: Closing::of(column),
        })
    }

    /// Cells.
    pub fn cells(&self) -> usize {
        self.rows.len() * self.width_m.len()
    }

    /// The row above the interface.
    pub fn above_interface(&self) -> usize {
        self.first_row[self.upper + 1] - 1
    }

    /// Looks up the state at the enthalpies.
    pub fn look_up(&self, enthalpy: &[f64], state: &mut State) {
        let columns = self.width_m.len();
        for all in [
            &mut state.potential,
            &mut state.slope,
            &mut state.temperature,
        ] {
            all.resize(enthalpy.len(), 0.0);
        }
        for (i, row) in self.rows.iter().enumerate() {
            for c in i * columns..(i + 1) * columns {
                let it = row.table.interval(&self.pool, enthalpy[c]);
                state.potential[c] = on(it.potential, enthalpy[c]);
                state.slope[c] = it.potential[1];
                state.temperature[c] = on(it.temperature, enthalpy[c]);
            }
        }
        if let Some(closing) = &self.closing {
            closing.look(self, &state.temperature, &mut state.air);
        }
    }

    fn local(&self, row: usize, enthalpy: f64) -> Local {
        let it = self.rows[row].table.interval(&self.pool, enthalpy);
        Local {
            t: on(it.temperature, enthalpy),
            per_h: it.temperature[1],
            k: it.potential[1] / it.temperature[1],
        }
    }

    /// Heat flux out of an outer face at a cell's enthalpy, W/m², its slope, and the temperature
    /// of the face.
    pub fn outer(&self, side: usize, enthalpy: f64) -> (f64, f64, f64) {
        let row = if side == 0 { 0 } else { self.rows.len() - 1 };
        let face = self.faces[side];
        let cell = self.local(row, enthalpy);
        let half_m = 0.5 * self.rows[row].height_m;
        let u = 1.0 / (half_m / cell.k + 1.0 / face.coefficient_w_per_m2_k);
        let q = u * (cell.t - face.ambient_k);
        (q, u * cell.per_h, cell.t - q * half_m / cell.k)
    }

    /// Heat flux through the contact below `row` in a column, W/m², its slopes over the enthalpy
    /// above and below, and the temperatures of the two faces.
    pub fn contact(
        &self,
        (row, column): (usize, usize),
        enthalpy: &[f64],
        state: &State,
    ) -> ([f64; 3], [f64; 2]) {
        let Link::Between {
            above_m,
            below_m,
            mut conductance,
        } = self.links[row]
        else {
            return ([0.0; 3], [0.0; 2]);
        };
        if self.closing.is_some() && row == self.above_interface() {
            conductance = state.air.conductance_w_per_m2_k[column];
        }
        let columns = self.width_m.len();
        let at = |row: usize| self.local(row, enthalpy[row * columns + column]);
        let (a, b) = (at(row), at(row + 1));
        let (ra, rb) = (above_m / a.k, below_m / b.k);
        let u = 1.0 / (ra + 1.0 / conductance + rb);
        let q = u * (a.t - b.t);
        ([q, u * a.per_h, u * b.per_h], [a.t - q * ra, b.t + q * rb])
    }

    /// Rise of the enthalpy, W/m³, and heat that leaves through the two outer faces of this half,
    /// W/m of seam.
    pub fn rise(
        &self,
        enthalpy: &[f64],
        state: &State,
        irradiance: f64,
        rise: &mut [f64],
    ) -> [f64; 2] {
        let columns = self.width_m.len();
        let rows = self.rows.len();
        for (i, row) in self.rows.iter().enumerate() {
            let heat = irradiance * row.share / row.height_m;
            let wetted_heat = irradiance * row.wetted_share / row.height_m;
            let potential = &state.potential[i * columns..(i + 1) * columns];
            let rise = &mut rise[i * columns..(i + 1) * columns];
            for (rise, light) in rise.iter_mut().zip(&self.light) {
                *rise = heat * light;
            }
            for j in state.air.wetted() {
                rise[j] = wetted_heat * self.light[j];
            }
            for j in 0..columns - 1 {
                let q = self.width_link[j] * (potential[j] - potential[j + 1]);
                rise[j] -= q / self.width_m[j];
                rise[j + 1] += q / self.width_m[j + 1];
            }
        }
        for (i, link) in self.links.iter().enumerate() {
            let per_height = [1.0 / self.rows[i].height_m, 1.0 / self.rows[i + 1].height_m];
            for j in 0..columns {
                let (a, b) = (i * columns + j, (i + 1) * columns + j);
                let q = match link {
                    Link::Within(per_m) => per_m * (state.potential[a] - state.potential[b]),
                    Link::Between { .. } => self.contact((i, j), enthalpy, state).0[0],
                };
                rise[a] -= q * per_height[0];
                rise[b] += q * per_height[1];
            }
        }
        let mut lost = [0.0; 2];
        for (side, lost) in lost.iter_mut().enumerate() {
            let row = if side == 0 { 0 } else { rows - 1 };
            for j in 0..columns {
                let c = row * columns + j;
                let q = self.outer(side, enthalpy[c]).0;
                rise[c] -= q / self.rows[row].height_m;
                *lost += q * self.width_m[j];
            }
        }
        lost
    }

    /// Enthalpy of this half per length of seam, J/m, relative to the start.
    pub fn stored_j_per_m(&self, enthalpy: &[f64]) -> f64 {
        let columns = self.width_m.len();
        self.rows
            .iter()
            .zip(&self.start)
            .enumerate()
            .map(|(i, (row, start))| {
                let here = &enthalpy[i * columns..(i + 1) * columns];
                let sum: f64 = here
                    .iter()
                    .zip(&self.width_m)
                    .map(|(h, w)| (h - start) * w)
                    .sum();
                sum * row.height_m
            })
            .sum()
    }

    /// Light absorbed by this half for unit energy in the middle of the seam, m.
    pub fn absorbed_m(&self, state: &State) -> f64 {
        let depth: f64 = self.rows.iter().map(|it| it.share).sum();
        let wetted_depth: f64 = self.rows.iter().map(|it| it.wetted_share).sum();
        let width = |j: usize| self.light[j] * self.width_m[j];
        let across: f64 = (0..self.width_m.len()).map(width).sum();
        let wetted: f64 = state.air.wetted().map(width).sum();
        depth * across + (wetted_depth - depth) * wetted
    }
}
