//! One step in time of all lanes: trapezium and backward differences, one linear system a stage, and
//! a correction to third order where all is smooth (`correction`).
//!
//! ```text
//! H_γ = H_0 + (γ h / 2) (f_0 + f_γ)                     γ = 2 − √2
//! H_1 = H_0 + h (w f_0 + w f_γ + d f_1)                 w = √2/4,  d = γ/2
//! ```
//!
//! The unknown is the enthalpy. A stage starts from a prediction H_p and solves
//! `f(θ_p + θ' (H − H_p)) = …` with the slope dθ/dH at the prediction, so heat is conserved to
//! rounding without any iteration. How far θ(H_1) is from that line, which a melting peak can make
//! large, counts as an error of the step like that of the time discretisation, so it never goes
//! unseen.
//!
//! Light enters as its mean over the step and a slope, so a step takes up the energy of the
//! exposure exactly.
//!
//! Source: R. E. Bank et al., IEEE Trans. Electron Devices 32 (1985) 1992 (the method, L-stable,
//! order 2); M. E. Hosea and L. F. Shampine, Appl. Numer. Math. 20 (1996) 21 (as a Runge-Kutta
//! method with an embedded formula of order 3); both from memory; the order is measured in
//! `tests/heat/order.rs`.

use pulp::Simd;

use crate::heat::correction::Solved;
use crate::heat::correction::correct;
use crate::heat::lanes::Lanes;
use crate::heat::lanes::Node;
use crate::heat::stage::Frame;
use crate::heat::stage::Predict;
use crate::heat::stage::Solution;
use crate::heat::stage::Work;
use crate::heat::stage::eliminate;
use crate::heat::stage::solve_last;
use crate::heat::table::Interval;
use crate::numerics::pack::Pack;
use crate::numerics::pack::Sight;
use crate::numerics::pack::Sweeping;
use crate::numerics::pack::sweep;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

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
    /// What is kept of every node.
    pub work: Vec<Work>,
    /// Largest error of the step over all nodes, K.
    pub error_k: Lane,
    /// Heat that leaves through the outer faces at the end, W/m².
    pub loss: [Lane; 2],
    /// Heat lost through the outer faces during the step, J/m².
    pub lost: [Lane; 2],
}

impl Stepper {
    /// Room for a step of `lanes`.
    pub fn new(lanes: &Lanes) -> Self {
        Stepper {
            work: vec![Work::default(); lanes.nodes.len()],
            error_k: [0.0; LANES],
            loss: [[0.0; LANES]; 2],
            lost: [[0.0; LANES]; 2],
        }
    }
}

/// Takes one step from the state of the lanes; the result stands in `stepper`.
pub fn advance(lanes: &Lanes, stepper: &mut Stepper, pool: &[Interval], stride: &Stride) {
    let abrupt = stride.abrupt.iter().any(|it| *it != 0.0);
    sweep(&mut Advance {
        lanes,
        stepper,
        pool,
        stride,
        abrupt,
    });
}

struct Advance<'a> {
    lanes: &'a Lanes,
    stepper: &'a mut Stepper,
    pool: &'a [Interval],
    stride: &'a Stride,
    /// True if the light has just changed in any lane.
    abrupt: bool,
}

impl Sweeping for Advance<'_> {
    #[inline(always)]
    fn sweep<S: Simd>(&mut self, simd: S) {
        for sight in Sight::<S>::all_of(simd) {
            self.step(sight);
        }
    }
}

impl Advance<'_> {
    #[inline(always)]
    fn step<S: Simd>(&mut self, sight: Sight<S>) {
        let h = sight.read(&self.stride.step_s);
        let dh = sight.all(D) * h;
        let frame = Frame {
            sight,
            lanes: self.lanes,
            pool: self.pool,
            step_s: h,
            dh,
            per_dh: sight.all(1.0) / dh,
        };
        let work = &mut self.stepper.work[..self.lanes.nodes.len()];
        let start_light = sight.read(&self.stride.irradiance);
        let slope = sight.read(&self.stride.irradiance_slope);

        let mut from_start = FromStart::new(frame, self.stride, self.abrupt);
        let light = slope.times_plus(sight.all(GAMMA) * h, start_light);
        let faces = eliminate::<S, false>(frame, work, light, &mut from_start);
        let mut from_middle = FromMiddle::new(frame);
        let light = slope.times_plus(h, start_light);
        let last_faces = eliminate::<S, true>(frame, work, light, &mut from_middle);
        let [far, near] = from_middle.solution.ends();
        let middle = faces.loss([near, far]);
        let weights = ERROR_WEIGHT.map(|it| sight.all(it / D));
        let (loss, off_k) = solve_last(frame, work, &last_faces, weights);

        // The same method for the heat lost, so that the ledger is a check and no definition.
        let (mut lost, mut lost_error) = (loss, loss);
        for side in 0..2 {
            let first = sight.read(&self.lanes.loss[side]);
            lost[side] = (sight.all(W) * (first + middle[side]) + sight.all(D) * loss[side]) * h;
            lost_error[side] =
                dh * (weights[0] * first + weights[1] * middle[side] + weights[2] * loss[side]);
        }
        let step = Solved {
            off_k,
            loss,
            lost,
            lost_error,
        };
        let step = correct(frame, work, &last_faces, step);
        sight.write(&mut self.stepper.error_k, step.error_k);
        for side in 0..2 {
            sight.write(&mut self.stepper.lost[side], step.lost[side]);
            sight.write(&mut self.stepper.loss[side], step.loss[side]);
        }
    }
}

/// The stage at γ h, predicted with the rate at the start.
struct FromStart<S: Simd> {
    sight: Sight<S>,
    light: Pack<S>,
    /// γ h.
    reach: Pack<S>,
    /// One where the light has just changed, if it has anywhere.
    abrupt: Option<Pack<S>>,
}

impl<S: Simd> FromStart<S> {
    #[inline(always)]
    fn new(frame: Frame<S>, stride: &Stride, abrupt: bool) -> Self {
        let (sight, h) = (frame.sight, frame.step_s);
        FromStart {
            sight,
            light: sight.read(&stride.irradiance),
            reach: sight.all(GAMMA) * h,
            abrupt: if abrupt {
                Some(sight.read(&stride.abrupt))
            } else {
                None
            },
        }
    }
}

impl<S: Simd> Predict<S> for FromStart<S> {
    #[inline(always)]
    fn at(&mut self, node: &Node, work: &mut Work) -> (Pack<S>, Pack<S>) {
        let sight = self.sight;
        let start = sight.read(&node.enthalpy);
        let heating = sight.read(&node.heating);
        let rate = heating.times_plus(self.light, sight.read(&node.conducted));
        sight.write(&mut work.first, rate);
        // Half of the heat is the stage's own, d = γ/2: at full reach it is what flows at the start.
        let (mut held, mut rise) = (self.reach, rate);
        if let Some(abrupt) = self.abrupt {
            let follows = self.reach * sight.read(&node.pace);
            // One, and nothing changed, in lanes where the light has not.
            let share = sight.all(1.0) / abrupt.times_plus(follows, sight.all(1.0));
            held = share * self.reach;
            rise = rate * share.times_plus(sight.all(2.0), sight.all(-1.0));
        }
        (rate.times_plus(held, start), rise)
    }
}

/// The stage at h, predicted by the parabola through start, middle and the rate there.
struct FromMiddle<S: Simd> {
    sight: Sight<S>,
    /// The stage in the middle, solved on the way.
    solution: Solution<S>,
    per_dh: Pack<S>,
    /// (1 − γ/2) h.
    ahead: Pack<S>,
}

impl<S: Simd> FromMiddle<S> {
    #[inline(always)]
    fn new(frame: Frame<S>) -> Self {
        let (sight, h) = (frame.sight, frame.step_s);
        FromMiddle {
            sight,
            solution: Solution::new(sight),
            per_dh: frame.per_dh,
            ahead: sight.all(1.0 - D) * h,
        }
    }
}

impl<S: Simd> Predict<S> for FromMiddle<S> {
    #[inline(always)]
    fn at(&mut self, node: &Node, work: &mut Work) -> (Pack<S>, Pack<S>) {
        let sight = self.sight;
        let now = sight.read(&work.enthalpy) + self.solution.next(work);
        let start = sight.read(&node.enthalpy);
        let first = sight.read(&work.first);
        let rise = now - start;
        // Rise of the middle stage: d h (f_0 + f_γ).
        let both = self.per_dh * rise;
        let rate = both - first;
        sight.write(&mut work.middle, rate);
        let beside = sight.all(0.5).times_from(rise, now);
        // What is predicted less h w (f_0 + f_γ), over d h.
        let last = both.times_plus(sight.all(0.5 - W / D), sight.all((1.0 - D) / D) * rate);
        sight.write(&mut work.last, last);
        (rate.times_plus(self.ahead, beside), last)
    }
}
