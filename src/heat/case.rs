//! The discrete equations of one column (`assemble` writes them, `lanes` holds eight side by side).

use crate::heat::column::Face;
use crate::heat::landmarks::Landmarks;
use crate::heat::layout::Layout;
use crate::heat::layout::MOST_BODIES;
use crate::heat::light::NodeLight;
use crate::heat::table::Table;

/// The discrete equations of one column.
#[derive(Clone, Debug)]
pub struct Case {
    /// What it shares with its neighbours.
    pub layout: Layout,
    /// Depths of the nodes from the laser-side face of the upper part, m.
    pub depth: Vec<f64>,
    /// Volumes per area, m.
    pub volume: Vec<f64>,
    /// Links to the next node; the last is zero.
    pub link: Vec<f64>,
    /// Twelfths of the distance to the next node, as seen from this node and from the next.
    pub mass_left: Vec<f64>,
    /// See `mass_left`.
    pub mass_right: Vec<f64>,
    /// Light, and light once melt has wetted the other part where that differs.
    pub light: NodeLight,
    /// See `light`.
    pub wetted: Option<NodeLight>,
    /// Rise of the enthalpy by conduction at the start, W/m³.
    pub conducted: Vec<f64>,
    /// Heat that leaves through the outer faces at the start, W/m².
    pub loss_w_per_m2: [f64; 2],
    /// Diffusivity at the start times both links over the volume, 1/s.
    pub pace: Vec<f64>,
    /// Outer faces, laser side first.
    pub faces: [Face; 2],
    /// Temperatures at the start, K.
    pub start_k: Vec<f64>,
    /// Enthalpies at the start, J/m³.
    pub start_j_per_m3: Vec<f64>,
    /// Table of each body.
    pub tables: [Table; MOST_BODIES],
    /// Table of the node shared with the next body, where merged.
    pub pairs: [Table; MOST_BODIES],
    /// Error allowed in a step, see [`Settings::tolerance`].
    pub tolerance: f64,
    /// Rise of the temperature at the hottest node for unit energy without conduction, K m²/J.
    pub rise_k_m2_per_j: f64,
    /// What a run looks out for.
    pub landmarks: Landmarks,
}

impl Case {
    /// True if node `i` does not share its table with the one before.
    pub fn begins_table(&self, i: usize) -> bool {
        (0..self.layout.bodies).any(|b| {
            let last = self.layout.nodes_of(b).1;
            i == last + 1 || (i == last && self.layout.merged[b])
        })
    }

    /// Table of a node.
    pub fn table_at(&self, node: usize) -> &Table {
        for b in 0..self.layout.bodies {
            let last = self.layout.nodes_of(b).1;
            if node == last && self.layout.merged[b] {
                return &self.pairs[b];
            }
            if node <= last {
                return &self.tables[b];
            }
        }
        &self.tables[self.layout.bodies - 1]
    }
}
