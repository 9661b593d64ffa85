//! From a column to the numbers of its discrete equations, cases of one layout alike.
//!
//! ```text
//! Σ_j M_ij dH_j/dt = g_{i−1} (θ_{i−1} − θ_i) − g_i (θ_i − θ_{i+1}) + q_i E(t)
//! M H at node i    = v_i H_i − m_{i−1} (H_i − H_{i−1}) − m_i (H_i − H_{i+1})      m = ℓ/12
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | v | `volume` | share of the column around node i, bounded half-way to its neighbours | m |
//! | g | `link` | 1/ℓ; for a contact its conductance, acting on temperatures | 1/m; W/(m² K) |
//! | m | `mass_left`, `mass_right` | a twelfth of the distance ℓ to the next node | m |
//! | q | `share` | share of the incident light absorbed, weighted by the node's hat function | – |
//!
//! Nodes lie on the faces of the bodies, so the interface has its temperature as an unknown; a
//! perfect contact has one node, half in either body. The matrix M is the mean of the diagonal and
//! the consistent mass matrix of linear elements, whose errors are opposite: on even cells the
//! equations are of fourth order (Numerov's method), on graded ones the leading error of either is
//! nearly gone. All terms are exchanged between neighbours, so heat is conserved.
//!
//! Ahead of heat that arrives in a cell much longer than what was heated the consistent matrix makes
//! temperatures dip: there m falls to zero, with the fourth power of the length.
//!
//! Source: B. Numerov, Mon. Not. R. Astron. Soc. 84 (1924) 592, for the even grid; from memory.
//! Checked in: `tests/heat/order.rs`, `tests/heat/exact.rs`.

// Nodes and lanes index many arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::error::Error;
use crate::heat::beginning::set_rates;
use crate::heat::case::Case;
use crate::heat::check::check;
use crate::heat::column::Column;
use crate::heat::column::Contact;
use crate::heat::grid::Extent;
use crate::heat::grid::FEWEST_CELLS;
use crate::heat::landmarks::Landmarks;
use crate::heat::layout::Layout;
use crate::heat::layout::MOST_BODIES;
use crate::heat::library::Library;
use crate::heat::library::MaterialId;
use crate::heat::light::NodeLight;
use crate::heat::light::decay_m;
use crate::heat::light::hat_shares;
use crate::heat::properties::Curves;
use crate::heat::settings::Settings;

/// Length of a cell, in units of what is heated in the pulse, at which half of its exchange of inertia
/// is left. By trial on 600 random joints: dips of 0.01 K in the median in place of 0.12 K, 2.8 K at
/// most in place of 6.2 K; with 4 they are 1.9 K at most, but twice as many faces far from the
/// interface are off by more than 1 K.
const LUMPED: f64 = 10.0;

/// Which materials a column is made of, by their place in the library.
pub type Materials = [MaterialId; MOST_BODIES];

/// A scale of length as the shorter of two, without a corner.
fn shorter(a: f64, b: f64) -> f64 {
    a * b / (a + b)
}

/// Writes the equations of a column.
///
/// # Errors
/// A number of the column has no physical meaning.
pub fn assemble(
    column: &Column,
    materials: &Materials,
    library: &Library,
    settings: &Settings,
) -> Result<Case, Error> {
    check(column)?;
    let bodies = &column.bodies;
    let upper = column.upper;
    let time_s = column.exposure.dwell_s;
    let diffusion: Vec<f64> = bodies
        .iter()
        .enumerate()
        .map(|(b, body)| {
            let curves = library.curves(materials[b]);
            let diffusivity = curves.conductivity_w_per_m_k(body.initial_k)
                / curves.sensible_capacity_j_per_m3_k(body.initial_k);
            (diffusivity * time_s).sqrt()
        })
        .collect();
    let layers = &column.light.layers;
    let profile = |b: usize| &layers[bodies[b].light_layer];
    let decay: Vec<f64> = (0..bodies.len())
        .map(|b| decay_m(profile(b), bodies[b].thickness_m))
        .collect();

    let sharpness = (upper..bodies.len())
        .map(|b| library.curves(materials[b]).sharpness())
        .fold(0.0, f64::max);
    let settings = settings.fineness(sharpness);

    // Depth that is heated in one pulse.
    let heated: Vec<f64> = bodies
        .iter()
        .zip(&diffusion)
        .map(|(body, diffusion)| diffusion + decay[upper + 1].min(body.thickness_m))
        .collect();

    // Spacing at the interface, the same on both sides.
    let even = |b: usize| settings.even_share * shorter(diffusion[b], decay[b]);
    let growth = (1.0 / settings.cells_per_e_fold).exp_m1();
    // What many pulses heat goes far beyond what one does, further with every one.
    let repeated = 1 < column.exposure.passes;
    let mut extents: Vec<Extent> = bodies
        .iter()
        .zip(&heated)
        .map(|(body, heated)| {
            if repeated {
                Extent::plain(body.thickness_m)
            } else {
                Extent::coarser_beyond(body.thickness_m, settings.reach * heated)
            }
        })
        .collect();
    let clamped = 0 < upper;
    let weight = if clamped {
        1.0
    } else {
        far_weight(column, upper, diffusion[upper])
    };
    let far = |even_m: f64, weight: f64, otherwise: Extent| {
        if weight <= 0.0 {
            return otherwise;
        }
        Extent {
            far_even_m: (even_m / weight).min(1e3 * otherwise.thickness_m),
            ..otherwise
        }
    };
    extents[upper] = far(even(upper), weight, extents[upper]);
    let weight = cooled_weight(column, upper + 1, diffusion[upper + 1]);
    let even_m = settings.even_share * diffusion[upper + 1];
    extents[upper + 1] = far(even_m, weight, extents[upper + 1]);
    let fineness = settings.cells_per_e_fold;
    let mut first = growth * even(upper).min(even(upper + 1));
    for extent in &extents[upper..] {
        first = first.min(extent.thickness_m / FEWEST_CELLS as f64);
    }
    let mut layout = Layout {
        bodies: bodies.len(),
        cells: [0; MOST_BODIES],
        merged: [false; MOST_BODIES],
        alike: [false; MOST_BODIES],
    };
    for b in upper..bodies.len() {
        layout.cells[b] = extents[b].cells(first, fineness);
    }
    for b in upper..bodies.len() {
        first = first.min(extents[b].thickness_m / layout.cells[b] as f64);
    }
    let mut nodes: Vec<Vec<f64>> = vec![Vec::new(); bodies.len()];
    for b in upper..bodies.len() {
        nodes[b] = extents[b].nodes(layout.cells[b], first);
    }
    flip(&mut nodes[upper], bodies[upper].thickness_m);
    if clamped {
        let (width, cells) = clamp_cells(&extents[0], nodes[upper][1], fineness);
        if width < nodes[upper][1] {
            // A clamp thinner than the part's first cell: the part's cell gives way.
            nodes[upper][1] = width;
        }
        layout.cells[0] = cells;
        nodes[0] = extents[0].nodes(cells, width);
        flip(&mut nodes[0], bodies[0].thickness_m);
    }
    for (b, contact) in column.contacts.iter().enumerate() {
        layout.merged[b] = matches!(contact, Contact::Perfect);
        layout.alike[b] = layout.merged[b] && materials[b] == materials[b + 1];
    }
    let mut case = discretise(column, layout, &nodes, &heated, materials, library);
    case.tolerance = settings.tolerance;
    Ok(case)
}

/// Width of the first cell of a clamp beside a part's cell, and number of cells.
fn clamp_cells(clamp: &Extent, beside_m: f64, fineness: f64) -> (f64, usize) {
    let width = beside_m.min(clamp.thickness_m / FEWEST_CELLS as f64);
    let cells = clamp.cells(width, fineness);
    (width.min(clamp.thickness_m / cells as f64), cells)
}

/// Distances from the back face become distances from the front face, ascending.
fn flip(nodes: &mut [f64], thickness_m: f64) {
    nodes.reverse();
    for z in nodes.iter_mut() {
        *z = thickness_m - *z;
    }
    nodes[0] = 0.0;
}

fn discretise(
    column: &Column,
    layout: Layout,
    nodes: &[Vec<f64>],
    heated: &[f64],
    materials: &Materials,
    library: &Library,
) -> Case {
    let n = layout.nodes();
    let bodies = &column.bodies;
    let mut case = Case {
        layout,
        depth: vec![0.0; n],
        volume: vec![0.0; n],
        link: vec![0.0; n],
        mass_left: vec![0.0; n],
        mass_right: vec![0.0; n],
        light: NodeLight::none(n),
        wetted: None,
        conducted: vec![0.0; n],
        loss_w_per_m2: [0.0; 2],
        pace: vec![0.0; n],
        faces: [column.laser_side, column.far_side],
        start_k: vec![0.0; n],
        start_j_per_m3: vec![0.0; n],
        tables: [library.table(materials[0]); MOST_BODIES],
        pairs: [library.table(materials[0]); MOST_BODIES],
        tolerance: 0.0,
        rise_k_m2_per_j: 0.0,
        landmarks: Landmarks::default(),
    };
    let mut front: f64 = -bodies[..column.upper]
        .iter()
        .map(|body| body.thickness_m)
        .sum::<f64>();
    let mut edges = Vec::new();
    let mut shares_of_mean = [(1.0, 1.0); MOST_BODIES];
    for (b, body) in bodies.iter().enumerate() {
        let (first, last) = layout.nodes_of(b);
        let z = &nodes[b];
        case.tables[b] = library.table(materials[b]);
        edges.clear();
        edges.push(0.0);
        edges.extend(z.windows(2).map(|w| 0.5 * (w[0] + w[1])));
        edges.push(body.thickness_m);
        let shares = hat_shares(&column.light.layers[body.light_layer], z);
        case.light.add(first, &shares);
        let curves = library.curves(materials[b]);
        let capacity = curves.sensible_capacity_j_per_m3_k(body.initial_k);
        for (j, i) in (first..=last).enumerate() {
            let volume = edges[j + 1] - edges[j];
            let merged_before = j == 0 && 0 < b && layout.merged[b - 1];
            case.depth[i] = front + z[j];
            case.start_k[i] = if merged_before && bodies[b - 1].initial_k != body.initial_k {
                let before = library.curves(materials[b - 1]);
                contact_temperature_k((before, bodies[b - 1].initial_k), (curves, body.initial_k))
            } else {
                body.initial_k
            };
            case.volume[i] += volume;
            case.rise_k_m2_per_j = case.rise_k_m2_per_j.max(shares[j] / (volume * capacity));
        }
        let diffusivity = curves.conductivity_w_per_m_k(body.initial_k) / capacity;
        for i in first..last {
            case.link[i] = 1.0 / (z[i - first + 1] - z[i - first]);
            case.pace[i] += diffusivity * case.link[i];
            case.pace[i + 1] += diffusivity * case.link[i];
            let j = i - first;
            let width = |j: usize| z[j + 1] - z[j];
            let kept = 1.0 / (1.0 + (width(j) / (LUMPED * heated[b])).powi(4));
            case.mass_right[i] = kept
                * if j == 0 {
                    width(0) / 6.0
                } else {
                    hat_weight(width(j), width(j - 1))
                };
            case.mass_left[i] = kept
                * if i + 1 == last {
                    width(j) / 6.0
                } else {
                    hat_weight(width(j), width(j + 1))
                };
        }
        if b + 1 < bodies.len() {
            if layout.merged[b] {
                case.pairs[b] = library.pair(materials[b], materials[b + 1]);
                // The shared node's enthalpy is the mean of both bodies'; each body's own is taken
                // as a fixed share of it, that of the sensible heats.
                let next = &bodies[b + 1];
                let beside = library
                    .curves(materials[b + 1])
                    .sensible_capacity_j_per_m3_k(next.initial_k);
                shares_of_mean[b] = (
                    2.0 * capacity / (capacity + beside),
                    2.0 * beside / (capacity + beside),
                );
            } else if let Contact::Conductance {
                conductance_w_per_m2_k,
            } = column.contacts[b]
            {
                case.link[last] = conductance_w_per_m2_k;
            }
        }
        front += body.thickness_m;
    }
    for (b, share) in shares_of_mean.iter().enumerate() {
        if layout.merged[b] {
            let shared = layout.nodes_of(b).1;
            case.mass_right[shared - 1] *= share.0;
            case.mass_left[shared] *= share.1;
        }
    }
    for i in 0..n {
        let (mut given, mut taken) = (case.mass_right[i], case.mass_left[i]);
        if 0 < i {
            given += case.mass_left[i - 1];
            taken += case.mass_right[i - 1];
        }
        case.volume[i] += taken - given;
    }
    for i in 0..n {
        let known = 0 < i && case.start_k[i] == case.start_k[i - 1] && !case.begins_table(i);
        case.start_j_per_m3[i] = if known {
            case.start_j_per_m3[i - 1]
        } else {
            case.table_at(i)
                .enthalpy_j_per_m3(&library.pool, case.start_k[i])
        };
    }
    for (pace, volume) in case.pace.iter_mut().zip(&case.volume) {
        *pace /= volume;
    }
    let curves: Vec<&Curves> = (0..bodies.len())
        .map(|b| library.curves(materials[b]))
        .collect();
    let wetted = column.wetted_light();
    case.wetted = wetted.map(|light| NodeLight::of(light, column, layout, nodes));
    set_rates(&mut case, &curves);
    case.landmarks = Landmarks::new(column, &case, &library.pool);
    case
}

/// Weight of a neighbour's value in the mean over a node's hat function, by the parabola through
/// the node and both neighbours; `to` is the distance to this neighbour, `other` to the other.
fn hat_weight(to: f64, other: f64) -> f64 {
    (to * to + to * other - other * other) / (12.0 * to)
}

/// Temperature of a node half in either of two bodies that meet at different temperatures:
/// the one with the mean of their enthalpies.
fn contact_temperature_k(above: (&Curves, f64), below: (&Curves, f64)) -> f64 {
    let wanted = above.0.enthalpy_j_per_m3(above.1) + below.0.enthalpy_j_per_m3(below.1);
    let (mut low, mut high) = (above.1.min(below.1), above.1.max(below.1));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if above.0.enthalpy_j_per_m3(middle) + below.0.enthalpy_j_per_m3(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// How fine the laser-side face of an unclamped upper part is to be: with the share of all
/// absorbed light that stays within the diffusion length behind it, or with cooling.
fn far_weight(column: &Column, upper: usize, diffusion_m: f64) -> f64 {
    let light = &column.light;
    let body = &column.bodies[upper];
    let total: f64 = column
        .bodies
        .iter()
        .map(|it| light.layers[it.light_layer].total())
        .sum();
    let near = light.layers[body.light_layer].cumulative(diffusion_m.min(body.thickness_m));
    let heated = if 0.0 < total { near / total } else { 0.0 };
    // Below a thirtieth the face needs nothing; from a third on it is a heated face like another.
    ((heated - 0.03) / 0.3)
        .clamp(0.0, 1.0)
        .max(cooled_weight(column, upper, diffusion_m))
}

/// How fine an outer face is to be for its cooling: with the drop of temperature it would cause
/// over the diffusion length, against 30 K.
fn cooled_weight(column: &Column, body: usize, diffusion_m: f64) -> f64 {
    let face = if body + 1 == column.bodies.len() {
        column.far_side
    } else {
        column.laser_side
    };
    let body = &column.bodies[body];
    let k = body.thermal.conductivity_w_per_m_k.value.at(body.initial_k);
    let biot = face.coefficient_w_per_m2_k * diffusion_m / k;
    let drop = (face.ambient_k - body.initial_k).abs() * biot / (1.0 + biot);
    ((drop - 3.0) / 30.0).clamp(0.0, 1.0)
}
