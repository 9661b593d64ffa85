//! The numbers of the cases solved side by side, one case a lane, and where their tables are.

use crate::heat::case::Case;
use crate::heat::layout::Layout;
use crate::heat::light::NodeLight;
use crate::heat::look_up::Segment;
use crate::heat::table::Pool;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// Equations and state of one node in every lane.
///
/// Together in memory, so that a sweep needs one address.
#[derive(Clone, Debug, Default)]
#[repr(C, align(64))]
pub struct Node {
    /// Volume, m.
    pub volume: Lane,
    /// Link to the next node, 1/m; for a contact W/(m² K).
    pub link: Lane,
    /// Exchange of inertia with the next node, m.
    pub mass_left: Lane,
    /// The same as seen from the next node, m.
    pub mass_right: Lane,
    /// Share of the light.
    pub share: Lane,
    /// Rise of the enthalpy in unit light, without conduction, 1/m.
    pub heating: Lane,
    /// How fast the node would follow its neighbours, 1/s.
    pub pace: Lane,
    /// Enthalpy, J/m³.
    pub enthalpy: Lane,
    /// Rise of the enthalpy by conduction, W/m³.
    pub conducted: Lane,
}

/// State and equations of the cases.
#[derive(Clone, Debug)]
pub struct Lanes {
    /// What the cases have in common.
    pub layout: Layout,
    /// Nodes by table.
    pub segments: Vec<Segment>,
    /// Nodes from the laser side.
    pub nodes: Vec<Node>,
    /// Coefficients of the outer faces, W/(m² K).
    pub face: [Lane; 2],
    /// Temperatures around, K.
    pub ambient: [Lane; 2],
    /// Heat that leaves through the outer faces, W/m².
    pub loss: [Lane; 2],
}

impl Lanes {
    /// Numbers for a layout, all zero.
    pub fn new(layout: Layout) -> Self {
        let mut segments: Vec<Segment> = Vec::new();
        for b in 0..layout.bodies {
            let (first, last) = layout.nodes_of(b);
            let to = last + usize::from(!layout.merged[b] || layout.alike[b]);
            match segments.last_mut() {
                Some(before) if layout.alike[b - 1] => before.to = to,
                _ => {
                    let from = first + usize::from(0 < b && layout.merged[b - 1]);
                    segments.push(Segment::new(b, from, to, false));
                }
            }
            if layout.merged[b] && !layout.alike[b] {
                segments.push(Segment::new(b, last, last + 1, true));
            }
        }
        Lanes {
            layout,
            segments,
            nodes: vec![Node::default(); layout.nodes()],
            face: [[0.0; LANES]; 2],
            ambient: [[0.0; LANES]; 2],
            loss: [[0.0; LANES]; 2],
        }
    }

    /// Energy held by a case, J/m².
    pub fn energy_j_per_m2(&self, lane: usize) -> f64 {
        self.nodes
            .iter()
            .map(|it| it.volume[lane] * it.enthalpy[lane])
            .sum()
    }

    /// Puts the equations of a case into a lane.
    pub fn load(&mut self, lane: usize, case: &Case) {
        for (i, node) in self.nodes.iter_mut().enumerate() {
            node.volume[lane] = case.volume[i];
            node.link[lane] = case.link[i];
            node.mass_left[lane] = case.mass_left[i];
            node.mass_right[lane] = case.mass_right[i];
            node.pace[lane] = case.pace[i];
        }
        self.light(lane, &case.light);
        for (side, face) in case.faces.iter().enumerate() {
            self.face[side][lane] = face.coefficient_w_per_m2_k;
            self.ambient[side][lane] = face.ambient_k;
        }
        for segment in &mut self.segments {
            let table = if segment.shared {
                &case.pairs[segment.body]
            } else {
                &case.tables[segment.body]
            };
            segment.load(lane, table);
        }
    }

    /// Puts light into a lane.
    pub fn light(&mut self, lane: usize, light: &NodeLight) {
        let values = light.share.iter().zip(&light.heating);
        for (node, (share, heating)) in self.nodes.iter_mut().zip(values) {
            node.share[lane] = *share;
            node.heating[lane] = *heating;
        }
    }

    /// Puts the start of a case into the lane of its equations.
    pub fn start(&mut self, lane: usize, case: &Case) {
        for (i, node) in self.nodes.iter_mut().enumerate() {
            node.conducted[lane] = case.conducted[i];
            node.enthalpy[lane] = case.start_j_per_m3[i];
        }
        for (loss, start) in self.loss.iter_mut().zip(case.loss_w_per_m2) {
            loss[lane] = start;
        }
    }
}

/// Where a case stands in the lanes.
#[derive(Clone, Copy)]
pub struct Place<'a> {
    /// Equations.
    pub case: &'a Case,
    /// State.
    pub lanes: &'a Lanes,
    /// Tables of the materials.
    pub pool: &'a Pool,
    /// The lane.
    pub lane: usize,
}

impl Place<'_> {
    /// Temperature of a node, K.
    pub fn temperature_k(&self, node: usize) -> f64 {
        let enthalpy = self.lanes.nodes[node].enthalpy[self.lane];
        self.case.table_at(node).temperature_k(self.pool, enthalpy)
    }
}
