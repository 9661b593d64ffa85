//! The sweeps of which a step is made: predictions, look-ups and the eliminated system of a stage in
//! one sweep, its solution in the one that comes back.
//!
//! The unknowns are the rises y of the enthalpies over their predictions. Heat that goes from a node
//! to the next, and what of it depends on y:
//!
//! ```text
//! g (θ_i − θ_{i+1}) − (m_i ρ_i − m'_i ρ_{i+1})                 ρ = (H_p − base) / (d h)
//! (g θ'_i − m_i / (d h)) y_i − (g θ'_{i+1} − m'_i / (d h)) y_{i+1}
//! ```
//!
//! Look-ups wait for memory and eliminations for the node before; side by side in one sweep neither
//! holds up the other. The stage in the middle goes from the laser side to the far side, the last
//! one comes back, so that the one is solved for while the other is set up.

use pulp::Simd;

use crate::heat::lanes::Lanes;
use crate::heat::lanes::Node;
use crate::heat::look_up::Line;
use crate::heat::table::Interval;
use crate::numerics::pack::Pack;
use crate::numerics::pack::Sight;
use crate::numerics::tridiagonal::Lane;

/// What a step keeps of one node.
#[derive(Clone, Debug, Default)]
#[repr(C, align(64))]
pub struct Work {
    /// Enthalpy, predicted and then solved for, J/m³.
    pub enthalpy: Lane,
    /// Potential at the prediction of the last stage, W/m, and its slope over the enthalpy, m²/s.
    potential: Lane,
    /// See `potential`.
    pub slope: Lane,
    /// What goes to the next node of the sweep for this node's unknown, over its pivot.
    pub onwards: Lane,
    /// The same for the next node's unknown.
    pub back: Lane,
    /// Reciprocal pivot.
    pub pivot: Lane,
    /// Right-hand side, eliminated.
    pub x: Lane,
    /// Rise of the enthalpy at the start, W/m³.
    pub first: Lane,
    /// The same at the stage between; later the error of the enthalpy over d h, as it is and as one
    /// division by the matrix leaves it.
    pub middle: Lane,
    /// Rise of the enthalpy at the end, predicted and then as it is, W/m³.
    pub last: Lane,
}

/// What the sweeps have in common.
#[derive(Clone, Copy)]
pub struct Frame<'a, S: Simd> {
    /// The lanes.
    pub sight: Sight<S>,
    /// Equations and state.
    pub lanes: &'a Lanes,
    /// Tables.
    pub pool: &'a [Interval],
    /// Step h, s.
    pub step_s: Pack<S>,
    /// d h, s, and its reciprocal, 1/s.
    pub dh: Pack<S>,
    /// See `dh`.
    pub per_dh: Pack<S>,
}

/// Where a stage begins.
pub trait Predict<S: Simd> {
    /// Predicted enthalpy of a node, J/m³, and how fast it rises then, W/m³.
    fn at(&mut self, node: &Node, work: &mut Work) -> (Pack<S>, Pack<S>);
}

/// Heat lost through the outer faces at a prediction, W/m², and its slopes over the unknowns, m/s.
#[derive(Clone, Copy)]
pub struct Faces<S: Simd> {
    loss: [Pack<S>; 2],
    /// See above.
    pub slope: [Pack<S>; 2],
}

/// What the nodes so far carry into the next.
struct Carried<S: Simd> {
    /// What drives heat to the next node at the last one.
    side: Line<S>,
    rise: Pack<S>,
    excess: Pack<S>,
    heat: Pack<S>,
    eliminated_excess: Pack<S>,
    eliminated_heat: Pack<S>,
}

impl<S: Simd> Carried<S> {
    /// Writes the row of the last node, eliminated, when it is known what leaves there and the slopes
    /// of this over its own unknown and the next one's.
    #[inline(always)]
    fn finish<const BACK: bool>(
        &mut self,
        sight: Sight<S>,
        row: &mut Work,
        leaving: Pack<S>,
        [own, next]: [Pack<S>; 2],
    ) {
        // Each node waits for the one before: as few operations as can be are on the way.
        let pivot = sight.all(1.0) / (self.eliminated_excess + (self.excess + own));
        let onwards_excess = (self.excess + self.eliminated_excess) * next;
        let (onwards, back) = (own * pivot, next * pivot);
        let heat = (self.heat - leaving) + self.eliminated_heat;
        self.eliminated_excess = onwards_excess * pivot;
        self.eliminated_heat = onwards * heat;
        sight.write(&mut row.back, back);
        sight.write(&mut row.x, pivot * heat);
        // Only the matrix of the last stage is divided by again.
        if BACK {
            sight.write(&mut row.onwards, onwards);
            sight.write(&mut row.pivot, pivot);
        }
    }

    /// Links the last node, of the given row, to the next one, where heat arrives.
    #[inline(always)]
    fn link<const BACK: bool>(
        &mut self,
        frame: Frame<S>,
        equation: &Node,
        row: &mut Work,
        to: Line<S>,
        rise: Pack<S>,
    ) -> Pack<S> {
        let sight = frame.sight;
        let g = sight.read(&equation.link);
        let (left, right) = (
            sight.read(&equation.mass_left),
            sight.read(&equation.mass_right),
        );
        let (own, next) = if BACK { (right, left) } else { (left, right) };
        let inert = own.times_from(self.rise, next * rise);
        let leaving = g.times_plus(self.side.0 - to.0, inert);
        let slopes = [
            own.times_from(frame.per_dh, g * self.side.1),
            next.times_from(frame.per_dh, g * to.1),
        ];
        self.finish::<BACK>(sight, row, leaving, slopes);
        leaving
    }
}

/// Sets up a stage and eliminates its system: from the laser side on, or `BACK` from the far side.
#[inline(always)]
pub fn eliminate<S: Simd, const BACK: bool>(
    frame: Frame<S>,
    work: &mut [Work],
    light: Pack<S>,
    predict: &mut impl Predict<S>,
) -> Faces<S> {
    let Frame {
        sight,
        lanes,
        pool,
        per_dh,
        ..
    } = frame;
    let zero = sight.all(0.0);
    let mut faces = Faces {
        loss: [zero; 2],
        slope: [zero; 2],
    };
    let mut carried = Carried {
        side: (zero, zero),
        rise: zero,
        excess: zero,
        heat: zero,
        eliminated_excess: zero,
        eliminated_heat: zero,
    };
    let (begin, end) = if BACK { (1, 0) } else { (0, 1) };
    // Temperature at the last node of a segment, and if that is a node shared by two bodies.
    let mut edge = (zero, zero);
    let mut shared = false;
    let count = lanes.segments.len();
    for s in 0..count {
        let segment = &lanes.segments[if BACK { count - 1 - s } else { s }];
        let tables = segment.tables(sight, pool);
        let length = segment.to - segment.from;
        for j in 0..length {
            let i = if BACK {
                segment.to - 1 - j
            } else {
                segment.from + j
            };
            let node = &lanes.nodes[i];
            let (predicted, rise) = predict.at(node, &mut work[i]);
            let own = tables.potential(predicted);
            sight.write(&mut work[i].enthalpy, predicted);
            // Only the last stage, which comes back, is held against the tables.
            if BACK {
                sight.write(&mut work[i].potential, own.0);
                sight.write(&mut work[i].slope, own.1);
            }
            let volume = sight.read(&node.volume);
            let mut excess = volume * per_dh;
            let heat = volume.times_from(rise, sight.read(&node.share) * light);
            // The row of the node before, and the equation of the link to it.
            let (row, link) = if BACK {
                (i + 1, i)
            } else {
                (i.wrapping_sub(1), i.wrapping_sub(1))
            };
            // Inside a segment nothing is special: its link stands alone, which is faster.
            let (arriving, side) = if 0 < j {
                let row = &mut work[row];
                let arriving = carried.link::<BACK>(frame, &lanes.nodes[link], row, own, rise);
                (arriving, own)
            } else if s == 0 {
                let (temperature, slope) = tables.temperature(predicted);
                let face = sight.read(&lanes.face[begin]);
                faces.loss[begin] = face * (temperature - sight.read(&lanes.ambient[begin]));
                faces.slope[begin] = face * slope;
                excess = excess + faces.slope[begin];
                (-faces.loss[begin], own)
            } else {
                let (mut to, mut side) = (own, own);
                if segment.shared {
                    // Towards the laser side it is the potential of the body before.
                    let other = segment.tables_before(sight, pool).potential(predicted);
                    if BACK {
                        side = other;
                    } else {
                        to = other;
                    }
                } else if !shared {
                    // A contact with resistance.
                    carried.side = edge;
                    to = tables.temperature(predicted);
                }
                let row = &mut work[row];
                let arriving = carried.link::<BACK>(frame, &lanes.nodes[link], row, to, rise);
                (arriving, side)
            };
            carried.side = side;
            carried.rise = rise;
            carried.excess = excess;
            carried.heat = heat + arriving;
        }
        shared = segment.shared;
        if !shared {
            let last = if BACK { segment.from } else { segment.to - 1 };
            edge = tables.temperature(sight.read(&work[last].enthalpy));
        }
    }
    let face = sight.read(&lanes.face[end]);
    faces.loss[end] = face * (edge.0 - sight.read(&lanes.ambient[end]));
    faces.slope[end] = face * edge.1;
    carried.excess = carried.excess + faces.slope[end];
    let row = if BACK { 0 } else { work.len() - 1 };
    carried.finish::<BACK>(sight, &mut work[row], faces.loss[end], [zero, zero]);
    faces
}

/// Solution of an eliminated system, in the other direction.
pub struct Solution<S: Simd> {
    sight: Sight<S>,
    /// The unknown of the last node solved for, and that of the very first.
    latest: Pack<S>,
    first: Pack<S>,
    begun: bool,
}

impl<S: Simd> Solution<S> {
    /// Before anything is solved for.
    #[inline(always)]
    pub fn new(sight: Sight<S>) -> Self {
        Solution {
            sight,
            latest: sight.all(0.0),
            first: sight.all(0.0),
            begun: false,
        }
    }

    /// The unknown of the next node.
    #[inline(always)]
    pub fn next(&mut self, row: &Work) -> Pack<S> {
        let back = self.sight.read(&row.back);
        self.latest = back.times_plus(self.latest, self.sight.read(&row.x));
        if !self.begun {
            self.first = self.latest;
            self.begun = true;
        }
        self.latest
    }

    /// The unknowns of the first and the last node solved for.
    #[inline(always)]
    pub fn ends(&self) -> [Pack<S>; 2] {
        [self.first, self.latest]
    }
}

impl<S: Simd> Faces<S> {
    /// What leaves through the faces when the unknowns there are known, laser side first, W/m².
    #[inline(always)]
    pub fn loss(&self, ends: [Pack<S>; 2]) -> [Pack<S>; 2] {
        [
            self.slope[0].times_plus(ends[0], self.loss[0]),
            self.slope[1].times_plus(ends[1], self.loss[1]),
        ]
    }
}

/// Solves the last stage from the laser side on; enthalpies and rates become those at the end, and
/// the difference to the embedded formula of these weights is made. Returns what is lost, W/m², and
/// by how much what was linear is off the tables at the worst node, K.
#[inline(always)]
pub fn solve_last<S: Simd>(
    frame: Frame<S>,
    work: &mut [Work],
    faces: &Faces<S>,
    weights: [Pack<S>; 3],
) -> ([Pack<S>; 2], Pack<S>) {
    let Frame {
        sight,
        lanes,
        pool,
        per_dh,
        ..
    } = frame;
    let mut solution = Solution::new(sight);
    let mut worst = sight.all(0.0);
    for segment in &lanes.segments {
        let tables = segment.tables(sight, pool);
        let mut off = sight.all(0.0);
        for work in &mut work[segment.from..segment.to] {
            let y = solution.next(work);
            let risen = sight.read(&work.enthalpy) + y;
            sight.write(&mut work.enthalpy, risen);
            let rate = per_dh.times_plus(y, sight.read(&work.last));
            sight.write(&mut work.last, rate);
            let error = weights[0] * sight.read(&work.first);
            let error = weights[1].times_plus(sight.read(&work.middle), error);
            sight.write(&mut work.middle, weights[2].times_plus(rate, error));
            let linear = y.times_plus(sight.read(&work.slope), sight.read(&work.potential));
            off = (tables.potential(risen).0 - linear).abs().max(off);
        }
        worst = (off * sight.read(&segment.per_conductivity)).max(worst);
    }
    (faces.loss(solution.ends()), worst)
}
