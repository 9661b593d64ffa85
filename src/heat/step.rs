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
use crate::heat::lanes::Segment;
use crate::heat::properties::Interval;
use crate::numerics::tridiagonal;
use crate::numerics::tridiagonal::Excess;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;
use crate::numerics::tridiagonal::each;

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
    potential: Vec<Lane>,
    slope: Vec<Lane>,
    excess: Vec<Lane>,
    left: Vec<Lane>,
    right: Vec<Lane>,
    pivot: Vec<Lane>,
    x: Vec<Lane>,
    net: Vec<Lane>,
    rise: Vec<Lane>,
    /// Rise of the enthalpy, light included, at the start, W/m³.
    pub first: Vec<Lane>,
    middle: Vec<Lane>,
    base: Vec<Lane>,
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
            potential: zero.clone(),
            slope: zero.clone(),
            excess: zero.clone(),
            left: zero.clone(),
            right: zero.clone(),
            rise: zero.clone(),
            pivot: zero.clone(),
            x: zero.clone(),
            net: zero.clone(),
            first: zero.clone(),
            middle: zero.clone(),
            base: zero.clone(),
            last: zero.clone(),
            enthalpy: zero,
            error_k: [0.0; LANES],
            loss: [[0.0; LANES]; 2],
            lost: [[0.0; LANES]; 2],
        }
    }
}

/// What does not change during a step, as slices of one length.
#[derive(Clone, Copy)]
struct Fixed<'a> {
    layout: Layout,
    segments: &'a [Segment],
    volume: &'a [Lane],
    link: &'a [Lane],
    mass_left: &'a [Lane],
    mass_right: &'a [Lane],
    share: &'a [Lane],
    face: &'a [Lane; 2],
    ambient: &'a [Lane; 2],
}

/// State of one stage, as slices of the same length.
struct Stage<'a> {
    /// Slopes of the heat fluxes to the next node over this node's and the next one's potential.
    flux_left: &'a mut [Lane],
    flux_right: &'a mut [Lane],
    /// The same with the exchange of inertia.
    left: &'a mut [Lane],
    right: &'a mut [Lane],
    /// Rise of the enthalpy in the stage, W/m³.
    rise: &'a mut [Lane],
    /// Enthalpy, predicted and then solved for.
    enthalpy: &'a mut [Lane],
    potential: &'a mut [Lane],
    slope: &'a mut [Lane],
    net: &'a mut [Lane],
    excess: &'a mut [Lane],
    pivot: &'a mut [Lane],
    x: &'a mut [Lane],
}

/// Heat that leaves through the outer faces, W/m², and its slope over the outer potentials.
struct Outwards {
    loss: [Lane; 2],
    slope: [Lane; 2],
}

/// Rates of newly loaded lanes, from their enthalpies; other lanes are left alone.
pub fn start(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval], fresh: &[bool; LANES]) {
    stepper.enthalpy.copy_from_slice(&lanes.enthalpy);
    stepper.rise.fill([0.0; LANES]);
    let (fixed, mut stage) = split(lanes, stepper);
    let outwards = fluxes(fixed, &mut stage, pool);
    for i in 0..fixed.volume.len() {
        stage.left[i] = each(|l| -fixed.mass_left[i][l]);
        stage.right[i] = each(|l| -fixed.mass_right[i][l]);
    }
    let matrix = Excess {
        excess: fixed.volume,
        left: stage.left,
        right: stage.right,
    };
    tridiagonal::factor(matrix, stage.pivot);
    tridiagonal::solve(matrix, stage.pivot, stage.net);
    stage.x.copy_from_slice(fixed.share);
    tridiagonal::solve(matrix, stage.pivot, stage.x);
    for lane in (0..LANES).filter(|&lane| fresh[lane]) {
        for i in 0..lanes.volume.len() {
            lanes.conducted[i][lane] = stepper.net[i][lane];
            lanes.heating[i][lane] = stepper.x[i][lane];
        }
        for (kept, new) in lanes.loss.iter_mut().zip(&outwards.loss) {
            kept[lane] = new[lane];
        }
    }
}

#[inline(always)]
fn split<'a>(lanes: &'a mut Lanes, stepper: &'a mut Stepper) -> (Fixed<'a>, Stage<'a>) {
    let n = lanes.volume.len();
    let fixed = Fixed {
        layout: lanes.layout,
        segments: &lanes.segments,
        volume: &lanes.volume[..n],
        link: &lanes.link[..n],
        mass_left: &lanes.mass_left[..n],
        mass_right: &lanes.mass_right[..n],
        share: &lanes.share[..n],
        face: &lanes.face,
        ambient: &lanes.ambient,
    };
    let stage = Stage {
        flux_left: &mut lanes.left[..n],
        flux_right: &mut lanes.right[..n],
        left: &mut stepper.left[..n],
        right: &mut stepper.right[..n],
        rise: &mut stepper.rise[..n],
        enthalpy: &mut stepper.enthalpy[..n],
        potential: &mut stepper.potential[..n],
        slope: &mut stepper.slope[..n],
        net: &mut stepper.net[..n],
        excess: &mut stepper.excess[..n],
        pivot: &mut stepper.pivot[..n],
        x: &mut stepper.x[..n],
    };
    (fixed, stage)
}

/// Fills potentials, slopes and the heat into the nodes (conduction, and exchange of inertia) at
/// the stage's enthalpies, and the slopes of the links that are not plain differences of potentials.
#[inline(always)]
fn fluxes(fixed: Fixed, stage: &mut Stage, pool: &[Interval]) -> Outwards {
    let Fixed {
        layout,
        link,
        mass_left,
        mass_right,
        ..
    } = fixed;
    let (enthalpy, potential, net) = (&*stage.enthalpy, &mut *stage.potential, &mut *stage.net);
    let rise = &*stage.rise;
    let zero = [0.0; LANES];
    let mut before = [zero; MOST_BODIES];
    let mut leaving = [zero; MOST_BODIES];
    let mut ends = [(zero, zero); 2];
    let mut across = (zero, zero);
    let mut body = 0;
    for segment in fixed.segments {
        for i in segment.from..segment.to {
            (potential[i], stage.slope[i]) = segment.potential_and_slope(pool, &enthalpy[i]);
        }
        if segment.shared {
            let i = segment.from;
            let (value, ratio) = segment.before(pool, &enthalpy[i]);
            before[body - 1] = value;
            stage.flux_right[i - 1] = each(|l| link[i - 1][l] * ratio[l]);
            continue;
        }
        let (from, last) = (segment.from, segment.to - 1);
        if body == 0 {
            ends[0] = segment.temperature_and_slope(pool, &enthalpy[from]);
        } else if !layout.merged[body - 1] {
            // A contact with resistance, from the body before to this one.
            let (t, ratio) = segment.temperature_and_slope(pool, &enthalpy[from]);
            let conductance = link[from - 1];
            leaving[body - 1] = each(|l| conductance[l] * (across.0[l] - t[l]));
            stage.flux_left[from - 1] = each(|l| conductance[l] * across.1[l]);
            stage.flux_right[from - 1] = each(|l| conductance[l] * ratio[l]);
        }
        if body + 1 == layout.bodies {
            ends[1] = segment.temperature_and_slope(pool, &enthalpy[last]);
        } else if !layout.merged[body] {
            across = segment.temperature_and_slope(pool, &enthalpy[last]);
        }
        body += 1;
    }
    let outwards = Outwards {
        loss: [0, 1]
            .map(|side| each(|l| fixed.face[side][l] * (ends[side].0[l] - fixed.ambient[side][l]))),
        slope: [0, 1].map(|side| each(|l| fixed.face[side][l] * ends[side].1[l])),
    };
    let mut arriving = each(|l| -outwards.loss[0][l]);
    let mut first = 0;
    for b in 0..layout.bodies {
        let last = first + layout.cells[b];
        let merged = layout.merged[b];
        for i in first..last - 1 {
            let flux = each(|l| {
                link[i][l] * (potential[i][l] - potential[i + 1][l])
                    - (mass_left[i][l] * rise[i][l] - mass_right[i][l] * rise[i + 1][l])
            });
            net[i] = each(|l| arriving[l] - flux[l]);
            arriving = flux;
        }
        let next = if merged { before[b] } else { potential[last] };
        let i = last - 1;
        let flux = each(|l| {
            link[i][l] * (potential[i][l] - next[l])
                - (mass_left[i][l] * rise[i][l] - mass_right[i][l] * rise[i + 1][l])
        });
        net[i] = each(|l| arriving[l] - flux[l]);
        arriving = flux;
        if !merged {
            let onwards = if b + 1 == layout.bodies {
                outwards.loss[1]
            } else {
                leaving[b]
            };
            net[last] = each(|l| arriving[l] - onwards[l]);
            arriving = onwards;
        }
        first = last + usize::from(!merged);
    }
    outwards
}

/// Solves one stage from its predicted enthalpies: `base` is the enthalpy without the stage's own
/// heat. Returns what leaves through the outer faces.
#[inline(always)]
fn solve_stage(
    fixed: Fixed,
    stage: &mut Stage,
    pool: &[Interval],
    per_dh: &Lane,
    light: &Lane,
    base: &[Lane],
) -> [Lane; 2] {
    let n = fixed.volume.len();
    let base = &base[..n];
    for i in 0..n {
        stage.rise[i] = each(|l| (stage.enthalpy[i][l] - base[i][l]) * per_dh[l]);
    }
    let outwards = fluxes(fixed, stage, pool);
    let mut after = [0.0; LANES];
    for i in (0..n).rev() {
        let reciprocal = each(|l| 1.0 / stage.slope[i][l]);
        let inertia = each(|l| per_dh[l] * reciprocal[l]);
        stage.excess[i] = each(|l| fixed.volume[i][l] * inertia[l]);
        stage.left[i] = each(|l| stage.flux_left[i][l] - fixed.mass_left[i][l] * inertia[l]);
        stage.right[i] = each(|l| stage.flux_right[i][l] - fixed.mass_right[i][l] * after[l]);
        stage.x[i] = each(|l| {
            (stage.net[i][l] + fixed.share[i][l] * light[l]) - fixed.volume[i][l] * stage.rise[i][l]
        });
        stage.slope[i] = reciprocal;
        after = inertia;
    }
    stage.excess[0] = each(|l| stage.excess[0][l] + outwards.slope[0][l]);
    stage.excess[n - 1] = each(|l| stage.excess[n - 1][l] + outwards.slope[1][l]);
    let matrix = Excess {
        excess: stage.excess,
        left: stage.left,
        right: stage.right,
    };
    tridiagonal::factor(matrix, stage.pivot);
    tridiagonal::solve(matrix, stage.pivot, stage.x);
    for i in 0..n {
        stage.enthalpy[i] = each(|l| stage.enthalpy[i][l] + stage.x[i][l] * stage.slope[i][l]);
    }
    [(0, 0), (1, n - 1)].map(|(side, node)| {
        each(|l| outwards.loss[side][l] + outwards.slope[side][l] * stage.x[node][l])
    })
}

/// Takes one step from the state of the lanes; the result stands in `stepper`.
#[multiversion(targets("x86_64+avx2"))]
pub fn advance(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval], stride: &Stride) {
    let n = lanes.volume.len();
    let mut first = std::mem::take(&mut stepper.first);
    let mut middle = std::mem::take(&mut stepper.middle);
    let mut last = std::mem::take(&mut stepper.last);
    let mut base = std::mem::take(&mut stepper.base);
    let start = std::mem::take(&mut lanes.enthalpy);
    let (net, pace, loss) = (
        std::mem::take(&mut lanes.conducted),
        std::mem::take(&mut lanes.pace),
        lanes.loss,
    );
    let heating = std::mem::take(&mut lanes.heating);
    let (fixed, mut stage) = split(lanes, stepper);
    let error_k = {
        let (start, conducted, pace) = (&start[..n], &net[..n], &pace[..n]);
        let heating = &heating[..n];
        let rates = Rates {
            first: &mut first[..n],
            middle: &mut middle[..n],
            last: &mut last[..n],
            base: &mut base[..n],
        };
        let state = State {
            start,
            conducted,
            heating,
            pace,
        };
        stages(fixed, &mut stage, pool, stride, state, rates)
    };
    stepper.error_k = error_k.0;
    // The same method for the heat lost, so that the ledger is a check and no definition.
    let h = &stride.step_s;
    let [loss_middle, loss_last] = error_k.1;
    stepper.lost = [0, 1].map(|side| {
        each(|l| h[l] * (W * (loss[side][l] + loss_middle[side][l]) + D * loss_last[side][l]))
    });
    stepper.loss = loss_last;
    stepper.first = first;
    stepper.middle = middle;
    stepper.last = last;
    stepper.base = base;
    lanes.enthalpy = start;
    lanes.conducted = net;
    lanes.heating = heating;
    lanes.pace = pace;
}

/// State at the start of a step.
struct State<'a> {
    start: &'a [Lane],
    conducted: &'a [Lane],
    heating: &'a [Lane],
    pace: &'a [Lane],
}

/// Rise of the enthalpy at start, middle and end, W/m³, and the part of a stage that is known before it.
struct Rates<'a> {
    first: &'a mut [Lane],
    middle: &'a mut [Lane],
    last: &'a mut [Lane],
    base: &'a mut [Lane],
}

/// Both stages and the error, K; returns it with the losses at both stages.
#[inline(always)]
fn stages(
    fixed: Fixed,
    stage: &mut Stage,
    pool: &[Interval],
    stride: &Stride,
    state: State,
    rates: Rates,
) -> (Lane, [[Lane; 2]; 2]) {
    let n = fixed.volume.len();
    let State {
        start,
        conducted,
        heating,
        pace,
    } = state;
    let Rates {
        first,
        middle,
        last,
        base,
    } = rates;
    let h = stride.step_s;
    let per_dh = each(|l| 1.0 / (D * h[l]));
    let light_start = stride.irradiance;
    let light_middle = each(|l| light_start[l] + GAMMA * h[l] * stride.irradiance_slope[l]);
    let light_last = each(|l| light_start[l] + h[l] * stride.irradiance_slope[l]);
    let reach = each(|l| GAMMA * h[l]);
    // Stage at γ h, predicted with the rate at the start.
    for i in 0..n {
        let rate = each(|l| conducted[i][l] + heating[i][l] * light_start[l]);
        let held = each(|l| reach[l] / (1.0 + stride.abrupt[l] * (reach[l] * pace[i][l])));
        first[i] = rate;
        base[i] = each(|l| start[i][l] + rate[l] * (D * h[l]));
        stage.enthalpy[i] = each(|l| start[i][l] + rate[l] * held[l]);
    }
    let loss_middle = solve_stage(fixed, stage, pool, &per_dh, &light_middle, base);
    // Stage at h, predicted by the parabola through start, middle and the rate there.
    for i in 0..n {
        let rise = each(|l| stage.enthalpy[i][l] - start[i][l]);
        let rate = each(|l| per_dh[l] * rise[l] - first[i][l]);
        middle[i] = rate;
        base[i] = each(|l| start[i][l] + (first[i][l] + rate[l]) * (h[l] * W));
        stage.enthalpy[i] = each(|l| {
            let run = rate[l] * h[l];
            stage.enthalpy[i][l] + ((1.0 - GAMMA) * run + 0.5 * (GAMMA * run - rise[l]))
        });
    }
    let loss_last = solve_stage(fixed, stage, pool, &per_dh, &light_last, base);
    // What was linearised, against the table.
    let mut error_k = [0.0_f64; LANES];
    let mut sum = [0.0; LANES];
    for segment in fixed.segments {
        for i in segment.from..segment.to {
            let potential = segment.potential(pool, &stage.enthalpy[i]);
            let error = each(|l| {
                let off = potential[l] - (stage.potential[i][l] + stage.x[i][l]);
                off.abs() * segment.per_conductivity[l]
            });
            error_k = each(|l| error_k[l].max(error[l]));
            sum = each(|l| sum[l] + error[l]);
        }
    }
    let mut arriving = [0.0; LANES];
    let mut ahead = [0.0; LANES];
    for i in 0..n {
        let rate = each(|l| per_dh[l] * (stage.enthalpy[i][l] - base[i][l]));
        last[i] = rate;
        let error = each(|l| {
            ERROR_WEIGHT[0] / D * first[i][l]
                + ERROR_WEIGHT[1] / D * middle[i][l]
                + ERROR_WEIGHT[2] / D * rate[l]
        });
        // Inertia times error, link by link: the exchange with the node before is known now.
        if 0 < i {
            let exchange = each(|l| {
                fixed.mass_left[i - 1][l] * ahead[l] - fixed.mass_right[i - 1][l] * error[l]
            });
            stage.x[i - 1] = each(|l| arriving[l] - exchange[l]);
            arriving = exchange;
        }
        arriving = each(|l| arriving[l] + fixed.volume[i][l] * error[l]);
        ahead = error;
    }
    stage.x[n - 1] = arriving;
    let matrix = Excess {
        excess: stage.excess,
        left: stage.left,
        right: stage.right,
    };
    tridiagonal::solve(matrix, stage.pivot, stage.x);
    for segment in fixed.segments {
        for i in segment.from..segment.to {
            let error = each(|l| stage.x[i][l].abs() * segment.per_conductivity[l]);
            error_k = each(|l| error_k[l].max(error[l]));
            sum = each(|l| sum[l] + error[l]);
        }
    }
    // A maximum passes over what is not a number; a sum does not.
    let error_k = each(|l| {
        if sum[l].is_finite() {
            error_k[l]
        } else {
            f64::INFINITY
        }
    });
    (error_k, [loss_middle, loss_last])
}
