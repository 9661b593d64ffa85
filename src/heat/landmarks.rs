//! What a run looks out for in its column: places, temperatures and enthalpies that stay the same.
//!
//! Found once for all cases that differ in their power alone.

use crate::heat::case::Case;
use crate::heat::column::Column;
use crate::heat::column::Face;
use crate::heat::table::Pool;
use crate::numerics::order::smaller;

/// Places, temperatures and enthalpies of a column.
#[derive(Clone, Copy, Debug, Default)]
pub struct Landmarks {
    /// Cells in the column.
    pub cells: usize,
    /// Last node of the upper and first node of the lower part.
    pub interface: [usize; 2],
    /// First node of the upper part.
    pub front: usize,
    /// Node nearest to the probe in either part, and depth of the probe, m.
    pub probes: [(usize, f64); 2],
    /// Flow temperatures of the parts, K.
    pub flow_k: [f64; 2],
    /// Enthalpies of the interface's nodes at them, J/m³.
    pub flow_j_per_m3: [f64; 2],
    /// Highest temperature at the start, K.
    pub hottest_start_k: f64,
    /// Lowest temperature at the start or around, K.
    pub coldest_k: f64,
    /// Highest temperature around, K; zero where no face exchanges heat.
    pub warmest_ambient_k: f64,
    /// Enthalpy at the start, J/m².
    pub start_j_per_m2: f64,
}

impl Landmarks {
    /// Finds them.
    pub fn new(column: &Column, case: &Case, pool: &Pool) -> Self {
        let upper = column.upper;
        let (last, first) = case.layout.interface();
        let interface = [last, first];
        let flow_k = [0, 1].map(|part| {
            let thermal = &column.bodies[upper + part].thermal;
            thermal.flow_temperature_k.value
        });
        let around = || {
            [&column.laser_side, &column.far_side]
                .into_iter()
                .filter(|face| 0.0 < face.coefficient_w_per_m2_k)
                .map(|face: &Face| face.ambient_k)
        };
        let energy = case.volume.iter().zip(&case.start_j_per_m3);
        Landmarks {
            cells: case.layout.cells[..case.layout.bodies].iter().sum(),
            interface,
            front: case.layout.nodes_of(upper).0,
            probes: [0, 1].map(|part| probe(column, case, part, interface[part])),
            flow_k,
            flow_j_per_m3: [0, 1].map(|part| {
                case.table_at(interface[part])
                    .enthalpy_j_per_m3(pool, flow_k[part])
            }),
            hottest_start_k: case.start_k.iter().copied().fold(0.0, f64::max),
            coldest_k: around()
                .chain(case.start_k.iter().copied())
                .fold(f64::INFINITY, f64::min),
            warmest_ambient_k: around().fold(0.0, f64::max),
            start_j_per_m2: energy.map(|(volume, it)| volume * it).sum(),
        }
    }

    /// The lower of the flow temperatures, K.
    pub fn first_flow_k(&self) -> f64 {
        smaller(self.flow_k[0], self.flow_k[1])
    }
}

/// The node nearest to a part's probe, and the depth of the probe, m.
fn probe(column: &Column, case: &Case, part: usize, face: usize) -> (usize, f64) {
    let body = column.upper + part;
    let away = if part == 0 { -1.0 } else { 1.0 };
    let depth = case.depth[face] + away * column.bodies[body].probe_m;
    let (first, last) = case.layout.nodes_of(body);
    let off = |i: usize| (case.depth[i] - depth).abs();
    let node = (first..=last)
        .min_by(|&i, &j| off(i).total_cmp(&off(j)))
        .unwrap_or(face);
    (node, depth)
}
