//! One stage of a step: heat fluxes at predicted enthalpies, and the linear system, in two sweeps.
//!
//! Matrix, elimination and right-hand side are made in one sweep through the nodes, so that every
//! number is used while it is at hand. Loops are written so that several lanes go through one
//! instruction; closures are avoided in them, since a closure that is not inlined is compiled for
//! the oldest processors.

// Nodes and lanes index many arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::heat::assemble::Layout;
use crate::heat::assemble::MOST_BODIES;
use crate::heat::lanes::Segment;
use crate::heat::properties::Interval;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;
use crate::numerics::tridiagonal::Sweep;
use crate::numerics::tridiagonal::each;

/// What does not change during a step, as slices of one length.
#[derive(Clone, Copy)]
pub struct Fixed<'a> {
    pub layout: Layout,
    pub segments: &'a [Segment],
    pub volume: &'a [Lane],
    pub link: &'a [Lane],
    pub mass_left: &'a [Lane],
    pub mass_right: &'a [Lane],
    pub share: &'a [Lane],
    pub face: &'a [Lane; 2],
    pub ambient: &'a [Lane; 2],
}

/// State of one stage, as slices of the same length.
pub struct Stage<'a> {
    /// Slopes of the heat fluxes to the next node over this node's and the next one's potential.
    pub flux_left: &'a mut [Lane],
    pub flux_right: &'a mut [Lane],
    /// The same with the exchange of inertia: the matrix of the stage.
    pub left: &'a mut [Lane],
    pub right: &'a mut [Lane],
    pub pivot: &'a mut [Lane],
    /// Enthalpy, predicted and then solved for.
    pub enthalpy: &'a mut [Lane],
    /// Rise of the enthalpy in the stage, W/m³.
    pub rise: &'a mut [Lane],
    pub potential: &'a mut [Lane],
    /// dH/dθ.
    pub per_slope: &'a mut [Lane],
    pub x: &'a mut [Lane],
}

/// Heat fluxes that are no plain differences of potentials.
pub struct Special {
    /// Potential of the body before at nodes shared with the next body.
    pub before: [Lane; MOST_BODIES],
    /// Heat through contacts with resistance, W/m².
    pub across: [Lane; MOST_BODIES],
    /// Heat that leaves through the outer faces, W/m², and its slope over the outer potentials.
    pub loss: [Lane; 2],
    pub loss_slope: [Lane; 2],
}

pub const ZERO: Lane = [0.0; LANES];

/// Where a stage begins.
pub trait Predict {
    /// Predicted enthalpy of node `i`, and its enthalpy without the stage's own heat; `now` is
    /// what the stage before left.
    fn at(&mut self, i: usize, now: &Lane) -> (Lane, Lane);
}

/// The enthalpies as they are.
pub struct Same;

impl Predict for Same {
    #[inline(always)]
    fn at(&mut self, _: usize, now: &Lane) -> (Lane, Lane) {
        (*now, *now)
    }
}

/// Predicts the enthalpies and looks up potentials and slopes there.
#[inline(always)]
pub fn look_up(
    fixed: Fixed,
    stage: &mut Stage,
    pool: &[Interval],
    per_dh: &Lane,
    predict: &mut impl Predict,
) -> Special {
    let Fixed { layout, link, .. } = fixed;
    let mut special = Special {
        before: [ZERO; MOST_BODIES],
        across: [ZERO; MOST_BODIES],
        loss: [ZERO; 2],
        loss_slope: [ZERO; 2],
    };
    let mut ends = [(ZERO, ZERO); 2];
    let mut above = (ZERO, ZERO);
    let mut body = 0;
    for segment in fixed.segments {
        for i in segment.from..segment.to {
            let (predicted, base) = predict.at(i, &stage.enthalpy[i]);
            let (potential, capacity) = segment.potential_and_capacity(pool, &predicted);
            stage.enthalpy[i] = predicted;
            stage.rise[i] = each(|l| (predicted[l] - base[l]) * per_dh[l]);
            stage.potential[i] = potential;
            stage.per_slope[i] = capacity;
        }
        if segment.shared {
            let i = segment.from;
            let (value, ratio) = segment.before(pool, &stage.enthalpy[i]);
            special.before[body - 1] = value;
            stage.flux_right[i - 1] = each(|l| link[i - 1][l] * ratio[l]);
            continue;
        }
        let (from, last) = (segment.from, segment.to - 1);
        let at = |i: usize| segment.temperature_and_slope(pool, &stage.enthalpy[i]);
        if body == 0 {
            ends[0] = at(from);
        } else if !layout.merged[body - 1] {
            // A contact with resistance, from the body before to this one.
            let below = at(from);
            let conductance = link[from - 1];
            special.across[body - 1] = each(|l| conductance[l] * (above.0[l] - below.0[l]));
            stage.flux_left[from - 1] = each(|l| conductance[l] * above.1[l]);
            stage.flux_right[from - 1] = each(|l| conductance[l] * below.1[l]);
        }
        if body + 1 == layout.bodies {
            ends[1] = at(last);
        } else if !layout.merged[body] {
            above = at(last);
        }
        body += 1;
    }
    for side in 0..2 {
        let (face, ambient) = (fixed.face[side], fixed.ambient[side]);
        special.loss[side] = each(|l| face[l] * (ends[side].0[l] - ambient[l]));
        special.loss_slope[side] = each(|l| face[l] * ends[side].1[l]);
    }
    special
}

/// A walk through the nodes from the laser side.
pub struct Walk<'a> {
    fixed: Fixed<'a>,
    potential: &'a [Lane],
    rise: &'a [Lane],
    special: &'a Special,
    body: usize,
    /// Last node of the body.
    last: usize,
}

impl<'a> Walk<'a> {
    #[inline(always)]
    pub fn new(
        fixed: Fixed<'a>,
        potential: &'a [Lane],
        rise: &'a [Lane],
        special: &'a Special,
    ) -> Self {
        Walk {
            fixed,
            potential,
            rise,
            special,
            body: 0,
            last: fixed.layout.cells[0],
        }
    }

    /// Heat (and inertia) that goes from node `i`, the next on the walk, to the one after it.
    #[inline(always)]
    pub fn leaving(&mut self, i: usize) -> Lane {
        let layout = &self.fixed.layout;
        let mut next = self.potential[(i + 1).min(self.potential.len() - 1)];
        if self.last <= i + 1 {
            let merged = layout.merged[self.body];
            if i == self.last {
                let onwards = self.special.across[self.body];
                self.body += 1;
                if self.body == layout.bodies {
                    return self.special.loss[1];
                }
                self.last += 1 + layout.cells[self.body];
                return onwards;
            }
            if merged {
                next = self.special.before[self.body];
                self.body += 1;
                self.last += layout.cells[self.body];
            }
        }
        let Fixed {
            link,
            mass_left,
            mass_right,
            ..
        } = self.fixed;
        let (here, rise) = (&self.potential[i], &self.rise[i]);
        let next_rise = &self.rise[i + 1];
        each(|l| {
            link[i][l] * (here[l] - next[l])
                - (mass_left[i][l] * rise[l] - mass_right[i][l] * next_rise[l])
        })
    }
}

/// Solves one stage. Returns what leaves through the outer faces.
///
/// Matrix, elimination and right-hand side are made in one sweep: every number is used while it
/// is at hand.
#[inline(always)]
pub fn solve_stage(
    fixed: Fixed,
    stage: &mut Stage,
    pool: &[Interval],
    per_dh: &Lane,
    light: &Lane,
    predict: &mut impl Predict,
) -> [Lane; 2] {
    let special = look_up(fixed, stage, pool, per_dh, predict);
    let n = fixed.volume.len();
    let Stage {
        flux_left,
        flux_right,
        left,
        right,
        pivot,
        rise,
        potential,
        per_slope,
        x,
        ..
    } = stage;
    let per_slope = &**per_slope;
    let mut sweep = Sweep::default();
    let mut inertia = each(|l| per_dh[l] * per_slope[0][l]);
    let mut walk = Walk::new(fixed, potential, rise, &special);
    let mut arriving = each(|l| -special.loss[0][l]);
    for i in 0..n {
        let leaving = walk.leaving(i);
        let next = &per_slope[(i + 1).min(n - 1)];
        let next_inertia = each(|l| per_dh[l] * next[l]);
        let to_next = each(|l| flux_left[i][l] - fixed.mass_left[i][l] * inertia[l]);
        let from_next = each(|l| flux_right[i][l] - fixed.mass_right[i][l] * next_inertia[l]);
        let mut excess = each(|l| fixed.volume[i][l] * inertia[l]);
        if i == 0 {
            excess = each(|l| excess[l] + special.loss_slope[0][l]);
        }
        if i + 1 == n {
            excess = each(|l| excess[l] + special.loss_slope[1][l]);
        }
        let heat = each(|l| {
            (arriving[l] - leaving[l]) + fixed.share[i][l] * light[l]
                - fixed.volume[i][l] * rise[i][l]
        });
        let reciprocal = sweep.factor(&excess, &to_next, &from_next);
        x[i] = sweep.forward(&heat, &to_next, &reciprocal);
        left[i] = to_next;
        right[i] = from_next;
        pivot[i] = reciprocal;
        inertia = next_inertia;
        arriving = leaving;
    }
    let mut after = ZERO;
    for i in (0..n).rev() {
        after = each(|l| stage.x[i][l] + stage.pivot[i][l] * (stage.right[i][l] * after[l]));
        stage.x[i] = after;
        stage.enthalpy[i] = each(|l| stage.enthalpy[i][l] + after[l] * stage.per_slope[i][l]);
    }
    [(0, 0), (1, n - 1)].map(|(side, node)| {
        each(|l| special.loss[side][l] + special.loss_slope[side][l] * stage.x[node][l])
    })
}
