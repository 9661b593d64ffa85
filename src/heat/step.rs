//! One step in time of all lanes: a linearly implicit method of third order that damps.
//!
//! ```text
//! (1/(hγ) − J) K_s = f(Y_s) + Σ c_st K_t / h + h γ_s ∂f/∂t        Y_s = H + Σ a_st K_t
//! ```
//!
//! The unknown is the enthalpy; J is the slope of the discrete equations. No equation is solved by
//! iteration: what the slope misses, as a melting peak passes, stands in the estimate of the error
//! and shortens the step. Every K is a sum of heat fluxes between nodes, so heat is conserved to
//! rounding at any step size. Systems are solved for X = (dθ/dH) K, in which they are diagonally
//! dominant with known excess (`numerics/tridiagonal.rs`).
//!
//! Light enters as its mean over the step and a slope, so a step takes up the energy of the
//! exposure exactly.
//!
//! Source: RODAS3 of A. Sandu et al., Atmos. Environ. 31 (1997) 3459: four stages, three
//! evaluations, order 3 with an embedded solution of order 2, both L-stable (coefficients from
//! memory; the order is measured in `tests/heat/order.rs`).

use multiversion::multiversion;

use crate::heat::assemble::Layout;
use crate::heat::assemble::MOST_BODIES;
use crate::heat::lanes::Lanes;
use crate::heat::properties::Interval;
use crate::numerics::tridiagonal;
use crate::numerics::tridiagonal::Excess;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// Order of the embedded solution plus one: how the error estimate falls with the step.
pub const ERROR_ORDER: f64 = 3.0;

const GAMMA: f64 = 0.5;

/// Slope shares γ_s of the first two stages; zero for the others.
const SLOPE_SHARE: [f64; 2] = [0.5, 1.5];

/// One step as asked for, each lane with its own.
#[derive(Clone, Copy, Debug)]
pub struct Stride {
    /// Length, s.
    pub step_s: Lane,
    /// Irradiance at its start, W/m².
    pub irradiance: Lane,
    /// Rise of the irradiance per second, W/(m² s).
    pub irradiance_slope: Lane,
}

/// Room for the stages, and what a step gives.
#[derive(Clone, Debug)]
pub struct Stepper {
    weight: Vec<Lane>,
    per_diffusivity: Vec<Lane>,
    excess: Vec<Lane>,
    pivot: Vec<Lane>,
    x: [Vec<Lane>; 4],
    potential: Vec<Lane>,
    net: Vec<Lane>,
    /// Enthalpy after the step, J/m³.
    pub enthalpy: Vec<Lane>,
    /// Largest error of the step over all nodes, K.
    pub error_k: Lane,
    /// Heat lost through the outer faces during the step, J/m².
    pub lost: [Lane; 2],
}

/// Temperatures where heat flux depends on them and not on the potential: the outer faces, and
/// both sides of every contact with resistance.
type Spots = [Lane; 2 * MOST_BODIES];

impl Stepper {
    /// Room for a layout.
    pub fn new(layout: Layout) -> Self {
        let zero = vec![[0.0; LANES]; layout.nodes()];
        Stepper {
            weight: zero.clone(),
            per_diffusivity: zero.clone(),
            excess: zero.clone(),
            pivot: zero.clone(),
            x: [zero.clone(), zero.clone(), zero.clone(), zero.clone()],
            potential: zero.clone(),
            net: zero.clone(),
            enthalpy: zero,
            error_k: [0.0; LANES],
            lost: [[0.0; LANES]; 2],
        }
    }
}

/// Fills temperatures, potentials, slopes and heat fluxes from the enthalpies.
#[multiversion(targets("x86_64+avx2"))]
pub fn evaluate(lanes: &mut Lanes, pool: &[Interval]) {
    let n = lanes.volume.len();
    let mut contact = 0;
    for segment in &lanes.segments {
        for i in segment.from..segment.to {
            let [potential, diffusivity, temperature, warming] =
                segment.state(pool, &lanes.enthalpy[i]);
            lanes.potential[i] = potential;
            lanes.diffusivity[i] = diffusivity;
            lanes.temperature[i] = temperature;
            lanes.warming[i] = warming;
        }
        if segment.shared {
            while !lanes.meetings[contact].merged {
                contact += 1;
            }
            let i = segment.from;
            let (value, slope) = segment.before(pool, &lanes.enthalpy[i]);
            lanes.before[contact] = value;
            for l in 0..LANES {
                lanes.before_slope[contact][l] = slope[l] / lanes.diffusivity[i][l];
            }
            contact += 1;
        }
    }
    let mut spots = [[0.0; LANES]; 2 * MOST_BODIES];
    spots[0] = lanes.temperature[0];
    spots[1] = lanes.temperature[n - 1];
    for (c, meeting) in lanes.meetings.iter().enumerate() {
        if !meeting.merged {
            spots[2 + 2 * c] = lanes.temperature[meeting.last];
            spots[3 + 2 * c] = lanes.temperature[meeting.last + 1];
        }
    }
    let mut net = std::mem::take(&mut lanes.net);
    lanes.loss = conduct(lanes, &lanes.potential, &lanes.before, &spots, &mut net);
    lanes.net = net;
}

/// Heat conducted into each node, W/m²; returns what leaves through the outer faces, W/m².
#[inline(always)]
fn conduct(
    lanes: &Lanes,
    potential: &[Lane],
    before: &[Lane; MOST_BODIES],
    spots: &Spots,
    net: &mut [Lane],
) -> [Lane; 2] {
    let mut loss = [[0.0; LANES]; 2];
    let mut arriving = [0.0; LANES];
    for l in 0..LANES {
        loss[0][l] = lanes.face[0][l] * (spots[0][l] - lanes.ambient[0][l]);
        loss[1][l] = lanes.face[1][l] * (spots[1][l] - lanes.ambient[1][l]);
        arriving[l] = -loss[0][l];
    }
    let mut first = 0;
    for b in 0..lanes.layout.bodies {
        let last = first + lanes.layout.cells[b];
        let merged = lanes.layout.merged[b];
        for i in first..last {
            let next = if merged && i + 1 == last {
                &before[b]
            } else {
                &potential[i + 1]
            };
            for l in 0..LANES {
                let leaving = lanes.link[i][l] * (potential[i][l] - next[l]);
                net[i][l] = arriving[l] - leaving;
                arriving[l] = leaving;
            }
        }
        if b + 1 == lanes.layout.bodies {
            for l in 0..LANES {
                net[last][l] = arriving[l] - loss[1][l];
            }
        } else if !merged {
            for l in 0..LANES {
                let leaving = lanes.link[last][l] * (spots[2 + 2 * b][l] - spots[3 + 2 * b][l]);
                net[last][l] = arriving[l] - leaving;
                arriving[l] = leaving;
            }
        }
        first = last + usize::from(!merged);
    }
    loss
}

/// Potentials and heat fluxes at the enthalpies of a stage; returns the loss at the faces.
#[inline(always)]
fn stage_fluxes(
    lanes: &Lanes,
    pool: &[Interval],
    enthalpy: &[Lane],
    potential: &mut [Lane],
    net: &mut [Lane],
) -> [Lane; 2] {
    let n = enthalpy.len();
    let mut before = [[0.0; LANES]; MOST_BODIES];
    let mut spots = [[0.0; LANES]; 2 * MOST_BODIES];
    let mut body = 0;
    let count = lanes.segments.len();
    for (s, segment) in lanes.segments.iter().enumerate() {
        for i in segment.from..segment.to {
            potential[i] = segment.potential(pool, &enthalpy[i]);
        }
        if segment.shared {
            before[body - 1] = segment.before(pool, &enthalpy[segment.from]).0;
            continue;
        }
        if s == 0 {
            spots[0] = segment.temperature(pool, &enthalpy[0]);
        }
        if 0 < body && !lanes.layout.merged[body - 1] {
            spots[1 + 2 * body] = segment.temperature(pool, &enthalpy[segment.from]);
        }
        if s + 1 == count {
            spots[1] = segment.temperature(pool, &enthalpy[n - 1]);
        } else if !lanes.layout.merged[body] {
            spots[2 + 2 * body] = segment.temperature(pool, &enthalpy[segment.to - 1]);
        }
        body += 1;
    }
    conduct(lanes, potential, &before, &spots, net)
}

/// Takes one step from the state [`evaluate`] left; the result stands in `stepper`.
#[multiversion(targets("x86_64+avx2"))]
pub fn advance(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval], stride: &Stride) {
    let n = lanes.volume.len();
    let outer = linearise(lanes);
    let Stepper {
        weight,
        per_diffusivity,
        excess,
        pivot,
        x: [x1, x2, x3, x4],
        potential,
        net,
        enthalpy,
        error_k,
        lost,
    } = stepper;
    let mut per_step = [0.0; LANES];
    let mut light = [[0.0; LANES]; 3];
    for l in 0..LANES {
        let (h, start, slope) = (
            stride.step_s[l],
            stride.irradiance[l],
            stride.irradiance_slope[l],
        );
        per_step[l] = 1.0 / h;
        light[0][l] = start + SLOPE_SHARE[0] * h * slope;
        light[1][l] = start + SLOPE_SHARE[1] * h * slope;
        light[2][l] = start + h * slope;
    }
    for i in 0..n {
        for l in 0..LANES {
            let reciprocal = 1.0 / lanes.diffusivity[i][l];
            per_diffusivity[i][l] = reciprocal;
            weight[i][l] = lanes.volume[i][l] * per_step[l] * reciprocal;
            excess[i][l] = weight[i][l] / GAMMA;
            x1[i][l] = lanes.net[i][l] + lanes.share[i][l] * light[0][l];
        }
    }
    for l in 0..LANES {
        excess[0][l] += outer[0][l];
        excess[n - 1][l] += outer[1][l];
    }
    let matrix = Excess {
        excess,
        left: &lanes.left,
        right: &lanes.right,
    };
    tridiagonal::factor(matrix, pivot);
    tridiagonal::solve(matrix, pivot, x1);
    for i in 0..n {
        for l in 0..LANES {
            x2[i][l] =
                lanes.net[i][l] + lanes.share[i][l] * light[1][l] + 4.0 * (weight[i][l] * x1[i][l]);
        }
    }
    tridiagonal::solve(matrix, pivot, x2);
    for i in 0..n {
        for l in 0..LANES {
            enthalpy[i][l] = lanes.enthalpy[i][l] + 2.0 * (x1[i][l] * per_diffusivity[i][l]);
        }
    }
    let loss3 = stage_fluxes(lanes, pool, enthalpy, potential, net);
    for i in 0..n {
        for l in 0..LANES {
            x3[i][l] =
                net[i][l] + lanes.share[i][l] * light[2][l] + weight[i][l] * (x1[i][l] - x2[i][l]);
        }
    }
    tridiagonal::solve(matrix, pivot, x3);
    for i in 0..n {
        for l in 0..LANES {
            enthalpy[i][l] += x3[i][l] * per_diffusivity[i][l];
        }
    }
    let loss4 = stage_fluxes(lanes, pool, enthalpy, potential, net);
    for i in 0..n {
        for l in 0..LANES {
            x4[i][l] = net[i][l]
                + lanes.share[i][l] * light[2][l]
                + weight[i][l] * (x1[i][l] - x2[i][l] - 8.0 / 3.0 * x3[i][l]);
        }
    }
    tridiagonal::solve(matrix, pivot, x4);
    *error_k = [0.0; LANES];
    let mut sum = [0.0; LANES];
    for segment in &lanes.segments {
        for i in segment.from..segment.to {
            for l in 0..LANES {
                enthalpy[i][l] += x4[i][l] * per_diffusivity[i][l];
                let error = x4[i][l].abs() * segment.per_conductivity[l];
                error_k[l] = error_k[l].max(error);
                sum[l] += error;
            }
        }
    }
    for l in 0..LANES {
        // A maximum passes over what is not a number; a sum does not.
        if !sum[l].is_finite() {
            error_k[l] = f64::INFINITY;
        }
    }
    // The same method for the heat lost, so that the ledger is a check and no definition.
    for (side, node) in [(0, 0), (1, n - 1)] {
        for l in 0..LANES {
            let half = GAMMA * stride.step_s[l];
            let slope = outer[side][l];
            let k1 = half * (lanes.loss[side][l] + slope * x1[node][l]);
            let k2 = half * (lanes.loss[side][l] + slope * x2[node][l]) + 2.0 * k1;
            let k3 = half * (loss3[side][l] + slope * x3[node][l]) + 0.5 * (k1 - k2);
            let k4 =
                half * (loss4[side][l] + slope * x4[node][l]) + 0.5 * (k1 - k2 - 8.0 / 3.0 * k3);
            lost[side][l] = 2.0 * k1 + k3 + k4;
        }
    }
}

/// Slopes of the heat fluxes that are not plain differences of potentials; returns those of the
/// outer faces over the potential of their nodes.
#[inline(always)]
fn linearise(lanes: &mut Lanes) -> [Lane; 2] {
    let n = lanes.volume.len();
    let per_potential = |lanes: &Lanes, node: usize| {
        let mut slope = [0.0; LANES];
        for l in 0..LANES {
            slope[l] = lanes.warming[node][l] / lanes.diffusivity[node][l];
        }
        slope
    };
    for (c, meeting) in lanes.meetings.iter().enumerate() {
        let last = meeting.last;
        if meeting.merged {
            for l in 0..LANES {
                lanes.right[last - 1][l] = lanes.link[last - 1][l] * lanes.before_slope[c][l];
            }
        } else {
            let (above, below) = (per_potential(lanes, last), per_potential(lanes, last + 1));
            for l in 0..LANES {
                lanes.left[last][l] = lanes.link[last][l] * above[l];
                lanes.right[last][l] = lanes.link[last][l] * below[l];
            }
        }
    }
    let mut outer = [per_potential(lanes, 0), per_potential(lanes, n - 1)];
    for (side, slope) in outer.iter_mut().enumerate() {
        for l in 0..LANES {
            slope[l] *= lanes.face[side][l];
        }
    }
    outer
}
