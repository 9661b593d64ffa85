//! Plaque measurements to absorption and scattering: inverse adding-doubling.
//!
//! At each wavelength the coefficients are sought whose slab reads what was measured, weighted with
//! the photometric uncertainty of the instrument:
//!
//! ```text
//! minimise Σ ((read(µa, µs') − measured) / σ)²,      covariance = (JᵀJ)⁻¹
//! ```
//!
//! Any two or more values serve: total T and R of one plaque; total and collimated T; total T of
//! plaques of different thickness (which may have two answers, and then says so). One T alone cannot
//! tell two coefficients and is refused.
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | µa | `mu_a_per_m` | absorption coefficient | 1/m |
//! | µs' | `mu_s_reduced_per_m` | reduced scattering coefficient µs (1 − g) | 1/m |
//! | g | `Setup::g` | asymmetry, assumed: totals hardly depend on it at fixed µs' | – |
//! | σ | `Uncertainty` | standard deviation of one reading, absolute | – |
//! | J | – | derivatives of the readings in units of σ | – |
//!
//! Where the data cannot tell, the wavelength is marked and nothing is filled in: values missing or
//! impossible, no pair that reads them, a coefficient less than two of its standard errors.
//!
//! Holds for: plaques wide against their thickness, smooth faces, errors of the readings independent
//! and normal. Not in the standard errors: errors of thickness, index, g, sphere, flatness; the
//! truncation error of the forward model (below 3e-4 up to g = 0.9). Derivatives are taken at a lower
//! resolution, so that standard errors are within 2 % of their own. A collimated reading that takes
//! in some forward-scattered light makes µs' too small.
//!
//! Source: S. A. Prahl, M. J. C. van Gemert and A. J. Welch, Appl. Opt. 32 (1993) 559 (from memory).
//! Checked in: `tests/optics/invert.rs` (another library's values, coverage of the intervals).

use rayon::prelude::*;

use crate::error::Error;
use crate::numerics::least_squares::Fit;

pub mod reading;

mod refusal;

mod search;

use reading::Directions;
pub use reading::{Pair, Reading, Setup, Sphere, Uncertainty, predict};
use search::Problem;

/// A pair with its standard errors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Best coefficients.
    pub pair: Pair,
    /// Standard errors of both, 1/m.
    pub standard_error: Pair,
    /// Correlation of the two errors, −1 to 1.
    pub correlation: f64,
    /// Root mean square of the misfits in standard deviations; 0 where two values fit two unknowns.
    pub misfit: f64,
    /// Calls of the forward model for all plaques.
    pub evaluations: usize,
}

/// Why a wavelength gives no pair of coefficients.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// Fewer than two values at this wavelength.
    Missing,
    /// A value below 0 or above 1, or R + T above 1, by more than three standard deviations.
    Unphysical,
    /// The best pair misses a value by more than four standard deviations.
    NotReproduced,
    /// Absorption is less than two of its standard errors.
    AbsorptionInNoise {
        /// Value plus two standard errors, 1/m.
        below_per_m: f64,
    },
    /// Reduced scattering is less than two of its standard errors.
    ScatteringInNoise {
        /// Value plus two standard errors, 1/m.
        below_per_m: f64,
    },
    /// Another pair reads the same within two standard deviations; happens with transmittances of
    /// several thicknesses alone.
    TwoAnswers {
        /// The other pair.
        other: Pair,
    },
    /// Both coefficients are less than two of their standard errors.
    Insensitive,
}

/// Outcome at one wavelength.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Inverse {
    /// Both coefficients.
    Found(Estimate),
    /// The data cannot tell.
    Undetermined {
        /// Why.
        why: Why,
        /// The fit as it stands, to look at and not to use; none where nothing was fitted.
        best: Option<Estimate>,
    },
}

impl Inverse {
    /// The estimate, where both coefficients are told.
    pub fn found(&self) -> Option<&Estimate> {
        match self {
            Inverse::Found(estimate) => Some(estimate),
            Inverse::Undetermined { .. } => None,
        }
    }
}

/// Most wavelengths that hand their result on as start of the next; each chunk starts afresh, so that
/// the result does not depend on how chunks are shared among threads. Chunks are of equal length, to
/// keep all cores at work to the end.
const CHUNK: usize = 50;

/// Half a sum of squares by which a second answer must be worse to be ruled out.
const AMBIGUOUS: f64 = 2.0;

/// Inverts the readings of one wavelength.
///
/// # Errors
/// The kind of data cannot tell two coefficients, whatever the values; or thickness, index, g,
/// uncertainty or sphere are out of range.
pub fn invert(readings: &[Reading], setup: &Setup) -> Result<Inverse, Error> {
    let one = [readings.to_vec()];
    let all = invert_spectrum(&one, setup)?;
    all.into_iter()
        .next()
        .ok_or_else(|| refusal::refusal("there is no reading"))
}

/// Inverts a spectrum: the readings of all plaques at each wavelength, in order. A value that is not
/// a number counts as missing.
///
/// # Errors
/// As [`invert`].
pub fn invert_spectrum(spectrum: &[Vec<Reading>], setup: &Setup) -> Result<Vec<Inverse>, Error> {
    refusal::check(spectrum, setup)?;
    let chunks = spectrum.len().div_ceil(CHUNK).max(1);
    let length = spectrum.len().div_ceil(chunks).max(1);
    let chunks: Result<Vec<Vec<Inverse>>, Error> = spectrum
        .par_chunks(length)
        .map(|chunk| {
            let mut last = Vec::new();
            let mut directions = Directions::default();
            chunk
                .iter()
                .map(|readings| invert_one(readings, setup, &mut last, &mut directions))
                .collect()
        })
        .collect();
    Ok(chunks?.into_iter().flatten().collect())
}

fn invert_one(
    readings: &[Reading],
    setup: &Setup,
    last: &mut Vec<Fit>,
    directions: &mut Directions,
) -> Result<Inverse, Error> {
    let readings: Vec<Reading> = readings.iter().map(Reading::usable).collect();
    let marked = |why| Ok(Inverse::Undetermined { why, best: None });
    if refusal::cannot_tell(&readings).is_some() {
        return marked(Why::Missing);
    }
    if readings.iter().any(|it| refusal::impossible(it, setup)) {
        return marked(Why::Unphysical);
    }
    directions.prepare(&readings, setup, &search::RESOLUTIONS)?;
    let problem = Problem {
        readings: &readings,
        setup,
        directions,
    };
    let fits = problem.fits(last)?;
    let fit = &fits[0];
    let rival = fits.get(1).filter(|it| it.cost() - fit.cost() < AMBIGUOUS);
    let outcome = match (rival, judge(problem.estimate(fit), fit)) {
        (Some(rival), Inverse::Found(estimate)) => Inverse::Undetermined {
            why: Why::TwoAnswers {
                other: problem.fitted(rival),
            },
            best: Some(estimate),
        },
        (_, outcome) => outcome,
    };
    *last = fits;
    last.retain(|it| it.converged);
    Ok(outcome)
}

/// Marks what the data cannot tell.
fn judge(estimate: Estimate, fit: &Fit) -> Inverse {
    let Estimate {
        pair,
        standard_error,
        ..
    } = estimate;
    let in_noise = |value: f64, error: f64| error.is_nan() || value < 2.0 * error;
    let absorption = in_noise(pair.mu_a_per_m, standard_error.mu_a_per_m);
    let scattering = in_noise(pair.mu_s_reduced_per_m, standard_error.mu_s_reduced_per_m);
    let missed = fit.residuals.iter().any(|it| 4.0 < it.abs());
    let why = if missed || !fit.converged {
        Why::NotReproduced
    } else {
        match (absorption, scattering) {
            (false, false) => return Inverse::Found(estimate),
            (true, false) => Why::AbsorptionInNoise {
                below_per_m: pair.mu_a_per_m + 2.0 * standard_error.mu_a_per_m,
            },
            (false, true) => Why::ScatteringInNoise {
                below_per_m: pair.mu_s_reduced_per_m + 2.0 * standard_error.mu_s_reduced_per_m,
            },
            (true, true) => Why::Insensitive,
        }
    };
    Inverse::Undetermined {
        why,
        best: Some(estimate),
    }
}
