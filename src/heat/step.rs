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

// Nodes and lanes index many arrays at once.
#![allow(clippy::needless_range_loop)]

use multiversion::multiversion;

use crate::heat::assemble::Layout;
use crate::heat::lanes::Lanes;
use crate::heat::properties::Interval;
use crate::heat::stage::Fixed;
use crate::heat::stage::Predict;
use crate::heat::stage::Same;
use crate::heat::stage::Stage;
use crate::heat::stage::Walk;
use crate::heat::stage::ZERO;
use crate::heat::stage::look_up;
use crate::heat::stage::solve_stage;
use crate::numerics::tridiagonal;
use crate::numerics::tridiagonal::Excess;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;
use crate::numerics::tridiagonal::Sweep;
use crate::numerics::tridiagonal::each;

const GAMMA: f64 = 2.0 - std::f64::consts::SQRT_2;
/// Weight of the rates at the start and in the middle of a step.
pub(crate) const W: f64 = std::f64::consts::SQRT_2 / 4.0;
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
    per_slope: Vec<Lane>,
    left: Vec<Lane>,
    right: Vec<Lane>,
    pivot: Vec<Lane>,
    x: Vec<Lane>,
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
            per_slope: zero.clone(),
            left: zero.clone(),
            right: zero.clone(),
            rise: zero.clone(),
            pivot: zero.clone(),
            x: zero.clone(),
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
        pivot: &mut stepper.pivot[..n],
        enthalpy: &mut stepper.enthalpy[..n],
        rise: &mut stepper.rise[..n],
        potential: &mut stepper.potential[..n],
        per_slope: &mut stepper.per_slope[..n],
        x: &mut stepper.x[..n],
    };
    (fixed, stage)
}

/// Rates of newly loaded lanes, from their enthalpies; other lanes are left alone.
pub fn start(lanes: &mut Lanes, stepper: &mut Stepper, pool: &[Interval], fresh: &[bool; LANES]) {
    stepper.enthalpy.copy_from_slice(&lanes.enthalpy);
    let (fixed, mut stage) = split(lanes, stepper);
    let special = look_up(fixed, &mut stage, pool, &ZERO, &mut Same);
    let n = fixed.volume.len();
    let mut conducted = vec![ZERO; n];
    let mut walk = Walk::new(fixed, stage.potential, stage.rise, &special);
    let mut arriving = each(|l| -special.loss[0][l]);
    for (i, conducted) in conducted.iter_mut().enumerate() {
        let leaving = walk.leaving(i);
        *conducted = each(|l| arriving[l] - leaving[l]);
        arriving = leaving;
    }
    for i in 0..n {
        stage.left[i] = each(|l| -fixed.mass_left[i][l]);
        stage.right[i] = each(|l| -fixed.mass_right[i][l]);
    }
    let matrix = Excess {
        excess: fixed.volume,
        left: stage.left,
        right: stage.right,
    };
    tridiagonal::factor(matrix, stage.pivot);
    tridiagonal::solve(matrix, stage.pivot, &mut conducted);
    stage.x.copy_from_slice(fixed.share);
    tridiagonal::solve(matrix, stage.pivot, stage.x);
    for lane in (0..LANES).filter(|&lane| fresh[lane]) {
        for i in 0..n {
            lanes.conducted[i][lane] = conducted[i][lane];
            lanes.heating[i][lane] = stepper.x[i][lane];
        }
        for (kept, new) in lanes.loss.iter_mut().zip(&special.loss) {
            kept[lane] = new[lane];
        }
    }
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
    let conducted = std::mem::take(&mut lanes.conducted);
    let heating = std::mem::take(&mut lanes.heating);
    let pace = std::mem::take(&mut lanes.pace);
    let loss = lanes.loss;
    let (fixed, mut stage) = split(lanes, stepper);
    let (error_k, [loss_middle, loss_last]) = stages(
        fixed,
        &mut stage,
        pool,
        stride,
        State {
            start: &start[..n],
            conducted: &conducted[..n],
            heating: &heating[..n],
            pace: &pace[..n],
        },
        Rates {
            first: &mut first[..n],
            middle: &mut middle[..n],
            last: &mut last[..n],
            base: &mut base[..n],
        },
    );
    stepper.error_k = error_k;
    // The same method for the heat lost, so that the ledger is a check and no definition.
    let h = &stride.step_s;
    stepper.lost = [0, 1].map(|side| {
        each(|l| h[l] * (W * (loss[side][l] + loss_middle[side][l]) + D * loss_last[side][l]))
    });
    stepper.loss = loss_last;
    stepper.first = first;
    stepper.middle = middle;
    stepper.last = last;
    stepper.base = base;
    lanes.enthalpy = start;
    lanes.conducted = conducted;
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

/// Rise of the enthalpy at start, middle and end, W/m³, and the part of a stage that is known before
/// it.
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
    let mut predict = FromStart {
        state: &state,
        light: &light_start,
        abrupt: &stride.abrupt,
        step_s: &h,
        first,
    };
    let loss_middle = solve_stage(fixed, stage, pool, &per_dh, &light_middle, &mut predict);
    let mut predict = FromMiddle {
        start: state.start,
        step_s: &h,
        per_dh: &per_dh,
        first,
        middle,
        base,
    };
    let loss_last = solve_stage(fixed, stage, pool, &per_dh, &light_last, &mut predict);
    let rates = Rates {
        first,
        middle,
        last,
        base,
    };
    let error_k = error_k(fixed, stage, pool, &per_dh, rates);
    (error_k, [loss_middle, loss_last])
}

/// The stage at γ h, predicted with the rate at the start.
struct FromStart<'a> {
    state: &'a State<'a>,
    light: &'a Lane,
    abrupt: &'a Lane,
    step_s: &'a Lane,
    first: &'a mut [Lane],
}

impl Predict for FromStart<'_> {
    #[inline(always)]
    fn at(&mut self, i: usize, _: &Lane) -> (Lane, Lane) {
        let State {
            start,
            conducted,
            heating,
            pace,
        } = *self.state;
        let h = self.step_s;
        let rate = each(|l| conducted[i][l] + heating[i][l] * self.light[l]);
        self.first[i] = rate;
        let predicted = each(|l| {
            let reach = GAMMA * h[l];
            let held = reach / (1.0 + self.abrupt[l] * (reach * pace[i][l]));
            start[i][l] + rate[l] * held
        });
        (predicted, each(|l| start[i][l] + rate[l] * (D * h[l])))
    }
}

/// The stage at h, predicted by the parabola through start, middle and the rate there.
struct FromMiddle<'a> {
    start: &'a [Lane],
    step_s: &'a Lane,
    per_dh: &'a Lane,
    first: &'a [Lane],
    middle: &'a mut [Lane],
    base: &'a mut [Lane],
}

impl Predict for FromMiddle<'_> {
    #[inline(always)]
    fn at(&mut self, i: usize, now: &Lane) -> (Lane, Lane) {
        let (start, first, h) = (&self.start[i], &self.first[i], self.step_s);
        let rise = each(|l| now[l] - start[l]);
        let rate = each(|l| self.per_dh[l] * rise[l] - first[l]);
        let base = each(|l| start[l] + (first[l] + rate[l]) * (h[l] * W));
        self.middle[i] = rate;
        self.base[i] = base;
        let predicted = each(|l| {
            let run = rate[l] * h[l];
            now[l] + ((1.0 - GAMMA) * run + 0.5 * (GAMMA * run - rise[l]))
        });
        (predicted, base)
    }
}

/// Largest error of the step, K: what was linearised against the table, and the difference to the
/// embedded formula.
#[inline(always)]
fn error_k(
    fixed: Fixed,
    stage: &mut Stage,
    pool: &[Interval],
    per_dh: &Lane,
    rates: Rates,
) -> Lane {
    let n = fixed.volume.len();
    let mut worst = [0.0_f64; LANES];
    let mut sum = ZERO;
    let mut arriving = ZERO;
    let mut ahead = ZERO;
    let mut sweep = Sweep::default();
    for segment in fixed.segments {
        for i in segment.from..segment.to {
            let enthalpy = stage.enthalpy[i];
            let potential = segment.potential(pool, &enthalpy);
            let off = each(|l| {
                let off = potential[l] - (stage.potential[i][l] + stage.x[i][l]);
                off.abs() * segment.per_conductivity[l]
            });
            worst = each(|l| worst[l].max(off[l]));
            sum = each(|l| sum[l] + off[l]);
            let rate = each(|l| per_dh[l] * (enthalpy[l] - rates.base[i][l]));
            rates.last[i] = rate;
            let error = each(|l| {
                ERROR_WEIGHT[0] / D * rates.first[i][l]
                    + ERROR_WEIGHT[1] / D * rates.middle[i][l]
                    + ERROR_WEIGHT[2] / D * rate[l]
            });
            // Inertia times error, link by link: the exchange with the node before is known now.
            if 0 < i {
                let (left, right) = (&fixed.mass_left[i - 1], &fixed.mass_right[i - 1]);
                let exchange = each(|l| left[l] * ahead[l] - right[l] * error[l]);
                let heat = each(|l| arriving[l] - exchange[l]);
                stage.x[i - 1] = sweep.forward(&heat, &stage.left[i - 1], &stage.pivot[i - 1]);
                arriving = exchange;
            }
            arriving = each(|l| arriving[l] + fixed.volume[i][l] * error[l]);
            ahead = error;
        }
    }
    stage.x[n - 1] = sweep.forward(&arriving, &ZERO, &stage.pivot[n - 1]);
    let mut after = ZERO;
    for segment in fixed.segments.iter().rev() {
        for i in (segment.from..segment.to).rev() {
            after = each(|l| stage.x[i][l] + stage.pivot[i][l] * (stage.right[i][l] * after[l]));
            let error = each(|l| after[l].abs() * segment.per_conductivity[l]);
            worst = each(|l| worst[l].max(error[l]));
            sum = each(|l| sum[l] + error[l]);
        }
    }
    // A maximum passes over what is not a number; a sum does not.
    each(|l| {
        if sum[l].is_finite() {
            worst[l]
        } else {
            f64::INFINITY
        }
    })
}
