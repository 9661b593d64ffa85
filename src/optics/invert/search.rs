//! The pair of coefficients that reads what was measured, by least squares.
//!
//! The parameters are p = ln (µ d + δ), d the mean thickness of the plaques: ratios where µ d is
//! large, and plain differences where it is small, down to µ = 0, so that nothing is flat.
//!
//! The first start of a chunk of spectrum is the best point of a coarse net over all that plaques
//! can be; every further wavelength starts from its neighbour, with the neighbour's derivatives.
//!
//! Source: see `numerics::least_squares`. Checked in: `tests/optics/invert.rs`.

use crate::error::Error;
use crate::numerics::least_squares::{self, Fit, Start};
use crate::numerics::small_matrix::Matrix;
use crate::optics::adding_doubling::Resolution;
use crate::optics::invert::Estimate;
use crate::optics::invert::reading::{Directions, Pair, Reading, Setup, Value};
use crate::optics::invert::refusal::refusal;

/// Values of µ d that the search takes in equal steps below and in equal ratios above, for
/// absorption and reduced scattering.
const LINEAR_BELOW: [f64; 2] = [0.01, 0.05];

/// Greatest values of µ d that are searched.
const GREATEST: [f64; 2] = [100.0, 1e4];

/// Points a decade of the search for a first start.
const START_PER_DECADE: f64 = 2.0;

/// Points of the net that are tried, best first, until one reads what was measured.
const STARTS: usize = 6;

/// Resolution of the search for a first start.
const COARSE: Resolution = Resolution {
    escaping: 4,
    trapped: 4,
    moments: 8,
};

/// Resolution of the derivatives: within 2 % of those at the resolution of the fit.
const SLOPES: Resolution = Resolution {
    escaping: 5,
    trapped: 5,
    moments: 12,
};

/// Resolutions used at every wavelength.
pub(super) const RESOLUTIONS: [Resolution; 2] = [Resolution::STANDARD, SLOPES];

/// Half a sum of squares, as a multiple of the neighbour's and beyond that, up to which a fit from
/// the neighbour is taken for as good as can be had: plaques that do not agree do not agree at the
/// next wavelength either, and the neighbour was sought over all that plaques can be.
const AS_BEFORE: (f64, f64) = (1.5, 2.0);

/// Misfit in standard deviations beyond which a fit from a neighbour is done again from the net.
const FAR_OFF: f64 = 2.0;

/// Difference of a parameter from which two answers count as two.
const DISTINCT: f64 = 0.05;

/// Steps in ln (µ d + δ); half a sum of squares of 1e-8 is 1e-4 of a standard deviation.
const FIT: least_squares::Settings = least_squares::Settings {
    most_evaluations: 300,
    least_gain: 1e-8,
    least_gain_share: 1e-6,
    largest_step: 1.5,
    difference: 1e-5,
};

/// The readings of one wavelength, to be fitted.
pub(super) struct Problem<'a> {
    pub(super) readings: &'a [Reading],
    pub(super) setup: &'a Setup,
    /// For [`RESOLUTIONS`] and the readings.
    pub(super) directions: &'a Directions,
}

impl Problem<'_> {
    /// Thickness that makes the coefficients dimensionless: the mean of the plaques.
    fn thickness_m(&self) -> f64 {
        let sum: f64 = self.readings.iter().map(|it| it.thickness_m).sum();
        sum / self.readings.len() as f64
    }

    fn pair(&self, parameters: &[f64]) -> Pair {
        let thickness_m = self.thickness_m();
        let per_m = |i: usize| (parameters[i].exp() - LINEAR_BELOW[i]).max(0.0) / thickness_m;
        Pair {
            mu_a_per_m: per_m(0),
            mu_s_reduced_per_m: per_m(1),
        }
    }

    /// Each value that a pair reads against the one measured.
    fn compare(
        &self,
        parameters: &[f64],
        directions: &Directions,
        resolution: Resolution,
        difference: impl Fn(&Value, &Value) -> f64,
    ) -> Result<Vec<f64>, Error> {
        let (pair, uncertainty) = (self.pair(parameters), &self.setup.uncertainty);
        let predicted = directions.predict(self.readings, pair, self.setup, resolution)?;
        let mut differences = Vec::new();
        for (reading, predicted) in self.readings.iter().zip(predicted) {
            let values = predicted
                .values(uncertainty)
                .zip(reading.values(uncertainty));
            differences
                .extend(values.map(|(predicted, measured)| difference(&predicted, &measured)));
        }
        Ok(differences)
    }

    /// Differences in standard deviations.
    fn residuals(&self, parameters: &[f64], resolution: Resolution) -> Result<Vec<f64>, Error> {
        self.compare(
            parameters,
            self.directions,
            resolution,
            |predicted, measured| (predicted.measured - measured.measured) / measured.sigma,
        )
    }

    /// The best pair, and where the kind of data may have two answers the next best one, from the
    /// fits of a neighbouring wavelength or from none.
    pub(super) fn fits(&self, last: &[Fit]) -> Result<Vec<Fit>, Error> {
        let start = Start {
            parameters: Vec::new(),
            lower: LINEAR_BELOW.map(f64::ln).to_vec(),
            upper: GREATEST.map(f64::ln).to_vec(),
            jacobian: None,
        };
        let mut fits: Vec<Fit> = last
            .iter()
            .map(|fit| {
                self.run(Start {
                    parameters: fit.parameters.clone(),
                    jacobian: Some(fit.jacobian.clone()),
                    ..start.clone()
                })
            })
            .collect();
        let as_before =
            |(fit, last): (&Fit, &Fit)| fit.cost() < AS_BEFORE.0 * last.cost() + AS_BEFORE.1;
        let settled = fits
            .iter()
            .zip(last)
            .any(|it| it.0.converged && as_before(it));
        if !settled && !fits.iter().any(near) {
            for parameters in self.first_starts()? {
                fits.push(self.run(Start {
                    parameters,
                    ..start.clone()
                }));
                // Good enough; or the same place from another start, and no better one to be hoped for.
                let found = fits
                    .last()
                    .is_some_and(|it| near(it) || reached_before(it, &fits));
                if !self.may_have_two_answers() && found {
                    break;
                }
            }
        }
        fits.sort_by(|a, b| a.cost().total_cmp(&b.cost()));
        let best = fits.first().cloned();
        let best = best.ok_or_else(|| refusal("there is no start for the search"))?;
        let rival = fits.into_iter().find(|fit| {
            self.may_have_two_answers() && fit.converged && DISTINCT < apart(fit, &best)
        });
        Ok(std::iter::once(best).chain(rival).collect())
    }

    /// True for one kind of total alone, at several thicknesses: a little scattering with much
    /// absorption and the other way round can give the same two values.
    fn may_have_two_answers(&self) -> bool {
        let none =
            |of: fn(&Reading) -> Option<f64>| self.readings.iter().all(|it| of(it).is_none());
        none(|it| it.collimated_transmittance)
            && (none(|it| it.total_reflectance) || none(|it| it.total_transmittance))
    }

    fn run(&self, start: Start) -> Fit {
        // The values in range were checked; a model that fails all the same fits nothing.
        let uncertainty = &self.setup.uncertainty;
        let values = self
            .readings
            .iter()
            .map(|it| it.values(uncertainty).count());
        let count: usize = values.sum();
        let model = |resolution: Resolution| {
            move |parameters: &[f64]| {
                self.residuals(parameters, resolution)
                    .unwrap_or_else(|_| vec![f64::INFINITY; count])
            }
        };
        least_squares::fit_by(
            start,
            FIT,
            model(Resolution::standard()),
            Some(model(SLOPES)),
        )
    }

    /// The best points of a coarse net over all that plaques can be. Readings are compared by their odds,
    /// so that a thousandth against a hundredth counts as much as a tenth against a half.
    fn first_starts(&self) -> Result<impl Iterator<Item = Vec<f64>>, Error> {
        let net = |i: usize| {
            let (from, to) = (LINEAR_BELOW[i].ln(), GREATEST[i].ln());
            let steps = ((to - from) / std::f64::consts::LN_10 * START_PER_DECADE).ceil();
            (0..=steps as usize).map(move |k| from + (to - from) * k as f64 / steps)
        };
        let mut directions = Directions::default();
        directions.prepare(self.readings, self.setup, &[COARSE])?;
        let mut starts = Vec::new();
        for absorption in net(0) {
            for scattering in net(1) {
                let parameters = vec![absorption, scattering];
                let misses =
                    self.compare(&parameters, &directions, COARSE, |predicted, measured| {
                        predicted.log_odds() - measured.log_odds()
                    })?;
                let cost: f64 = misses.iter().map(|it| it * it).sum();
                starts.push((cost, parameters));
            }
        }
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(starts
            .into_iter()
            .take(STARTS)
            .map(|(_, parameters)| parameters))
    }

    /// Coefficients of a fit.
    pub(super) fn fitted(&self, fit: &Fit) -> Pair {
        self.pair(&fit.parameters)
    }

    /// Coefficients and standard errors of a fit.
    pub(super) fn estimate(&self, fit: &Fit) -> Estimate {
        let pair = self.pair(&fit.parameters);
        let covariance: Matrix = fit.covariance();
        let deviation = |i: usize| covariance.row(i)[i].abs().sqrt();
        let count = fit.residuals.len();
        let spare = count.saturating_sub(2).max(1);
        // dµ = (µ + δ/d) dp.
        let per_m = |i: usize| fit.parameters[i].exp() / self.thickness_m() * deviation(i);
        Estimate {
            pair,
            standard_error: Pair {
                mu_a_per_m: per_m(0),
                mu_s_reduced_per_m: per_m(1),
            },
            correlation: covariance.row(0)[1] / (deviation(0) * deviation(1)),
            misfit: (2.0 * fit.cost() / spare as f64).sqrt(),
            evaluations: fit.evaluations,
        }
    }
}

/// Largest difference of the parameters of two fits.
fn apart(a: &Fit, b: &Fit) -> f64 {
    let pairs = a.parameters.iter().zip(&b.parameters);
    pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

/// True for the last of `fits` where an earlier one ended in the same place.
fn reached_before(last: &Fit, fits: &[Fit]) -> bool {
    let earlier = &fits[..fits.len() - 1];
    let same = |it: &Fit| it.converged && apart(it, last) < DISTINCT;
    last.converged && earlier.iter().any(same)
}

/// True for a fit that reads what was measured.
fn near(fit: &Fit) -> bool {
    fit.converged && fit.residuals.iter().all(|it| it.abs() < FAR_OFF)
}
