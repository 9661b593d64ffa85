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

// Nodes and lanes index many arrays at once.
#![allow(clippy::needless_range_loop)]

use multiversion::multiversion;

use crate::heat::assemble::Case;
use crate::heat::assemble::Layout;
use crate::heat::lanes::Lanes;
use crate::heat::lanes::Segment;
use crate::heat::properties::Interval;
use crate::heat::properties::Pool;
use crate::heat::step::Stepper;
use crate::heat::step::Stride;
use crate::material::Damage;
use crate::numerics::exponential::exp;
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
    /// Enthalpy below which the rate is negligible, J/m³; infinite without kinetics.
    from: Vec<Lane>,
    /// Integral so far, one entry a node of the part.
    pub integral: Vec<Lane>,
}

/// What is kept of the nodes.
#[derive(Clone, Debug)]
pub struct Watch {
    /// Highest enthalpy of each node so far, J/m³.
    pub peak: Vec<Lane>,
    /// Lowest enthalpy of each node so far, J/m³.
    pub least: Vec<Lane>,
    /// Damage in upper and lower part.
    pub harm: [Harm; 2],
    /// Highest temperature of all nodes now, K.
    pub hottest_k: Lane,
    /// Enthalpy of the interface, either side, over the last step.
    pub interface: [[Cubic; 2]; LANES],
    nodes: (usize, usize),
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
            from: vec![[f64::INFINITY; LANES]; count],
            integral: vec![[0.0; LANES]; count],
        }
    }

    fn load(&mut self, lane: usize, damage: Option<&Damage>, case: &Case, pool: &Pool) {
        let (frequency, energy_k) = damage.map_or((0.0, 0.0), |it| {
            let energy_k = it.energy_j_per_mol.value / GAS_CONSTANT_J_PER_MOL_K;
            (it.frequency_per_s.value, energy_k)
        });
        self.frequency[lane] = frequency;
        self.energy_k[lane] = energy_k;
        self.any = self.frequency.iter().any(|it| 0.0 < *it);
        let harms = NEGLIGIBLE_PER_S < frequency;
        for j in 0..self.from.len() {
            self.integral[j][lane] = 0.0;
            let i = self.first + j;
            self.from[j][lane] = if 0 < j && !case.begins_table(i) {
                self.from[j - 1][lane]
            } else if harms {
                let from_k = energy_k / (frequency / NEGLIGIBLE_PER_S).ln();
                case.table_at(i).enthalpy_j_per_m3(pool, from_k)
            } else {
                f64::INFINITY
            };
        }
    }

    /// Rate at a temperature, 1/s.
    pub fn rate_per_s(&self, lane: usize, temperature_k: f64) -> f64 {
        self.frequency[lane] * (-self.energy_k[lane] / temperature_k).exp()
    }
}

impl Watch {
    /// Room for a layout.
    pub fn new(layout: Layout) -> Self {
        let zero = vec![[0.0; LANES]; layout.nodes()];
        let upper = layout.upper();
        Watch {
            peak: zero.clone(),
            least: zero,
            harm: [Harm::new(layout, upper), Harm::new(layout, upper + 1)],
            hottest_k: [0.0; LANES],
            interface: [[Cubic::default(); 2]; LANES],
            nodes: layout.interface(),
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
        for (i, h) in lanes.enthalpy.iter().enumerate() {
            self.peak[i][lane] = h[lane];
            self.least[i][lane] = h[lane];
        }
        for (harm, kinetics) in self.harm.iter_mut().zip(damage) {
            harm.load(lane, kinetics, case, pool);
        }
    }
}

/// Keeps what happened in a step, and makes its end the state of the lanes where `kept` is one.
#[multiversion(targets("x86_64+avx2"))]
pub fn commit(
    watch: &mut Watch,
    lanes: &mut Lanes,
    stepper: &Stepper,
    pool: &[Interval],
    stride: &Stride,
    kept: &Lane,
) {
    let mut end_light = [0.0; LANES];
    for l in 0..LANES {
        end_light[l] = stride.irradiance[l] + stride.step_s[l] * stride.irradiance_slope[l];
    }
    let mut hottest_k = [0.0_f64; LANES];
    let mut body = 0;
    let upper = lanes.layout.upper();
    let Lanes {
        segments,
        enthalpy,
        conducted,
        heating,
        loss,
        ..
    } = lanes;
    for segment in segments.iter() {
        let mut highest = [f64::NEG_INFINITY; LANES];
        for i in segment.from..segment.to {
            let (start, end) = (enthalpy[i], stepper.enthalpy[i]);
            let mut rise = [0.0; LANES];
            let mut fall = [0.0; LANES];
            let mut top = [0.0; LANES];
            let mut turns = false;
            for l in 0..LANES {
                let change = (end[l] - start[l]).abs();
                let first = stride.step_s[l] * stepper.first[i][l];
                let last = stride.step_s[l] * stepper.last[i][l];
                rise[l] = limited(first, change + last.abs());
                fall[l] = limited(last, change + first.abs());
                top[l] = end[l];
                turns |= 0.0 < rise[l] && fall[l] < 0.0;
            }
            if turns {
                top = turning(&start, &rise, &end, &fall);
            }
            if i == watch.nodes.0 || i == watch.nodes.1 {
                for l in 0..LANES {
                    let cubic = Cubic {
                        start: start[l],
                        end: end[l],
                        start_slope: rise[l],
                        end_slope: fall[l],
                    };
                    if i == watch.nodes.0 {
                        watch.interface[l][0] = cubic;
                    }
                    if i == watch.nodes.1 {
                        watch.interface[l][1] = cubic;
                    }
                }
            }
            let step = Passage {
                enthalpy: [&start, &end],
                rise: &rise,
                fall: &fall,
                top: &top,
                step_s: &stride.step_s,
                kept,
            };
            // A node shared by both parts stands in the segment after the first part's own.
            let in_upper = body == upper || (segment.shared && body == upper + 1);
            let in_lower = body == upper + 1;
            if watch.harm[0].any && in_upper {
                suffer(&mut watch.harm[0], segment, pool, i, &step);
            }
            if watch.harm[1].any && in_lower {
                suffer(&mut watch.harm[1], segment, pool, i, &step);
            }
            // Read whole, written whole: a store between would keep lanes from going together.
            let (peak, least) = (watch.peak[i], watch.least[i]);
            let (before, last) = (conducted[i], stepper.last[i]);
            let heated = heating[i];
            let mut now = [[0.0; LANES]; 4];
            for l in 0..LANES {
                let take = 0.0 < kept[l];
                let higher = if peak[l] < top[l] { top[l] } else { peak[l] };
                let lower = if end[l] < least[l] { end[l] } else { least[l] };
                let by_conduction = last[l] - heated[l] * end_light[l];
                now[0][l] = if take { higher } else { peak[l] };
                now[1][l] = if take { lower } else { least[l] };
                now[2][l] = if take { end[l] } else { start[l] };
                now[3][l] = if take { by_conduction } else { before[l] };
                highest[l] = if highest[l] < now[2][l] {
                    now[2][l]
                } else {
                    highest[l]
                };
            }
            watch.peak[i] = now[0];
            watch.least[i] = now[1];
            enthalpy[i] = now[2];
            conducted[i] = now[3];
        }
        let temperature = segment.temperature(pool, &highest);
        for l in 0..LANES {
            hottest_k[l] = hottest_k[l].max(temperature[l]);
        }
        if !segment.shared {
            body += 1;
        }
    }
    for (loss, new) in loss.iter_mut().zip(&stepper.loss) {
        for l in 0..LANES {
            loss[l] = if 0.0 < kept[l] { new[l] } else { loss[l] };
        }
    }
    watch.hottest_k = hottest_k;
}

/// A rate that a cubic over the step can have without running away: where the light changes, a
/// thin cell starts at a rate that lasts only for a small part of the step.
#[inline(always)]
fn limited(rate: f64, scale: f64) -> f64 {
    rate.min(3.0 * scale).max(-3.0 * scale)
}

/// Highest value in the step of the cubics that rise at its start and fall at its end; the value
/// at the end for others.
#[inline(always)]
fn turning(start: &Lane, rise: &Lane, end: &Lane, fall: &Lane) -> Lane {
    let mut value = [0.0; LANES];
    for l in 0..LANES {
        let (a, b, d) = (rise[l], fall[l], end[l] - start[l]);
        let c2 = 3.0 * d - 2.0 * a - b;
        let c3 = a + b - 2.0 * d;
        let s = a / ((c2 * c2 - 3.0 * a * c3).max(0.0).sqrt() - c2);
        let at = start[l] + s * (a + s * (c2 + s * c3));
        value[l] = if 0.0 < a && b < 0.0 { at } else { end[l] };
    }
    value
}

/// A node over one step.
struct Passage<'a> {
    /// Enthalpy at start and end, J/m³.
    enthalpy: [&'a Lane; 2],
    /// Its rise over a whole step at the pace of the start and of the end, J/m³.
    rise: &'a Lane,
    fall: &'a Lane,
    /// Its highest value where it turns, else that at the end, J/m³.
    top: &'a Lane,
    step_s: &'a Lane,
    kept: &'a Lane,
}

/// Adds the damage of a step at node `i`.
#[inline(always)]
fn suffer(harm: &mut Harm, segment: &Segment, pool: &[Interval], i: usize, step: &Passage) {
    let j = i - harm.first;
    let [start, end] = step.enthalpy;
    let mut hot = [false; LANES];
    let mut any = false;
    for l in 0..LANES {
        hot[l] = harm.from[j][l] <= start[l].max(end[l]).max(step.top[l]) && 0.0 < step.kept[l];
        any |= hot[l];
    }
    if !any {
        return;
    }
    let mut middle = [0.0; LANES];
    for l in 0..LANES {
        middle[l] = 0.5 * (start[l] + end[l]) + 0.125 * (step.rise[l] - step.fall[l]);
    }
    let enthalpy = [start, &middle, end];
    let mut x = [[0.0; LANES]; 3];
    let mut rate = [[0.0; LANES]; 3];
    for k in 0..3 {
        let t = segment.temperature(pool, enthalpy[k]);
        for l in 0..LANES {
            x[k][l] = -harm.energy_k[l] / t[l].max(1.0);
        }
        rate[k] = exp(&x[k]);
    }
    for l in 0..LANES {
        let first = mean_rate(rate[0][l], rate[1][l], x[1][l] - x[0][l]);
        let second = mean_rate(rate[1][l], rate[2][l], x[2][l] - x[1][l]);
        let added = 0.5 * step.step_s[l] * harm.frequency[l] * (first + second);
        harm.integral[j][l] += if hot[l] { added } else { 0.0 };
    }
}

/// Mean of a rate that changes exponentially from `from` to `to` while its exponent grows by `x`.
#[inline(always)]
fn mean_rate(from: f64, to: f64, x: f64) -> f64 {
    if x.abs() < 1e-4 {
        0.5 * (from + to)
    } else {
        (to - from) / x
    }
}
