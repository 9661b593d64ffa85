//! The molten zone around the interface of a case in its lane, as squeezing asks for it.
//!
//! Checked in: `tests/heat/melt.rs`.

use crate::heat::lanes::Place;
use crate::heat::melt::Molten;
use crate::heat::melt::Squeeze;

/// The molten zone now.
pub fn molten_zone(at: Place, squeeze: &Squeeze) -> Molten {
    let layout = at.case.layout;
    let landmarks = &at.case.landmarks;
    let [upper, lower] = landmarks.interface;
    let node = |i: usize| (at.case.depth[i], at.temperature_k(i));
    let above = (layout.nodes_of(layout.upper()).0..=upper).rev().map(node);
    let below = (lower..=layout.nodes_of(layout.upper() + 1).1).map(node);
    let mut zone = molten_side(above, landmarks.flow_k[0], squeeze, 0);
    zone.reverse();
    zone.extend(molten_side(below, landmarks.flow_k[1], squeeze, 1));
    Molten::of(&zone)
}

/// Depths and fluidities from the interface away to where a part stops flowing.
fn molten_side(
    nodes: impl Iterator<Item = (f64, f64)>,
    flow_k: f64,
    squeeze: &Squeeze,
    side: usize,
) -> Vec<(f64, f64)> {
    let fluidity = |t_k: f64| 1.0 / squeeze.viscosity[side].at_pa_s(t_k);
    let mut zone: Vec<(f64, f64)> = Vec::new();
    let mut before: Option<(f64, f64)> = None;
    for (depth, t_k) in nodes {
        if t_k < flow_k {
            if let Some((last, hot_k)) = before {
                let share = (hot_k - flow_k) / (hot_k - t_k);
                zone.push((last + share * (depth - last), fluidity(flow_k)));
            }
            break;
        }
        zone.push((depth, fluidity(t_k)));
        before = Some((depth, t_k));
    }
    zone
}
