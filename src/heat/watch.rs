//! What is kept of every step: highest and lowest states, damage, and the interface over time.
//!
//! Between the ends of a step the enthalpy of a node is the cubic through both values and both
//! rates, so a maximum or a crossing inside a step is not missed. Enthalpy is smooth in time where
//! temperature, at the edge of a melting range, is not; and the one is highest with the other.
//!
//! ```text
//! Ω = ∫ A exp(−E/RT) dt ≈ Σ h/2 (r' − r) / (x' − x)      x = −E/RT,  r = A exp x
//! ```
//!
//! The rate of damage is taken as exponential over either half of a step.
//!
//! Checked in: `tests/heat/extremes.rs` (damage), `tests/heat/second_implementation.rs`.

use pulp::Simd;

use crate::heat::case::Case;
use crate::heat::lanes::Lanes;
use crate::heat::layout::Layout;
use crate::heat::look_up::Line;
use crate::heat::look_up::Tables;
use crate::heat::step::Stepper;
use crate::heat::step::Stride;
use crate::heat::table::Interval;
use crate::heat::table::Pool;
use crate::material::Damage;
use crate::numerics::exponential::exp;
use crate::numerics::pack::Choice;
use crate::numerics::pack::Pack;
use crate::numerics::pack::Sight;
use crate::numerics::pack::Sweeping;
use crate::numerics::pack::sweep;
use crate::numerics::root::Cubic;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;
use crate::units::GAS_CONSTANT_J_PER_MOL_K;

/// Damage rate below which nothing is added, 1/s: a day of it damages less than 1e-8.
const NEGLIGIBLE_PER_S: f64 = 1e-13;

/// Kinetics of one part in every lane, and what it has suffered.
#[derive(Clone, Debug)]
pub struct Harm {
    /// First node of the part.
    first: usize,
    /// True if any lane has kinetics.
    any: bool,
    /// E/R, K.
    energy_k: Lane,
    frequency: Lane,
    /// Integral so far, one entry a node of the part.
    pub integral: Vec<Lane>,
    /// One entry a node of the part.
    pace: Vec<Pace>,
}

/// How fast a node is harmed.
#[derive(Clone, Debug)]
#[repr(C, align(64))]
struct Pace {
    /// Enthalpy below which the rate is negligible, J/m³; infinite without kinetics.
    from: Lane,
    /// An enthalpy, J/m³, and exponent and rate there: what a step ends with the next begins with.
    at: Lane,
    exponent: Lane,
    rate: Lane,
}

/// What is kept of a node.
#[derive(Clone, Debug, Default)]
#[repr(C, align(64))]
pub struct Watched {
    /// Highest enthalpy so far, J/m³.
    pub peak: Lane,
    /// Lowest enthalpy so far, J/m³.
    pub least: Lane,
}

/// A node over the last step, in every lane.
#[derive(Clone, Copy, Debug, Default)]
pub struct OverStep {
    start: Lane,
    end: Lane,
    rise: Lane,
    fall: Lane,
    /// Highest enthalpy in the step, J/m³.
    pub top: Lane,
}

impl OverStep {
    /// Enthalpy of a lane, J/m³.
    #[inline]
    pub fn cubic(&self, lane: usize) -> Cubic {
        Cubic {
            start: self.start[lane],
            end: self.end[lane],
            start_slope: self.rise[lane],
            end_slope: self.fall[lane],
        }
    }
}

/// What is kept of the cases.
#[derive(Clone, Debug)]
pub struct Watch {
    /// Nodes from the laser side.
    pub nodes: Vec<Watched>,
    /// Damage in upper and lower part.
    pub harm: [Harm; 2],
    /// Highest temperature of all nodes now, K.
    pub hottest_k: Lane,
    /// Enthalpy of the interface, either side, over the last step.
    pub interface: [OverStep; 2],
    interface_nodes: [usize; 2],
}

impl Harm {
    fn new(layout: Layout, body: usize) -> Self {
        let (first, last) = layout.nodes_of(body);
        let count = last + 1 - first;
        Harm {
            first,
            any: false,
            energy_k: [0.0; LANES],
            frequency: [0.0; LANES],
            integral: vec![[0.0; LANES]; count],
            pace: vec![
                Pace {
                    from: [f64::INFINITY; LANES],
                    at: [f64::NAN; LANES],
                    exponent: [0.0; LANES],
                    rate: [0.0; LANES],
                };
                count
            ],
        }
    }

    fn load(&mut self, lane: usize, damage: Option<&Damage>, case: &Case, pool: &Pool) {
        let (frequency, energy_k) = damage.map_or((0.0, 0.0), |it| {
            let energy_k = it.energy_j_per_mol.value / GAS_CONSTANT_J_PER_MOL_K;
            (it.frequency_per_s.value, energy_k)
        });
        // Without kinetics before and now, nothing has been written.
        if frequency == 0.0 && self.frequency[lane] == 0.0 {
            return;
        }
        self.frequency[lane] = frequency;
        self.energy_k[lane] = energy_k;
        self.any = self.frequency.iter().any(|it| 0.0 < *it);
        let harms = NEGLIGIBLE_PER_S < frequency;
        for j in 0..self.pace.len() {
            self.integral[j][lane] = 0.0;
            // Another material may have other rates at the same enthalpy.
            self.pace[j].at[lane] = f64::NAN;
            let i = self.first + j;
            self.pace[j].from[lane] = if 0 < j && !case.begins_table(i) {
                self.pace[j - 1].from[lane]
            } else if harms {
                let from_k = energy_k / (frequency / NEGLIGIBLE_PER_S).ln();
                case.table_at(i).enthalpy_j_per_m3(pool, from_k)
            } else {
                f64::INFINITY
            };
        }
    }

    /// True for a node of the part, if there is anything to watch for.
    #[inline(always)]
    fn holds(&self, i: usize) -> bool {
        self.any && (self.first..self.first + self.integral.len()).contains(&i)
    }

    /// True if the node is of the part and as hot as this where harm counts, in any lane.
    #[inline(always)]
    fn counts<S: Simd>(&self, sight: Sight<S>, i: usize, enthalpy: Pack<S>) -> bool {
        self.holds(i)
            && sight
                .read(&self.pace[i - self.first].from)
                .at_most(enthalpy)
                .any()
    }

    /// Rate at a temperature, 1/s.
    pub fn rate_per_s(&self, lane: usize, temperature_k: f64) -> f64 {
        self.frequency[lane] * (-self.energy_k[lane] / temperature_k).exp()
    }
}

impl Watch {
    /// Room for a layout.
    pub fn new(layout: Layout) -> Self {
        let upper = layout.upper();
        Watch {
            nodes: vec![Watched::default(); layout.nodes()],
            harm: [Harm::new(layout, upper), Harm::new(layout, upper + 1)],
            hottest_k: [0.0; LANES],
            interface: [OverStep::default(); 2],
            interface_nodes: layout.interface().into(),
        }
    }

    /// Starts a lane anew from the enthalpies of its case.
    pub fn load(
        &mut self,
        lane: usize,
        damage: [Option<&Damage>; 2],
        case: &Case,
        lanes: &Lanes,
        pool: &Pool,
    ) {
        for (watched, node) in self.nodes.iter_mut().zip(&lanes.nodes) {
            watched.peak[lane] = node.enthalpy[lane];
            watched.least[lane] = node.enthalpy[lane];
        }
        for (harm, kinetics) in self.harm.iter_mut().zip(damage) {
            harm.load(lane, kinetics, case, pool);
        }
    }
}

/// Keeps what happened in a step, and makes its end the state of the lanes where `kept` is one.
pub fn commit(
    watch: &mut Watch,
    lanes: &mut Lanes,
    stepper: &Stepper,
    pool: &[Interval],
    stride: &Stride,
    kept: &Lane,
) {
    sweep(&mut Commit {
        watch,
        lanes,
        stepper,
        pool,
        stride,
        kept,
    });
}

struct Commit<'a> {
    watch: &'a mut Watch,
    lanes: &'a mut Lanes,
    stepper: &'a Stepper,
    pool: &'a [Interval],
    stride: &'a Stride,
    kept: &'a Lane,
}

impl Sweeping for Commit<'_> {
    #[inline(always)]
    fn sweep<S: Simd>(&mut self, simd: S) {
        for sight in Sight::<S>::all_of(simd) {
            self.lanes_of(sight);
        }
    }
}

impl Commit<'_> {
    #[inline(always)]
    fn lanes_of<S: Simd>(&mut self, sight: Sight<S>) {
        let zero = sight.all(0.0);
        let step_s = sight.read(&self.stride.step_s);
        let slope = sight.read(&self.stride.irradiance_slope);
        let start_light = sight.read(&self.stride.irradiance);
        let kept = zero.below(sight.read(self.kept));
        // A step thrown away leaves the rates as they were.
        let light = kept.pick(slope.times_plus(step_s, start_light), start_light);
        let mut hottest_k = zero;
        let Lanes {
            segments, nodes, ..
        } = &mut *self.lanes;
        let Watch {
            nodes: watched,
            harm,
            interface,
            interface_nodes,
            ..
        } = &mut *self.watch;
        for segment in segments.iter() {
            let tables = segment.tables(sight, self.pool);
            let mut highest = sight.all(f64::NEG_INFINITY);
            let range = segment.from..segment.to;
            let rows = nodes[range.clone()]
                .iter_mut()
                .zip(&self.stepper.work[range.clone()])
                .zip(&mut watched[range.clone()]);
            for (i, ((node, work), watched)) in range.zip(rows) {
                let (start, end) = (sight.read(&node.enthalpy), sight.read(&work.enthalpy));
                let (first, last) = (sight.read(&work.first), sight.read(&work.last));
                let now = kept.pick(end, start);
                let rate = kept.pick(last, first);
                let by_conduction = sight.read(&node.heating).times_from(light, rate);
                sight.write(&mut node.enthalpy, now);
                sight.write(&mut node.conducted, by_conduction);
                highest = highest.max(now);
                let mut peak = sight.read(&watched.peak).max(now);
                let least = sight.read(&watched.least).min(now);
                sight.write(&mut watched.least, least);
                let turns = zero.below(first).and(last.below(zero));
                let at_interface = interface_nodes[0] == i || interface_nodes[1] == i;
                let higher = start.max(end);
                let harmed = harm.iter().any(|it| it.counts(sight, i, higher));
                // For most nodes the cubic over the step is not needed.
                if at_interface || harmed || turns.any() {
                    let (first, last) = (step_s * first, step_s * last);
                    let change = (end - start).abs();
                    let rise = limited(sight, first, change + last.abs());
                    let fall = limited(sight, last, change + first.abs());
                    let lasting = start + fading(sight, end - start, first, last);
                    let top = turning(sight, start, rise, end, fall).min(lasting);
                    let top = turns.pick(top, end);
                    peak = peak.max(kept.pick(top, now));
                    for side in 0..2 {
                        if i == interface_nodes[side] {
                            let over = &mut interface[side];
                            sight.write(&mut over.start, start);
                            sight.write(&mut over.end, end);
                            sight.write(&mut over.rise, rise);
                            sight.write(&mut over.fall, fall);
                            sight.write(&mut over.top, start.max(top));
                        }
                    }
                    let middle = sight.all(0.5) * (start + end) + sight.all(0.125) * (rise - fall);
                    let passage = Passage {
                        enthalpy: [start, middle, end],
                        highest: higher.max(top),
                        step_s,
                        kept,
                    };
                    for harm in harm.iter_mut().filter(|it| it.holds(i)) {
                        suffer(sight, harm, &tables, i, &passage);
                    }
                }
                sight.write(&mut watched.peak, peak);
            }
            hottest_k = hottest_k.max(tables.temperature(highest).0);
        }
        for (loss, new) in self.lanes.loss.iter_mut().zip(&self.stepper.loss) {
            let now = kept.pick(sight.read(new), sight.read(loss));
            sight.write(loss, now);
        }
        sight.write(&mut self.watch.hottest_k, hottest_k);
    }
}

/// A rate that a cubic over the step can have without running away: where the light changes, a
/// thin cell starts at a rate that lasts only for a small part of the step.
#[inline(always)]
fn limited<S: Simd>(sight: Sight<S>, rate: Pack<S>, scale: Pack<S>) -> Pack<S> {
    let most = sight.all(3.0) * scale;
    rate.min(most).max(-most)
}

/// Highest rise in the step of what begins with the rate `first` > 0, ends with `last` < 0 and changes
/// by `change` in all, if its rate fades exponentially; more than that where it fades slowly.
///
/// A thin cell where the light has just changed takes up its new rate in a small part of the step:
/// there a cubic swings far above.
#[inline(always)]
fn fading<S: Simd>(sight: Sight<S>, change: Pack<S>, first: Pack<S>, last: Pack<S>) -> Pack<S> {
    // Time in which it fades, in steps.
    let pace = (change - last) / (first - last);
    // x − ln(1 + x) is x² / (2 + x), or up to a tenth less.
    let until_it_falls = first * first / (first - last - last);
    let quick = pace.below(sight.all(0.2));
    pace * quick.pick(until_it_falls, first)
}

/// Highest value in the step of the cubics that rise at its start and fall at its end.
#[inline(always)]
fn turning<S: Simd>(
    sight: Sight<S>,
    start: Pack<S>,
    rise: Pack<S>,
    end: Pack<S>,
    fall: Pack<S>,
) -> Pack<S> {
    let change = end - start;
    let (two, three) = (sight.all(2.0), sight.all(3.0));
    let c2 = three * change - two * rise - fall;
    let c3 = rise + fall - two * change;
    let root = (c2 * c2 - three * rise * c3).max(sight.all(0.0)).sqrt();
    let s = rise / (root - c2);
    s.times_plus(s.times_plus(s.times_plus(c3, c2), rise), start)
}

/// A node over one step.
struct Passage<S: Simd> {
    /// Enthalpy at start, half-way and end, J/m³.
    enthalpy: [Pack<S>; 3],
    /// Its highest value, J/m³.
    highest: Pack<S>,
    step_s: Pack<S>,
    kept: Choice<S>,
}

/// Adds the damage of a step at node `i`.
#[inline(always)]
fn suffer<S: Simd>(
    sight: Sight<S>,
    harm: &mut Harm,
    tables: &Tables<S>,
    i: usize,
    step: &Passage<S>,
) {
    let j = i - harm.first;
    let pace = &mut harm.pace[j];
    let hot = sight.read(&pace.from).at_most(step.highest).and(step.kept);
    if !hot.any() {
        return;
    }
    let energy_k = sight.read(&harm.energy_k);
    let [start, middle, end] = step.enthalpy;
    let mut begins = (sight.read(&pace.exponent), sight.read(&pace.rate));
    if !sight.read(&pace.at).equals(start).all() {
        begins = pace_at(sight, tables, energy_k, start);
    }
    let half_way = pace_at(sight, tables, energy_k, middle);
    let ends = pace_at(sight, tables, energy_k, end);
    sight.write(&mut pace.at, step.kept.pick(end, start));
    sight.write(&mut pace.exponent, step.kept.pick(ends.0, begins.0));
    sight.write(&mut pace.rate, step.kept.pick(ends.1, begins.1));
    let mean = mean_rate(sight, begins, half_way) + mean_rate(sight, half_way, ends);
    let added = sight.all(0.5) * step.step_s * sight.read(&harm.frequency) * mean;
    let before = sight.read(&harm.integral[j]);
    sight.write(&mut harm.integral[j], hot.pick(before + added, before));
}

/// Exponent and rate, without the frequency, at an enthalpy.
#[inline(always)]
fn pace_at<S: Simd>(
    sight: Sight<S>,
    tables: &Tables<S>,
    energy_k: Pack<S>,
    enthalpy: Pack<S>,
) -> Line<S> {
    let temperature_k = tables.temperature(enthalpy).0;
    let exponent = -energy_k / temperature_k.max(sight.all(1.0));
    (exponent, exp(sight, exponent))
}

/// Mean of a rate that changes exponentially, from exponents and rates.
#[inline(always)]
fn mean_rate<S: Simd>(sight: Sight<S>, from: Line<S>, to: Line<S>) -> Pack<S> {
    let x = to.0 - from.0;
    let half = sight.all(0.5) * (from.1 + to.1);
    let small = x.abs().below(sight.all(1e-4));
    small.pick(half, (to.1 - from.1) / x)
}
