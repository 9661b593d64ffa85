//! Cells of a cross-section: fine at the interface and at the edge of the light, coarse far away.
//!
//! Widths follow the same law as the one-dimensional stage's (`heat/grid.rs`), so that more cells
//! for each factor e make every cell smaller in proportion.

use crate::heat::column::Column;
use crate::heat::cross_section::Settings;
use crate::heat::cross_section::across::Across;
use crate::heat::grid::Extent;
use crate::heat::grid::FEWEST_CELLS;
use crate::heat::light::decay_m;
use crate::heat::properties::Curves;

/// Faces of cells.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Faces of the cells of every body, distances from its own front, m.
    pub depth_m: Vec<Vec<f64>>,
    /// Faces of the columns, distances from the middle of the seam, m.
    pub across_m: Vec<f64>,
}

/// Diffusion lengths of the heating time beyond the light that the cross-section reaches to.
const FAR_DIFFUSION: f64 = 12.0;

/// The same in thicknesses of all bodies together.
const FAR_THICKNESS: f64 = 2.0;

/// The same in half-widths of the light.
const FAR_LIGHT: f64 = 3.0;

impl Grid {
    pub fn new(column: &Column, curves: &[Curves], across: &Across, settings: &Settings) -> Self {
        let time_s = column.exposure.dwell_s;
        let whole_s = column.exposure.heating_s();
        let diffusivity: Vec<f64> = column
            .bodies
            .iter()
            .zip(curves)
            .map(|(body, it)| {
                it.conductivity_w_per_m_k(body.initial_k)
                    / it.sensible_capacity_j_per_m3_k(body.initial_k)
            })
            .collect();
        let thickness: f64 = column.bodies.iter().map(|it| it.thickness_m).sum();
        let fastest = diffusivity.iter().fold(0.0, |a, &b| f64::max(a, b));
        let far_m = FAR_DIFFUSION * (fastest * whole_s).sqrt()
            + FAR_THICKNESS * thickness
            + FAR_LIGHT * across.reach_m();
        // The plate of a clamp may conduct far better than what is watched.
        let parts = diffusivity[column.upper..]
            .iter()
            .fold(0.0, |a, &b| f64::max(a, b));
        let lateral = (parts * time_s).sqrt().hypot(across.fall_m());
        Grid {
            depth_m: depth_faces(column, &diffusivity, settings),
            across_m: across_faces(across, lateral, far_m, settings),
        }
    }
}

/// Width of the first cell beside a fine place over which cells are even for `even_m`.
fn first_m(even_m: f64, settings: &Settings) -> f64 {
    (1.0 / settings.cells_per_e_fold).exp_m1() * even_m
}

fn depth_faces(column: &Column, diffusivity: &[f64], settings: &Settings) -> Vec<Vec<f64>> {
    let time_s = column.exposure.dwell_s;
    let bodies = &column.bodies;
    let diffusion = |b: usize| (diffusivity[b] * time_s).sqrt();
    let decay = |b: usize| {
        decay_m(
            &column.light.layers[bodies[b].light_layer],
            bodies[b].thickness_m,
        )
    };
    let even = |b: usize| settings.even_share * diffusion(b).min(decay(b));
    let upper = column.upper;
    let mut extents: Vec<Extent> = bodies
        .iter()
        .map(|it| Extent::plain(it.thickness_m))
        .collect();
    // The laser-side face is watched; fine cells there only where light dies near it.
    extents[upper].far_even_m = even(upper).max(0.05 * bodies[upper].thickness_m.min(decay(upper)));
    let even_m = even(upper).min(even(upper + 1));
    let mut faces = Vec::with_capacity(bodies.len());
    for (b, extent) in extents.iter().enumerate() {
        let even_m = if b < upper {
            settings.even_share * diffusion(b).min(diffusion(upper))
        } else {
            even_m
        };
        let first = first_m(even_m, settings).min(extent.thickness_m / FEWEST_CELLS as f64);
        let cells = extent.cells(first, settings.cells_per_e_fold);
        let nodes = extent.nodes(cells, first.min(extent.thickness_m / cells as f64));
        faces.push(if b <= upper {
            flipped(nodes, extent.thickness_m)
        } else {
            nodes
        });
    }
    faces
}

fn across_faces(across: &Across, lateral_m: f64, far_m: f64, settings: &Settings) -> Vec<f64> {
    let edge = across.edge_m();
    let first = first_m(settings.even_share * lateral_m, settings).min(edge / FEWEST_CELLS as f64);
    let inside = Extent {
        thickness_m: edge,
        // The middle of the seam is where melt depths are read.
        far_even_m: 0.35 * edge,
    };
    let outside = Extent::plain(far_m);
    let nodes = |extent: &Extent| {
        let cells = extent.cells(first, settings.cells_per_e_fold);
        extent.nodes(cells, first.min(extent.thickness_m / cells as f64))
    };
    let mut faces = flipped(nodes(&inside), edge);
    faces.extend(nodes(&outside).into_iter().skip(1).map(|it| edge + it));
    faces
}

/// Distances from the back become distances from the front, ascending.
fn flipped(mut nodes: Vec<f64>, thickness_m: f64) -> Vec<f64> {
    nodes.reverse();
    for it in &mut nodes {
        *it = thickness_m - *it;
    }
    nodes[0] = 0.0;
    nodes
}
