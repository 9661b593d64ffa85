//! How likely parameters are in the light of trials: the best ones, and a sample of them.

use hammer_and_sample::{Model, Serial, Stretch, sample};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;

use crate::numerics::least_squares::{Settings, Start, fit};
use crate::numerics::normal::normal_probability;
use crate::study::calibration::parameter::Prior;
use crate::study::calibration::response::Response;
use crate::study::calibration::trial::{Noise, Trial};

/// Walkers of the ensemble: many for few parameters, and even.
const WALKERS: usize = 32;

/// Rounds dropped at the start.
const BURN_IN: usize = 400;

/// Rounds kept.
const ROUNDS: usize = 1600;

/// Every how many rounds a point is kept, near the correlation time of the walkers.
const KEPT_EVERY: usize = 8;

/// Parameters against trials.
#[derive(Clone, Copy, Debug)]
pub struct Posterior<'p> {
    /// What the model says.
    pub response: &'p Response,
    /// What was seen.
    pub trials: &'p [Trial],
    /// What was believed before.
    pub priors: &'p [Prior],
    /// How well things were seen.
    pub noise: Noise,
}

/// A sample of the parameters.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Points, each with one logarithm a parameter.
    pub points: Vec<Vec<f64>>,
    /// Independent points they are worth, for the worst parameter.
    pub effective: f64,
}

/// One thing seen against the model.
struct Term {
    /// Difference in standard deviations; for yes or no, the signed root of the deviance.
    residual: f64,
    /// −2 ln p up to a constant that makes it at least zero.
    deviance: f64,
}

impl Term {
    fn of_likelihood(likely: f64, upwards: bool) -> Self {
        let deviance = (-2.0 * likely.ln()).max(0.0);
        let root = deviance.sqrt();
        Term {
            residual: if upwards { root } else { -root },
            deviance,
        }
    }
}

impl Noise {
    /// A depth read against a depth expected. Its deviation follows the expected depth, since one
    /// that follows the reading would trust low readings more. No depth seen stands for all that is
    /// too shallow to see.
    fn depth_term(&self, seen: f64, expected: f64) -> Term {
        let deviation = self.depth_m.hypot(self.depth_relative * expected);
        if seen <= 0.0 {
            return Term::of_likelihood(normal_probability(-expected / deviation), false);
        }
        let residual = (seen - expected) / deviation;
        Term {
            residual,
            deviance: residual * residual + 2.0 * (deviation / self.depth_m).ln(),
        }
    }
}

impl Posterior<'_> {
    /// Everything seen in a trial against the model.
    fn terms(&self, trial: &Trial, logarithms: &[f64]) -> Vec<Term> {
        let expected = self.response.at(trial, logarithms);
        let seen = &trial.seen;
        let noise = &self.noise;
        let mut terms = Vec::with_capacity(5);
        let depths = [
            (seen.upper_melt_depth_m, expected.upper_melt_depth_m),
            (seen.lower_melt_depth_m, expected.lower_melt_depth_m),
        ];
        for (depth, expected) in depths {
            if let Some(seen) = depth.filter(|_| seen.depths_count()) {
                terms.push(noise.depth_term(seen, expected));
            }
        }
        for (seen, yes_margin) in [
            (seen.fused, expected.fused),
            (seen.marked, -expected.marked),
            (seen.burnt, -expected.burnt),
        ] {
            if let Some(seen) = seen {
                let towards = if seen { yes_margin } else { -yes_margin };
                let likely = noise.slip
                    + (1.0 - 2.0 * noise.slip) * normal_probability(towards / noise.margin);
                terms.push(Term::of_likelihood(likely, seen));
            }
        }
        terms
    }

    /// Residuals of everything seen in a trial, in standard deviations.
    pub fn trial_residuals(&self, trial: &Trial, logarithms: &[f64]) -> Vec<f64> {
        self.terms(trial, logarithms)
            .into_iter()
            .map(|it| it.residual)
            .collect()
    }

    /// Signed roots of the deviances of all trials, then the residuals of the priors.
    fn roots(&self, logarithms: &[f64]) -> Vec<f64> {
        let mut roots: Vec<f64> = self
            .trials
            .iter()
            .flat_map(|it| self.terms(it, logarithms))
            .map(|it| it.deviance.sqrt().copysign(it.residual))
            .collect();
        roots.extend(
            self.priors
                .iter()
                .zip(logarithms)
                .map(|(prior, value)| (value - prior.mean) / prior.deviation),
        );
        roots
    }

    /// The likeliest parameters, from the best of several starts.
    pub fn best(&self) -> Vec<f64> {
        let settings = Settings {
            most_evaluations: 400,
            least_gain: 1e-6,
            least_gain_share: 0.0,
            largest_step: 0.5,
            difference: 0.02,
        };
        let bounds: Vec<(f64, f64)> = self.priors.iter().map(Prior::bounds).collect();
        let starts = [0.0, -1.0, 1.0].map(|shift| {
            let parameters = self
                .priors
                .iter()
                .map(|it| it.mean + shift * it.deviation)
                .collect();
            fit(
                Start {
                    parameters,
                    lower: bounds.iter().map(|it| it.0).collect(),
                    upper: bounds.iter().map(|it| it.1).collect(),
                    jacobian: None,
                },
                settings,
                |it| self.roots(it),
            )
        });
        let [first, rest @ ..] = starts;
        rest.into_iter()
            .fold(
                first,
                |best, it| {
                    if it.cost() < best.cost() { it } else { best }
                },
            )
            .parameters
    }

    /// A sample of the parameters, its walkers started around `best`.
    pub fn sample(&self, best: &[f64], seed: u64) -> Drawn {
        let walkers = (0..WALKERS as u64).map(|walker| {
            let mut stream = crate::numerics::random::Stream::new(seed, 0x7761_6c6b, walker);
            let start: Vec<f64> = self
                .priors
                .iter()
                .zip(best)
                .map(|(prior, best)| {
                    let (least, most) = prior.bounds();
                    let near = best + 0.3 * prior.deviation * (2.0 * stream.uniform() - 1.0);
                    near.clamp(least + 1e-9, most - 1e-9)
                })
                .collect();
            (start, Pcg64::seed_from_u64(stream.next_u64()))
        });
        let schedule = hammer_and_sample::MinChainLen(WALKERS * (BURN_IN + ROUNDS));
        let (chain, _) = sample(self, &Stretch::default(), walkers, schedule, Serial);
        let kept = &chain[WALKERS * BURN_IN..];
        let effective = (0..self.priors.len())
            .map(|i| effective_size(kept, i))
            .fold(f64::INFINITY, f64::min);
        let points = kept
            .chunks(WALKERS)
            .step_by(KEPT_EVERY)
            .flatten()
            .cloned()
            .collect();
        Drawn { points, effective }
    }
}

/// Independent points a chain of the ensemble is worth in one parameter, from the autocorrelation
/// of the ensemble's mean (window of five correlation times, after Sokal; from memory).
fn effective_size(chain: &[Vec<f64>], i: usize) -> f64 {
    let means: Vec<f64> = chain
        .chunks(WALKERS)
        .map(|round| round.iter().map(|it| it[i]).sum::<f64>() / round.len() as f64)
        .collect();
    let count = means.len();
    let mean = means.iter().sum::<f64>() / count as f64;
    let covariance = |lag: usize| {
        (0..count - lag)
            .map(|k| (means[k] - mean) * (means[k + lag] - mean))
            .sum::<f64>()
            / count as f64
    };
    let variance = covariance(0);
    if variance <= 0.0 {
        return 0.0;
    }
    let mut time = 1.0;
    for lag in 1..count / 2 {
        time += 2.0 * covariance(lag) / variance;
        if 5.0 * time < lag as f64 {
            break;
        }
    }
    chain.len() as f64 / time.max(1.0)
}

impl Model for Posterior<'_> {
    type Params = Vec<f64>;

    fn log_prob(&self, logarithms: &Vec<f64>) -> f64 {
        let inside = self.priors.iter().zip(logarithms).all(|(prior, value)| {
            let (least, most) = prior.bounds();
            least <= *value && *value <= most
        });
        if !inside {
            return f64::NEG_INFINITY;
        }
        -0.5 * self.roots(logarithms).iter().map(|it| it * it).sum::<f64>()
    }
}
