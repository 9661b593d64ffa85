//! What is kept of every step: highest and lowest temperatures, damage, and times of crossing.
//!
//! Between the ends of a step the temperature of a node is the cubic through both temperatures
//! and both rates, so a maximum or a crossing inside a step is not missed.
//!
//! ```text
//! Ω = ∫ A exp(−E/RT) dt ≈ Σ h/2 (r' − r) / (x' − x)      x = −E/RT,  r = A exp x
//! ```
//!
//! The rate of damage is taken as exponential over either half of a step.
//!
//! Checked in: `tests/heat/watch.rs`, `tests/heat/second_implementation.rs`.

use multiversion::multiversion;

use crate::heat::assemble::Layout;
use crate::heat::lanes::Lanes;
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
    pub first: usize,
    /// E/R, K.
    energy_k: Lane,
    frequency: Lane,
    /// Temperature below which the rate is negligible, K; infinite without kinetics.
    from_k: Lane,
    rate: Vec<Lane>,
    /// Integral so far, one entry a node of the part.
    pub integral: Vec<Lane>,
}

/// What is kept of the nodes of the parts.
#[derive(Clone, Debug)]
pub struct Watch {
    /// First node of the upper part.
    first: usize,
    start_k: Vec<Lane>,
    start_rate: Vec<Lane>,
    /// Highest temperature of each node so far, K.
    pub peak_k: Vec<Lane>,
    /// Lowest temperature of each node so far, K.
    pub least_k: Vec<Lane>,
    /// Damage in upper and lower part.
    pub harm: [Harm; 2],
    /// Highest temperature of all nodes now, K.
    pub hottest_k: Lane,
    /// Interface, either side: temperature over the last step.
    pub interface: [[Cubic; 2]; LANES],
    nodes: (usize, usize),
}

impl Harm {
    fn new(layout: Layout, body: usize) -> Self {
        let (first, last) = layout.nodes_of(body);
        let zero = vec![[0.0; LANES]; last + 1 - first];
        Harm {
            first,
            energy_k: [0.0; LANES],
            frequency: [0.0; LANES],
            from_k: [f64::INFINITY; LANES],
            rate: zero.clone(),
            integral: zero,
        }
    }

    fn load(&mut self, lane: usize, damage: Option<&Damage>, temperature: &[Lane]) {
        let (frequency, energy_k) = damage.map_or((0.0, 0.0), |it| {
            let energy_k = it.energy_j_per_mol.value / GAS_CONSTANT_J_PER_MOL_K;
            (it.frequency_per_s.value, energy_k)
        });
        self.frequency[lane] = frequency;
        self.energy_k[lane] = energy_k;
        self.from_k[lane] = if NEGLIGIBLE_PER_S < frequency {
            energy_k / (frequency / NEGLIGIBLE_PER_S).ln()
        } else {
            f64::INFINITY
        };
        for j in 0..self.rate.len() {
            let t = temperature[self.first + j][lane];
            self.rate[j][lane] = self.rate_per_s(lane, t);
            self.integral[j][lane] = 0.0;
        }
    }

    /// Rate at a temperature, 1/s.
    pub fn rate_per_s(&self, lane: usize, temperature_k: f64) -> f64 {
        if temperature_k < self.from_k[lane] {
            return 0.0;
        }
        self.frequency[lane] * (-self.energy_k[lane] / temperature_k).exp()
    }

    /// Rates of all lanes.
    #[inline(always)]
    fn rates(&self, exponent: &Lane, temperature: &Lane) -> Lane {
        let mut rate = exp(exponent);
        for l in 0..LANES {
            let kept = if temperature[l] < self.from_k[l] {
                0.0
            } else {
                self.frequency[l]
            };
            rate[l] *= kept;
        }
        rate
    }
}

impl Watch {
    /// Room for a layout.
    pub fn new(layout: Layout) -> Self {
        let zero = vec![[0.0; LANES]; layout.nodes()];
        let upper = layout.upper();
        Watch {
            first: layout.nodes_of(upper).0,
            start_k: zero.clone(),
            start_rate: zero.clone(),
            peak_k: zero.clone(),
            least_k: zero,
            harm: [Harm::new(layout, upper), Harm::new(layout, upper + 1)],
            hottest_k: [0.0; LANES],
            interface: [[Cubic::default(); 2]; LANES],
            nodes: layout.interface(),
        }
    }

    /// Starts a lane anew from the temperatures of its case.
    pub fn load(&mut self, lane: usize, damage: [Option<&Damage>; 2], temperature: &[Lane]) {
        for (i, t) in temperature.iter().enumerate() {
            self.peak_k[i][lane] = t[lane];
            self.least_k[i][lane] = t[lane];
        }
        for (harm, kinetics) in self.harm.iter_mut().zip(damage) {
            harm.load(lane, kinetics, temperature);
        }
    }
}

/// Keeps temperatures and rates at the start of a step.
#[multiversion(targets("x86_64+avx2"))]
pub fn begin(watch: &mut Watch, lanes: &Lanes, irradiance: &Lane) {
    for i in watch.first..lanes.volume.len() {
        for l in 0..LANES {
            watch.start_k[i][l] = lanes.temperature[i][l];
            watch.start_rate[i][l] = lanes.warming[i][l]
                * ((lanes.net[i][l] + lanes.share[i][l] * irradiance[l]) / lanes.volume[i][l]);
        }
    }
}

/// A step that has been taken.
#[derive(Clone, Copy, Debug)]
pub struct Taken {
    /// Length, s; zero for lanes whose step was not kept.
    pub step_s: Lane,
    /// Irradiance at its end, W/m².
    pub irradiance: Lane,
}

/// Keeps what happened in a step, from [`begin`] to the state that stands now.
#[multiversion(targets("x86_64+avx2"))]
pub fn observe(watch: &mut Watch, lanes: &Lanes, taken: &Taken) {
    let n = lanes.volume.len();
    let mut hottest = [0.0_f64; LANES];
    for i in 0..watch.first {
        for l in 0..LANES {
            hottest[l] = hottest[l].max(lanes.temperature[i][l]);
        }
    }
    let upper_last = watch.nodes.0;
    for i in watch.first..n {
        let mut middle = [0.0; LANES];
        let mut rise = [0.0; LANES];
        let mut fall = [0.0; LANES];
        let mut turns = false;
        for l in 0..LANES {
            let t = lanes.temperature[i][l];
            let rate = lanes.warming[i][l]
                * ((lanes.net[i][l] + lanes.share[i][l] * taken.irradiance[l])
                    / lanes.volume[i][l]);
            rise[l] = taken.step_s[l] * watch.start_rate[i][l];
            fall[l] = taken.step_s[l] * rate;
            middle[l] = 0.5 * (watch.start_k[i][l] + t) + 0.125 * (rise[l] - fall[l]);
            hottest[l] = hottest[l].max(t);
            watch.peak_k[i][l] = watch.peak_k[i][l].max(t);
            watch.least_k[i][l] = watch.least_k[i][l].min(t);
            turns |= 0.0 < rise[l] && fall[l] < 0.0;
        }
        if turns {
            let within = turning(&watch.start_k[i], &rise, &lanes.temperature[i], &fall);
            for l in 0..LANES {
                watch.peak_k[i][l] = watch.peak_k[i][l].max(within[l]);
            }
        }
        if i <= upper_last {
            suffer(
                &mut watch.harm[0],
                i,
                &watch.start_k[i],
                &middle,
                lanes,
                taken,
            );
        }
        if watch.nodes.1 <= i {
            suffer(
                &mut watch.harm[1],
                i,
                &watch.start_k[i],
                &middle,
                lanes,
                taken,
            );
        }
        let side = if i == upper_last { 0 } else { 1 };
        if i == watch.nodes.0 || i == watch.nodes.1 {
            for l in 0..LANES {
                let cubic = Cubic {
                    start: watch.start_k[i][l],
                    end: lanes.temperature[i][l],
                    start_slope: rise[l],
                    end_slope: fall[l],
                };
                watch.interface[l][side] = cubic;
                if watch.nodes.0 == watch.nodes.1 {
                    watch.interface[l][1] = cubic;
                }
            }
        }
    }
    watch.hottest_k = hottest;
}

/// Highest value of the cubics over a unit step that rise at its start and fall at its end;
/// minus infinity for others.
#[inline(always)]
fn turning(start: &Lane, rise: &Lane, end: &Lane, fall: &Lane) -> Lane {
    let mut value = [0.0; LANES];
    for l in 0..LANES {
        let (a, b, d) = (rise[l], fall[l], end[l] - start[l]);
        let c2 = 3.0 * d - 2.0 * a - b;
        let c3 = a + b - 2.0 * d;
        let s = a / ((c2 * c2 - 3.0 * a * c3).max(0.0).sqrt() - c2);
        let at = start[l] + s * (a + s * (c2 + s * c3));
        value[l] = if 0.0 < a && b < 0.0 {
            at
        } else {
            f64::NEG_INFINITY
        };
    }
    value
}

/// Adds the damage of a step at node `i`.
#[inline(always)]
fn suffer(harm: &mut Harm, i: usize, start: &Lane, middle: &Lane, lanes: &Lanes, taken: &Taken) {
    let end = &lanes.temperature[i];
    let mut hot = false;
    for l in 0..LANES {
        hot |= harm.from_k[l] <= middle[l].max(end[l]);
    }
    if !hot {
        return;
    }
    let mut x = [[0.0; LANES]; 3];
    for l in 0..LANES {
        x[0][l] = -harm.energy_k[l] / start[l].max(1.0);
        x[1][l] = -harm.energy_k[l] / middle[l].max(1.0);
        x[2][l] = -harm.energy_k[l] / end[l].max(1.0);
    }
    let in_middle = harm.rates(&x[1], middle);
    let at_end = harm.rates(&x[2], end);
    let j = i - harm.first;
    for l in 0..LANES {
        let kept = harm.from_k[l] <= middle[l].max(end[l]) && 0.0 < taken.step_s[l];
        let first = mean_rate(harm.rate[j][l], in_middle[l], x[1][l] - x[0][l]);
        let second = mean_rate(in_middle[l], at_end[l], x[2][l] - x[1][l]);
        let added = 0.5 * taken.step_s[l] * (first + second);
        harm.integral[j][l] += if kept { added } else { 0.0 };
        harm.rate[j][l] = if kept { at_end[l] } else { harm.rate[j][l] };
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
