//! What the model says of every trial for any parameters: simulated at nodes, interpolated between.
//!
//! Coupling only multiplies the power, so the axes are the logarithms of effective power, absorber
//! and contact, and one table holds for all trials at one setting. In power, where melting sets in
//! with a kink, interpolation is linear over many nodes; along the others it is cubic (Lagrange
//! through four nodes). The error is measured against direct simulations at points between nodes
//! and handed over with the result.
//!
//! Checked in: `tests/study/calibration.rs`.

use crate::error::Error;
use crate::numerics::random::Stream;
use crate::study::calibration::parameter::{Parameter, Prior, applied};
use crate::study::calibration::trial::Trial;
use crate::study::power_limits::at_power;
use crate::study::progress::Progress;
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate};

/// Nodes along the logarithm of power.
const POWER_NODES: usize = 65;

/// Nodes along the logarithm of the absorber, over which light changes smoothly.
const ABSORBER_NODES: usize = 7;

/// Nodes along the logarithm of the contact, over which a poor contact bends into a perfect one.
const CONTACT_NODES: usize = 13;

/// Points between nodes at which the interpolation is measured.
const CHECKS: usize = 48;

/// Purpose of the random numbers drawn here.
const PURPOSE: u64 = 0x7265_7370;

/// What the model says of one weld.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Expected {
    /// Margin of fusion.
    pub fused: f64,
    /// Melt depth of the upper part, m.
    pub upper_melt_depth_m: f64,
    /// Melt depth of the lower part, m.
    pub lower_melt_depth_m: f64,
    /// Margin of surface marking.
    pub marked: f64,
    /// Margin of damage or decomposition, whichever is smaller; one where a joint has neither.
    pub burnt: f64,
}

impl Expected {
    /// What of an outcome trials can see.
    pub fn of(outcome: &Outcome) -> Self {
        let margin = |wanted: &[Rule]| {
            outcome
                .criteria
                .iter()
                .filter(|it| wanted.contains(&it.rule))
                .map(|it| it.margin)
                .fold(1.0, f64::min)
        };
        let fused = outcome
            .criteria
            .iter()
            .find(|it| it.rule == Rule::Fusion)
            .map_or(-1.0, |it| it.margin);
        Expected {
            fused,
            upper_melt_depth_m: outcome.history.upper_melt_depth_m,
            lower_melt_depth_m: outcome.history.lower_melt_depth_m,
            marked: margin(&[Rule::SurfaceMarking]),
            burnt: margin(&[Rule::Damage, Rule::Decomposition]),
        }
    }

    fn added(&mut self, other: &Expected, weight: f64) {
        self.fused += weight * other.fused;
        self.upper_melt_depth_m += weight * other.upper_melt_depth_m;
        self.lower_melt_depth_m += weight * other.lower_melt_depth_m;
        self.marked += weight * other.marked;
        self.burnt += weight * other.burnt;
    }
}

/// Largest differences between interpolation and simulation at points between nodes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ResponseError {
    /// Of a melt depth, m, root mean square.
    pub depth_m: f64,
    /// Of a margin, root mean square; margins beyond one half either way decide nothing and are
    /// left out.
    pub margin: f64,
    /// Points compared.
    pub points: usize,
}

/// Equally spaced nodes.
#[derive(Clone, Copy, Debug)]
struct Axis {
    first: f64,
    step: f64,
    count: usize,
}

impl Axis {
    fn over(from: f64, to: f64, count: usize) -> Self {
        Axis {
            first: from,
            step: (to - from) / (count - 1).max(1) as f64,
            count,
        }
    }

    fn at(&self, node: usize) -> f64 {
        self.first + self.step * node as f64
    }

    /// First node and weights of a straight line through two nodes.
    fn linear(&self, at: f64) -> (usize, [f64; 2]) {
        let x = ((at - self.first) / self.step).clamp(0.0, (self.count - 1) as f64);
        let node = (x as usize).min(self.count - 2);
        let share = x - node as f64;
        (node, [1.0 - share, share])
    }

    /// First node and weights of a cubic through four nodes; one node alone is a constant.
    fn cubic(&self, at: f64) -> (usize, [f64; 4]) {
        if self.count == 1 {
            return (0, [1.0, 0.0, 0.0, 0.0]);
        }
        let x = ((at - self.first) / self.step).clamp(0.0, (self.count - 1) as f64);
        let node = (x as usize).saturating_sub(1).min(self.count - 4);
        let t = x - node as f64;
        let weights = [
            -(t - 1.0) * (t - 2.0) * (t - 3.0) / 6.0,
            t * (t - 2.0) * (t - 3.0) / 2.0,
            -t * (t - 1.0) * (t - 3.0) / 2.0,
            t * (t - 1.0) * (t - 2.0) / 6.0,
        ];
        (node, weights)
    }
}

/// The model's answers for all trials.
#[derive(Clone, Debug)]
pub struct Response {
    priors: Vec<Prior>,
    settings: Vec<f64>,
    power: Axis,
    /// Axes of absorber and contact; a single node where one is not fitted.
    others: [Axis; 2],
    /// Setting slowest, then power, absorber, contact.
    values: Vec<Expected>,
    /// How far interpolation is from simulation.
    pub error: ResponseError,
}

/// Place of a parameter among the priors.
fn place(priors: &[Prior], parameter: Parameter) -> Option<usize> {
    priors.iter().position(|it| it.parameter == parameter)
}

impl Response {
    /// Simulates the nodes for these trials.
    ///
    /// # Errors
    /// The light or heat of a node cannot be followed.
    pub fn of(
        joint: &Joint,
        trials: &[Trial],
        priors: &[Prior],
        settings: &Settings,
        progress: &dyn Progress,
    ) -> Result<Self, Error> {
        let mut set: Vec<f64> = trials.iter().map(|it| it.setting).collect();
        set.sort_by(f64::total_cmp);
        set.dedup();
        let (least, most) = trials
            .iter()
            .filter(|it| 0.0 < it.power_w)
            .fold((f64::INFINITY, 0.0_f64), |range, it| {
                (range.0.min(it.power_w), range.1.max(it.power_w))
            });
        let coupling =
            place(priors, Parameter::Coupling).map_or((0.0, 0.0), |i| priors[i].bounds());
        let axis = |parameter: Parameter, nodes: usize| match place(priors, parameter) {
            Some(i) => {
                let (from, to) = priors[i].bounds();
                Axis::over(from, to, nodes)
            }
            None => Axis::over(0.0, 0.0, 1),
        };
        // A hair more than needed, so that a single power and no coupling still make a range.
        let mut response = Response {
            priors: priors.to_vec(),
            settings: set,
            power: Axis::over(
                least.ln() + coupling.0 - 0.01,
                most.ln() + coupling.1 + 0.01,
                POWER_NODES,
            ),
            others: [
                axis(Parameter::Absorber, ABSORBER_NODES),
                axis(Parameter::Contact, CONTACT_NODES),
            ],
            values: Vec::new(),
            error: ResponseError::default(),
        };
        response.fill(joint, settings, progress)?;
        response.error = response.measure(joint, trials, settings)?;
        Ok(response)
    }

    fn fill(
        &mut self,
        joint: &Joint,
        settings: &Settings,
        progress: &dyn Progress,
    ) -> Result<(), Error> {
        let mut logarithms: Vec<f64> = self.priors.iter().map(|it| it.mean).collect();
        let [absorber, contact] = self.others;
        let mut changed = Vec::with_capacity(absorber.count * contact.count);
        for a in 0..absorber.count {
            for c in 0..contact.count {
                self.put(&mut logarithms, [absorber.at(a), contact.at(c)]);
                changed.push(applied(joint, &self.priors, &logarithms).0);
            }
        }
        for (number, &setting) in self.settings.iter().enumerate() {
            progress.at(number, self.settings.len());
            let slowed: Vec<Joint> = changed.iter().map(|it| it.at_setting(setting)).collect();
            let cases: Vec<Joint> = (0..self.power.count)
                .flat_map(|p| {
                    let power_w = self.power.at(p).exp();
                    slowed.iter().map(move |it| at_power(it, power_w))
                })
                .collect();
            for outcome in simulate(&cases, settings) {
                self.values.push(Expected::of(&outcome?));
            }
        }
        progress.at(1, 1);
        Ok(())
    }

    fn put(&self, logarithms: &mut [f64], [absorber, contact]: [f64; 2]) {
        for (parameter, value) in [
            (Parameter::Absorber, absorber),
            (Parameter::Contact, contact),
        ] {
            if let Some(i) = place(&self.priors, parameter) {
                logarithms[i] = value;
            }
        }
    }

    /// What the model says of a trial with these parameters (natural logarithms, one a prior).
    pub fn at(&self, trial: &Trial, logarithms: &[f64]) -> Expected {
        let value =
            |parameter: Parameter| place(&self.priors, parameter).map_or(0.0, |i| logarithms[i]);
        if trial.power_w <= 0.0 {
            return Expected {
                fused: -1.0,
                marked: 1.0,
                burnt: 1.0,
                ..Expected::default()
            };
        }
        let setting = self
            .settings
            .partition_point(|&it| it < trial.setting)
            .min(self.settings.len() - 1);
        let (p, wp) = self
            .power
            .linear(trial.power_w.ln() + value(Parameter::Coupling));
        let [absorber, contact] = self.others;
        let (a, wa) = absorber.cubic(value(Parameter::Absorber));
        let (c, wc) = contact.cubic(value(Parameter::Contact));
        let mut sum = Expected::default();
        for (i, wp) in wp.into_iter().enumerate() {
            for (j, wa) in wa.into_iter().enumerate().take(absorber.count) {
                let row =
                    ((setting * self.power.count + p + i) * absorber.count + a + j) * contact.count;
                for (k, wc) in wc.into_iter().enumerate().take(contact.count) {
                    sum.added(&self.values[row + c + k], wp * wa * wc);
                }
            }
        }
        // A cubic may swing a little below an unmolten part.
        sum.upper_melt_depth_m = sum.upper_melt_depth_m.max(0.0);
        sum.lower_melt_depth_m = sum.lower_melt_depth_m.max(0.0);
        sum
    }

    /// Compares with simulations at parameters drawn from the priors, within two deviations.
    fn measure(
        &self,
        joint: &Joint,
        trials: &[Trial],
        settings: &Settings,
    ) -> Result<ResponseError, Error> {
        let live: Vec<&Trial> = trials.iter().filter(|it| 0.0 < it.power_w).collect();
        if live.is_empty() {
            return Ok(ResponseError::default());
        }
        let mut points = Vec::with_capacity(CHECKS);
        let mut cases = Vec::with_capacity(CHECKS);
        // Absorbers are drawn in few values, since each needs its own light.
        for i in 0..CHECKS {
            let mut stream = Stream::new(0, PURPOSE, i as u64);
            let mut absorber = Stream::new(1, PURPOSE, (i / 8) as u64);
            let logarithms: Vec<f64> = self
                .priors
                .iter()
                .map(|it| {
                    let uniform = match it.parameter {
                        Parameter::Absorber => absorber.uniform(),
                        _ => stream.uniform(),
                    };
                    it.mean + 2.0 * it.deviation * (2.0 * uniform - 1.0)
                })
                .collect();
            let trial = live[i % live.len()];
            let (changed, coupling) = applied(joint, &self.priors, &logarithms);
            let changed = changed.at_setting(trial.setting);
            cases.push(at_power(&changed, trial.power_w * coupling));
            points.push((trial, logarithms));
        }
        let (mut depth, mut depths, mut margin, mut margins) = (0.0, 0.0, 0.0, 0.0);
        for ((trial, logarithms), outcome) in points.iter().zip(simulate(&cases, settings)) {
            let direct = Expected::of(&outcome?);
            let between = self.at(trial, logarithms);
            for (a, b) in [
                (direct.upper_melt_depth_m, between.upper_melt_depth_m),
                (direct.lower_melt_depth_m, between.lower_melt_depth_m),
            ] {
                depth += (a - b).powi(2);
                depths += 1.0;
            }
            for (a, b) in [
                (direct.fused, between.fused),
                (direct.marked, between.marked),
                (direct.burnt, between.burnt),
            ] {
                if a.abs() < 0.5 {
                    margin += (a - b).powi(2);
                    margins += 1.0;
                }
            }
        }
        let root = |sum: f64, count: f64| (sum / f64::max(count, 1.0)).sqrt();
        Ok(ResponseError {
            depth_m: root(depth, depths),
            margin: root(margin, margins),
            points: CHECKS,
        })
    }
}
