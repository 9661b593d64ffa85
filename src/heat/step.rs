//! One step in time of all lanes: trapezium and backward differences, one linear system a stage.
//!
//! ```text
//! H_γ = H_0 + (γ h / 2) (f_0 + f_γ)                     γ = 2 − √2
//! H_1 = H_0 + h (w f_0 + w f_γ + d f_1)                 w = √2/4,  d = γ/2
//! ```
//!
//! The unknown is the enthalpy. A stage starts from a prediction H_p and solves
//! `f(θ_p + X) = …` with the slope dθ/dH at the prediction, X = θ' (H − H_p); the enthalpy is then
//! what those very heat fluxes make it, so heat is conserved to rounding without any iteration.
//! How far θ(H_1) is from θ_p + X, which a melting peak can make large, counts as an error of
//! the step like that of the time discretisation, so it never goes unseen.
//!
//! Light enters as its mean over the step and a slope, so a step takes up the energy of the
//! exposure exactly.
//!
//! Source: R. E. Bank et al., IEEE Trans. Electron Devices 32 (1985) 1992 (the method, L-stable,
//! order 2); M. E. Hosea and L. F. Shampine, Appl. Numer. Math. 20 (1996) 21 (as a Runge-Kutta
//! method with an embedded formula of order 3, its error filtered); both from memory; the order is
//! measured in `tests/heat/order.rs`.

use multiversion::multiversion;

use crate::heat::assemble::Layout;
use crate::heat::assemble::MOST_BODIES;
use crate::heat::lanes::Lanes;
use crate::heat::properties::Interval;
use crate::numerics::tridiagonal;
use crate::numerics::tridiagonal::Excess;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// How the error estimate falls with the step.
pub const ERROR_ORDER: f64 = 3.0;

const GAMMA: f64 = 2.0 - std::f64::consts::SQRT_2;
const W: f64 = std::f64::consts::SQRT_2 / 4.0;
const D: f64 = 0.5 * GAMMA;

/// Weights of the difference to the embedded formula.
const ERROR_WEIGHT: [f64; 3] = [
    W - (1.0 - W) / 3.0,
    W - (3.0 * W + 1.0) / 3.0,
    2.0 * D / 3.0,
];

/// One step as asked for, each lane with its own.
#[derive(Clone, Copy, Debug)]
pub struct Stride {
    /// Length, s.
    pub step_s: Lane,
    /// Irradiance at its start, W/m².
    pub irradiance: Lane,
    /// Rise of the irradiance per second, W/(m² s).
    pub irradiance_slope: Lane,
    /// One where the light has just changed and rates say little about the step, else zero.
    pub abrupt: Lane,
}

/// Room for the stages, and what a step gives.
#[derive(Clone, Debug)]
pub struct Stepper {
    predicted: Vec<Lane>,
    potential: Vec<Lane>,
    slope: Vec<Lane>,
    excess: Vec<Lane>,
    pivot: Vec<Lane>,
    x: Vec<Lane>,
    net: Vec<Lane>,
    /// Heat into each node, light included, at the start, W/m².
    pub first: Vec<Lane>,
    middle: Vec<Lane>,
    /// The same at the end.
    pub last: Vec<Lane>,
    /// Enthalpy after the step, J/m³.
    pub enthalpy: Vec<Lane>,
    /// Largest error of the step over all nodes, K.
    pub error_k: Lane,
    /// Heat that leaves through the outer faces at the end, W/m².
    pub loss: [Lane; 2],
    /// Heat lost through the outer faces during the step, J/m².
    pub lost: [Lane; 2],
}

impl Stepper {
    /// Room for a layout.
    pub fn new(layout: Layout) -> Self {
        let zero = vec![[0.0; LANES]; layout.nodes()];
        Stepper {
            predicted: zero.clone(),
            potential: zero.clone(),
            slope: zero.clone(),
            excess: zero.clone(),
            pivot: zero.clone(),
            x: zero.clone(),
            net: zero.clone(),
            first: zero.clone(),
            middle: zero.clone(),
            last: zero.clone(),
            enthalpy: zero,
            error_k: [0.0; LANES],
            loss: [[0.0; LANES]; 2],
            lost: [[0.0; LANES]; 2],
        }
    }
}

/// Heat fluxes at a state, and how they change with the potentials.
struct Fluxes {
    /// Heat that leaves through the outer faces, W/m².
    loss: [Lane; 2],
    /// Its slope over the potential of the outer nodes.
    loss_slope: [Lane; 2],
}

/// Heat fluxes of newly loaded lanes, from their enthalpies; other lanes are left alone.
pub fn start(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval], fresh: &[bool; LANES]) {
    stepper.predicted.copy_from_slice(&lanes.enthalpy);
    let fluxes = fluxes_at_prediction(lanes, stepper, pool);
    for lane in (0..LANES).filter(|&lane| fresh[lane]) {
        for (kept, new) in lanes.net.iter_mut().zip(&stepper.net) {
            kept[lane] = new[lane];
        }
        for (kept, new) in lanes.loss.iter_mut().zip(&fluxes.loss) {
            kept[lane] = new[lane];
        }
    }
}

/// Fills potentials, slopes and heat fluxes at the predicted enthalpies, and the slopes of the
/// links that are not plain differences of potentials.
#[inline(always)]
fn fluxes_at_prediction(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval]) -> Fluxes {
    let n = lanes.volume.len();
    let (enthalpy, potential, slope, net) = (
        &stepper.predicted[..n],
        &mut stepper.potential[..n],
        &mut stepper.slope[..n],
        &mut stepper.net[..n],
    );
    let layout = lanes.layout;
    let mut before = [[0.0; LANES]; MOST_BODIES];
    let mut leaving = [[0.0; LANES]; MOST_BODIES];
    let mut ends = [([0.0; LANES], [0.0; LANES]); 2];
    let mut across = ([0.0; LANES], [0.0; LANES]);
    let mut body = 0;
    for segment in &lanes.segments {
        for i in segment.from..segment.to {
            (potential[i], slope[i]) = segment.potential_and_slope(pool, &enthalpy[i]);
        }
        if segment.shared {
            let i = segment.from;
            let (value, ratio) = segment.before(pool, &enthalpy[i]);
            before[body - 1] = value;
            for l in 0..LANES {
                lanes.right[i - 1][l] = lanes.link[i - 1][l] * ratio[l];
            }
            continue;
        }
        let (from, last) = (segment.from, segment.to - 1);
        if body == 0 {
            ends[0] = segment.temperature_and_slope(pool, &enthalpy[from]);
        } else if !layout.merged[body - 1] {
            // A contact with resistance, from the body before to this one.
            let (t, ratio) = segment.temperature_and_slope(pool, &enthalpy[from]);
            for l in 0..LANES {
                let conductance = lanes.link[from - 1][l];
                leaving[body - 1][l] = conductance * (across.0[l] - t[l]);
                lanes.left[from - 1][l] = conductance * across.1[l];
                lanes.right[from - 1][l] = conductance * ratio[l];
            }
        }
        if body + 1 == layout.bodies {
            ends[1] = segment.temperature_and_slope(pool, &enthalpy[last]);
        } else if !layout.merged[body] {
            across = segment.temperature_and_slope(pool, &enthalpy[last]);
        }
        body += 1;
    }
    let mut fluxes = Fluxes {
        loss: [[0.0; LANES]; 2],
        loss_slope: [[0.0; LANES]; 2],
    };
    for side in 0..2 {
        for l in 0..LANES {
            let coefficient = lanes.face[side][l];
            fluxes.loss[side][l] = coefficient * (ends[side].0[l] - lanes.ambient[side][l]);
            fluxes.loss_slope[side][l] = coefficient * ends[side].1[l];
        }
    }
    let mut arriving = [0.0; LANES];
    for l in 0..LANES {
        arriving[l] = -fluxes.loss[0][l];
    }
    let mut first = 0;
    for b in 0..layout.bodies {
        let last = first + layout.cells[b];
        let merged = layout.merged[b];
        for i in first..last {
            let next = if merged && i + 1 == last {
                &before[b]
            } else {
                &potential[i + 1]
            };
            for l in 0..LANES {
                let flux = lanes.link[i][l] * (potential[i][l] - next[l]);
                net[i][l] = arriving[l] - flux;
                arriving[l] = flux;
            }
        }
        let onwards = if b + 1 == layout.bodies {
            &fluxes.loss[1]
        } else {
            &leaving[b]
        };
        if !merged {
            for l in 0..LANES {
                net[last][l] = arriving[l] - onwards[l];
                arriving[l] = onwards[l];
            }
        }
        first = last + usize::from(!merged);
    }
    fluxes
}

/// Solves one stage: `base` is the enthalpy without this stage's own heat, as heat into the node
/// (W/m²) over d h. Leaves the stage's enthalpy in `predicted`, and returns losses at the faces.
#[inline(always)]
fn solve_stage(
    lanes: &mut Lanes,
    stepper: &mut Stepper,
    pool: &[Interval],
    per_dh: &Lane,
    light: &Lane,
    base: impl Fn(&Stepper, &Lanes, usize, usize) -> f64,
) -> [Lane; 2] {
    let fluxes = fluxes_at_prediction(lanes, stepper, pool);
    let n = lanes.volume.len();
    for i in 0..n {
        for l in 0..LANES {
            let inertia = lanes.volume[i][l] * per_dh[l];
            stepper.excess[i][l] = inertia / stepper.slope[i][l];
            stepper.x[i][l] = stepper.net[i][l] + lanes.share[i][l] * light[l]
                - inertia * (stepper.predicted[i][l] - base(stepper, lanes, i, l));
        }
    }
    for l in 0..LANES {
        stepper.excess[0][l] += fluxes.loss_slope[0][l];
        stepper.excess[n - 1][l] += fluxes.loss_slope[1][l];
    }
    let matrix = Excess {
        excess: &stepper.excess,
        left: &lanes.left,
        right: &lanes.right,
    };
    tridiagonal::factor(matrix, &mut stepper.pivot);
    tridiagonal::solve(matrix, &stepper.pivot, &mut stepper.x);
    for i in 0..n {
        for l in 0..LANES {
            stepper.predicted[i][l] += stepper.x[i][l] / stepper.slope[i][l];
        }
    }
    let mut loss = fluxes.loss;
    for (side, node) in [(0, 0), (1, n - 1)] {
        for l in 0..LANES {
            loss[side][l] += fluxes.loss_slope[side][l] * stepper.x[node][l];
        }
    }
    loss
}

/// Takes one step from the state of the lanes; the result stands in `stepper`.
#[multiversion(targets("x86_64+avx2"))]
pub fn advance(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval], stride: &Stride) {
    let n = lanes.volume.len();
    let h = &stride.step_s;
    let mut per_dh = [0.0; LANES];
    let mut light = [[0.0; LANES]; 2];
    for l in 0..LANES {
        per_dh[l] = 1.0 / (D * h[l]);
        light[0][l] = stride.irradiance[l] + GAMMA * h[l] * stride.irradiance_slope[l];
        light[1][l] = stride.irradiance[l] + h[l] * stride.irradiance_slope[l];
    }
    // Stage at γ h, predicted with the rate at the start.
    for i in 0..n {
        for l in 0..LANES {
            let first = lanes.net[i][l] + lanes.share[i][l] * stride.irradiance[l];
            stepper.first[i][l] = first;
            let reach = GAMMA * h[l];
            let held = 1.0 + stride.abrupt[l] * (reach * lanes.pace[i][l]);
            stepper.predicted[i][l] =
                lanes.enthalpy[i][l] + first * lanes.per_volume[i][l] * (reach / held);
        }
    }
    let loss_middle = solve_stage(
        lanes,
        stepper,
        pool,
        &per_dh,
        &light[0],
        |s, lanes, i, l| lanes.enthalpy[i][l] + s.first[i][l] * lanes.per_volume[i][l] * (D * h[l]),
    );
    // Stage at h, predicted by the parabola through start, middle and the rate there.
    for i in 0..n {
        for l in 0..LANES {
            let rise = stepper.predicted[i][l] - lanes.enthalpy[i][l];
            let middle = lanes.volume[i][l] * per_dh[l] * rise - stepper.first[i][l];
            stepper.middle[i][l] = middle;
            let rate = middle * lanes.per_volume[i][l] * h[l];
            stepper.predicted[i][l] += (1.0 - GAMMA) * rate + 0.5 * (GAMMA * rate - rise);
        }
    }
    let loss_last = solve_stage(
        lanes,
        stepper,
        pool,
        &per_dh,
        &light[1],
        |s, lanes, i, l| {
            lanes.enthalpy[i][l]
                + (s.first[i][l] + s.middle[i][l]) * lanes.per_volume[i][l] * (W * h[l])
        },
    );
    // What was linearised, against the table.
    let mut error_k = [0.0_f64; LANES];
    let mut sum = [0.0; LANES];
    for segment in &lanes.segments {
        for i in segment.from..segment.to {
            let potential = segment.potential(pool, &stepper.predicted[i]);
            for l in 0..LANES {
                let off = potential[l] - (stepper.potential[i][l] + stepper.x[i][l]);
                let error = off.abs() * segment.per_conductivity[l];
                error_k[l] = error_k[l].max(error);
                sum[l] += error;
            }
        }
    }
    for i in 0..n {
        for l in 0..LANES {
            let base = lanes.enthalpy[i][l]
                + (stepper.first[i][l] + stepper.middle[i][l])
                    * lanes.per_volume[i][l]
                    * (W * h[l]);
            let last = lanes.volume[i][l] * per_dh[l] * (stepper.predicted[i][l] - base);
            stepper.last[i][l] = last;
            stepper.enthalpy[i][l] = stepper.predicted[i][l];
            stepper.x[i][l] = (ERROR_WEIGHT[0] * stepper.first[i][l]
                + ERROR_WEIGHT[1] * stepper.middle[i][l]
                + ERROR_WEIGHT[2] * last)
                / D;
        }
    }
    let matrix = Excess {
        excess: &stepper.excess,
        left: &lanes.left,
        right: &lanes.right,
    };
    tridiagonal::solve(matrix, &stepper.pivot, &mut stepper.x);
    for segment in &lanes.segments {
        for i in segment.from..segment.to {
            for l in 0..LANES {
                let error = stepper.x[i][l].abs() * segment.per_conductivity[l];
                error_k[l] = error_k[l].max(error);
                sum[l] += error;
            }
        }
    }
    for l in 0..LANES {
        // A maximum passes over what is not a number; a sum does not.
        stepper.error_k[l] = if sum[l].is_finite() {
            error_k[l]
        } else {
            f64::INFINITY
        };
    }
    // The same method for the heat lost, so that the ledger is a check and no definition.
    for side in 0..2 {
        for l in 0..LANES {
            stepper.lost[side][l] =
                h[l] * (W * (lanes.loss[side][l] + loss_middle[side][l]) + D * loss_last[side][l]);
        }
    }
    stepper.loss = loss_last;
}
