//! The error of a step, and the step put right by it.
//!
//! The embedded formula is of order 3, one higher than the method, so its difference e to the step
//! is the error of the step, and without it the step is of order 3 too. Stiff parts of it are wrong
//! and are taken out by the matrix of the last stage, twice:
//!
//! ```text
//! (1 − d h J)² e = h Σ (w_k − ŵ_k) f_k
//! ```
//!
//! With this the step stays L-stable. Across the front of melting the difference tells nothing of a
//! smooth error: it is taken off the less, the more what was linear is off the tables.
//!
//! Heat lost through the outer faces is put right by the same formulas, so the ledger stays a check.
//!
//! Source: M. E. Hosea and L. F. Shampine, Appl. Numer. Math. 20 (1996) 21, for the embedded formula
//! and one division by 1 − d h J; from memory. Checked in: `tests/heat/order.rs`,
//! `tests/heat/ledger.rs`.

use pulp::Simd;

use crate::heat::stage::Faces;
use crate::heat::stage::Frame;
use crate::heat::stage::Solution;
use crate::heat::stage::Work;
use crate::numerics::pack::Pack;

/// Share of the error left in the step for every part of it by which the linear is off the tables.
const CAUTION: f64 = 0.3;

/// Share of the difference to the embedded formula that counts as error: what is put right by it is
/// better by one order.
const ORDER_GAIN: f64 = 0.5;

/// A step as its stages give it; the difference to the embedded formula stands in the work.
pub struct Solved<S: Simd> {
    /// By how much what was linear is off the tables at the worst node, K.
    pub off_k: Pack<S>,
    /// Heat that leaves through the outer faces at the end, W/m².
    pub loss: [Pack<S>; 2],
    /// Heat lost during the step, J/m².
    pub lost: [Pack<S>; 2],
    /// Difference of that to the embedded formula, J/m².
    pub lost_error: [Pack<S>; 2],
}

/// What becomes of a step.
pub struct Corrected<S: Simd> {
    /// Error at the worst node, K; not finite where anything is.
    pub error_k: Pack<S>,
    /// Heat that leaves through the outer faces at the end, W/m².
    pub loss: [Pack<S>; 2],
    /// Heat lost during the step, J/m².
    pub lost: [Pack<S>; 2],
}

/// Puts the step right.
#[inline(always)]
pub fn correct<S: Simd>(
    frame: Frame<S>,
    work: &mut [Work],
    faces: &Faces<S>,
    step: Solved<S>,
) -> Corrected<S> {
    let (sight, per_dh) = (frame.sight, frame.per_dh);
    divide(frame, work);
    let mut once_k = sight.all(0.0);
    let mut solution = Solution::new(sight);
    for segment in &frame.lanes.segments {
        let mut most = sight.all(0.0);
        for work in &mut work[segment.from..segment.to] {
            let error = solution.next(work);
            sight.write(&mut work.middle, error * per_dh);
            most = (error * sight.read(&work.slope)).abs().max(most);
        }
        once_k = (most * sight.read(&segment.per_conductivity)).max(once_k);
    }
    let off = sight.all(CAUTION) * step.off_k / once_k.max(sight.all(f64::MIN_POSITIVE));
    let share = (sight.all(1.0) - off).max(sight.all(0.0));
    let once = solution.ends();

    divide(frame, work);
    let mut twice_k = sight.all(0.0);
    let mut solution = Solution::new(sight);
    for segment in &frame.lanes.segments {
        let mut most = sight.all(0.0);
        for work in &mut work[segment.from..segment.to] {
            let error = solution.next(work);
            most = (error * sight.read(&work.slope)).abs().max(most);
            let enthalpy = share.times_from(error, sight.read(&work.enthalpy));
            sight.write(&mut work.enthalpy, enthalpy);
            let change = per_dh.times_from(error, sight.read(&work.middle));
            let rate = share.times_plus(change, sight.read(&work.last));
            sight.write(&mut work.last, rate);
        }
        twice_k = (most * sight.read(&segment.per_conductivity)).max(twice_k);
    }
    let twice = solution.ends();
    let Solved {
        mut loss, mut lost, ..
    } = step;
    for side in 0..2 {
        let slope = faces.slope[side];
        let both = once[side] + twice[side];
        let lost_error = (slope * frame.dh).times_plus(both, step.lost_error[side]);
        lost[side] = share.times_from(lost_error, lost[side]);
        loss[side] = (share * slope).times_from(twice[side], loss[side]);
    }
    // A maximum passes over what is not a number; elimination and solution carry it to the last
    // node.
    let unseen = (twice[1] + once_k) * sight.all(0.0);
    Corrected {
        error_k: step.off_k.max(twice_k * sight.all(ORDER_GAIN)) + unseen,
        loss,
        lost,
    }
}

/// Eliminates an error of the enthalpy, given over d h, from the far side on, as the last stage was.
#[inline(always)]
fn divide<S: Simd>(frame: Frame<S>, work: &mut [Work]) {
    let sight = frame.sight;
    let zero = sight.all(0.0);
    let (mut own, mut before, mut eliminated) = (zero, zero, zero);
    for i in (0..work.len()).rev() {
        let node = &frame.lanes.nodes[i];
        let error = sight.read(&work[i].middle);
        // Inertia times error: what is exchanged with the node before is known now.
        let exchange = sight
            .read(&node.mass_right)
            .times_from(before, sight.read(&node.mass_left) * error);
        if i + 1 < work.len() {
            let row = &mut work[i + 1];
            let heat = (own + exchange) + eliminated;
            eliminated = sight.read(&row.onwards) * heat;
            let x = sight.read(&row.pivot) * heat;
            sight.write(&mut row.x, x);
        }
        own = sight.read(&node.volume).times_plus(error, -exchange);
        before = error;
    }
    let row = &mut work[0];
    let x = sight.read(&row.pivot) * (own + eliminated);
    sight.write(&mut row.x, x);
}
