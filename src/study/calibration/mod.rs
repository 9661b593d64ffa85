//! Weld trials correct what is known least: power at the part, absorber, contact.
//!
//! ```text
//! p(θ | y) ∝ p(θ) Π_i p(y_i | θ)
//! depth seen         y ~ N(d(θ), s² + (q d(θ))²), none seen where that is below zero
//! yes or no seen     P(yes) = ε + (1 − 2 ε) Φ(m(θ) / σ)
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | θ | `logarithms` | natural logarithms of the parameters |
//! | d, m | `Expected` | melt depth and margin the model gives |
//! | s, q | `depth_m`, `depth_relative` | reading error of a depth, and scatter from weld to weld |
//! | σ, ε | `margin`, `slip` | scatter of the margin, and share of wrong answers |
//! | Φ | | normal distribution |
//!
//! The best values minimise −ln p(θ | y) by bounded least squares on signed roots of deviances. The
//! intervals are quantiles of a sample of p(θ | y) by an affine-invariant ensemble (J. Goodman and
//! J. Weare, Commun. Appl. Math. Comput. Sci. 5 (2010) 65), which needs no tuning.
//!
//! Depths of welds that do not hold are left out.
//!
//! Holds where the model is right but for these parameters; residuals beyond three deviations are
//! named. What trials cannot tell is named too: parameters whose interval they did not narrow, and
//! pairs of which they know the product only.
//!
//! Checked in: `tests/study/calibration.rs` (recovery from synthetic trials, coverage).

use crate::error::{Error, WeldProblem};
use crate::study::calibration::parameter::{Parameter, Prior, priors};
use crate::study::calibration::posterior::Posterior;
use crate::study::calibration::response::{Expected, Response, ResponseError};
use crate::study::calibration::trial::{Noise, Trial};
use crate::study::progress::Progress;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

pub mod parameter;
pub mod posterior;
pub mod redrawn;
pub mod response;
pub mod trial;

/// How to calibrate.
#[derive(Clone, Debug, PartialEq)]
pub struct Choices {
    /// What is fitted.
    pub parameters: Vec<Parameter>,
    /// How well things were seen.
    pub noise: Noise,
    /// Seed of the sampler.
    pub seed: u64,
}

impl Default for Choices {
    fn default() -> Self {
        Choices {
            parameters: Parameter::ALL.to_vec(),
            noise: Noise::default(),
            seed: 1,
        }
    }
}

/// What trials say about one parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    /// What was believed before.
    pub prior: Prior,
    /// Best value.
    pub best: f64,
    /// Median of the sample.
    pub median: f64,
    /// Interval that holds 95 % of the sample.
    pub interval: (f64, f64),
    /// Standard deviation of the logarithm after the trials over that before.
    pub narrowed_to: f64,
}

/// Share of the prior's deviation above which trials told nothing of a parameter.
const TOLD_NOTHING: f64 = 0.8;

/// Share of the prior's deviation below which trials settle a parameter.
const SETTLED: f64 = 0.5;

/// Correlation above which two parameters are not told apart.
pub const NOT_APART: f64 = 0.8;

/// How much trials tell of a parameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// The interval is less than half as wide as before.
    Much,
    /// The interval is somewhat narrower.
    Something,
    /// The interval is as wide as before.
    Nothing,
}

impl Learnt {
    /// How much the trials tell.
    pub fn told(&self) -> Told {
        if self.narrowed_to < SETTLED {
            Told::Much
        } else if self.narrowed_to < TOLD_NOTHING {
            Told::Something
        } else {
            Told::Nothing
        }
    }
}

/// One trial beside the model.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The trial.
    pub trial: Trial,
    /// What the joint file says of it.
    pub before: Expected,
    /// What the best parameters say of it.
    pub after: Expected,
    /// Largest residual after the fit, in standard deviations, signed.
    pub worst_residual: f64,
}

/// The outcome of a calibration.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// One entry a parameter.
    pub learnt: Vec<Learnt>,
    /// Best values as natural logarithms.
    pub best: Vec<f64>,
    /// Sample of the parameters, natural logarithms.
    pub sample: Vec<Vec<f64>>,
    /// Correlation of every pair of parameters in the sample.
    pub correlations: Vec<(Parameter, Parameter, f64)>,
    /// Trials beside the model.
    pub compared: Vec<Compared>,
    /// How far the interpolated model is from the simulated one.
    pub response_error: ResponseError,
    /// Sum of squared residuals of the data at the best parameters.
    pub chi_squared: f64,
    /// Number of things seen.
    pub seen: usize,
    /// Independent points the sample is worth.
    pub effective_sample: f64,
    /// The choices made.
    pub choices: Choices,
}

impl Calibration {
    /// What was believed before, one entry a parameter.
    pub fn priors(&self) -> Vec<Prior> {
        self.learnt.iter().map(|it| it.prior.clone()).collect()
    }

    /// Pairs that trials do not tell apart.
    pub fn not_apart(&self) -> impl Iterator<Item = &(Parameter, Parameter, f64)> {
        self.correlations.iter().filter(|it| NOT_APART < it.2.abs())
    }
}

/// Corrects the chosen parameters of `joint` by `trials`.
///
/// # Errors
/// Nothing was seen in any trial, or light or heat cannot be followed.
pub fn calibrate(
    joint: &Joint,
    trials: &[Trial],
    choices: &Choices,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Calibration, Error> {
    if trials.iter().all(|it| it.seen.count() == 0) || choices.parameters.is_empty() {
        return Err(Error::new(WeldProblem::NothingSeen)
            .cure("fill in the empty columns of the trials file, at least of some runs"));
    }
    let priors = priors(joint, &choices.parameters);
    let response = Response::of(joint, trials, &priors, settings, progress)?;
    let posterior = Posterior {
        response: &response,
        trials,
        priors: &priors,
        noise: choices.noise,
    };
    concluded(joint, &posterior, choices, settings)
}

/// Fit, sample, and what follows from them.
fn concluded(
    joint: &Joint,
    posterior: &Posterior<'_>,
    choices: &Choices,
    settings: &Settings,
) -> Result<Calibration, Error> {
    let best = posterior.best();
    let drawn = posterior.sample(&best, choices.seed);
    let learnt = posterior
        .priors
        .iter()
        .enumerate()
        .map(|(i, prior)| learnt(prior, best[i], &drawn.points, i))
        .collect();
    let before = redrawn::expected(joint, posterior.trials, settings)?;
    let compared = posterior
        .trials
        .iter()
        .zip(before)
        .map(|(trial, before)| Compared {
            trial: trial.clone(),
            before,
            after: posterior.response.at(trial, &best),
            worst_residual: posterior
                .trial_residuals(trial, &best)
                .into_iter()
                .max_by(|a, b| a.abs().total_cmp(&b.abs()))
                .unwrap_or(0.0),
        })
        .collect();
    let residuals: Vec<f64> = posterior
        .trials
        .iter()
        .flat_map(|it| posterior.trial_residuals(it, &best))
        .collect();
    Ok(Calibration {
        learnt,
        correlations: correlations(posterior.priors, &drawn.points),
        sample: drawn.points,
        effective_sample: drawn.effective,
        compared,
        response_error: posterior.response.error,
        chi_squared: residuals.iter().map(|it| it * it).sum(),
        seen: residuals.len(),
        best,
        choices: choices.clone(),
    })
}

fn learnt(prior: &Prior, best: f64, sample: &[Vec<f64>], i: usize) -> Learnt {
    let mut values: Vec<f64> = sample.iter().map(|it| it[i]).collect();
    values.sort_by(f64::total_cmp);
    let quantile = |share: f64| {
        let at = share * (values.len() - 1) as f64;
        let node = (at as usize).min(values.len().saturating_sub(2));
        let rest = at - node as f64;
        values[node] * (1.0 - rest) + values[node + 1] * rest
    };
    let (_, variance) = moments(&values);
    Learnt {
        prior: prior.clone(),
        best: best.exp(),
        median: quantile(0.5).exp(),
        interval: (quantile(0.025).exp(), quantile(0.975).exp()),
        narrowed_to: variance.sqrt() / prior.deviation,
    }
}

fn moments(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / (count - 1.0);
    (mean, variance)
}

fn correlations(priors: &[Prior], sample: &[Vec<f64>]) -> Vec<(Parameter, Parameter, f64)> {
    let column = |i: usize| -> Vec<f64> { sample.iter().map(|it| it[i]).collect() };
    let mut pairs = Vec::new();
    for i in 0..priors.len() {
        for j in i + 1..priors.len() {
            let (a, b) = (column(i), column(j));
            let ((ma, va), (mb, vb)) = (moments(&a), moments(&b));
            let product: f64 = a.iter().zip(&b).map(|(x, y)| (x - ma) * (y - mb)).sum();
            let correlation = product / (a.len() - 1) as f64 / (va * vb).sqrt();
            pairs.push((priors[i].parameter, priors[j].parameter, correlation));
        }
    }
    pairs
}
