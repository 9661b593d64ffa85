//! From plaque transmittance to one effective extinction, surface loss taken off.
//!
//! A plaque with smooth faces in air, light at normal incidence, all reflections added up:
//!
//! ```text
//! T(d) = (1 − r)² t / (1 − r² t²),   t = exp(−µ d),   r = ((n − 1) / (n + 1))²
//! t = 2 T / ( (1 − r)² + sqrt( (1 − r)⁴ + 4 r² T² ) )      the same, solved for t
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | T | `transmittance` | transmitted share of the incident light | – |
//! | d | `thickness_m` | plaque thickness | m |
//! | µ | `mu_per_m` | effective extinction: absorption, and scattering as far as it loses light | 1/m |
//! | n, r | `n`, – | refractive index and Fresnel reflectance of one face | – |
//!
//! One thickness gives µ exactly; several give the µ of least weighted squares at each wavelength,
//! and what is left over shows how far one µ describes the plaques.
//!
//! Holds for: clear grades, where µ is the absorption. In a scattering grade T(d) is no exponential
//! (Hamp, Logan and Shaw, Appl. Opt. 60 (2021) 6573, abstract), µ depends on thickness, and what
//! scatters back is counted as absorbed: then measure R as well.
//!
//! Source: closed form as in `optics::beer_lambert`. Checked in: `tests/optics/plaque.rs` against
//! `fresnel-slab.csv` and against `beer_lambert`.

use crate::error::{Error, MaterialProblem, OpticsProblem};
use crate::material::optical::Reading;
use crate::material::{Optical, Plaque, Sourced, Spectrum, Status};
use crate::optics::fresnel::{Boundary, reflectance};
use crate::units::NM;

/// Standard uncertainty of a transmittance near zero: dark level of a sphere spectrometer, taken as
/// 0.2 % of the incident light (common practice).
pub const DARK_UNCERTAINTY: f64 = 0.002;

/// Relative standard uncertainty of a transmittance that does not state its own (common practice).
pub const PHOTOMETRIC_UNCERTAINTY: f64 = 0.01;

/// Least transmittance read as a signal; below it the extinction is only known to be at least so.
pub const DARK_LEVEL: f64 = 1e-4;

/// A transmittance this many times what the faces let through is a fault, not noise.
const FAR_ABOVE: f64 = 1.05;

/// Transmittance of a slab of index `n` in air at normal incidence.
///
/// ```
/// use lightseam::optics::plaque::slab_transmittance;
///
/// // PMMA, 2 mm, 808 nm, k = 9.104e-8: 0.9238442 by tmm 0.2.0 (n printed to 1e-5, hence the tolerance).
/// let mu_per_m = lightseam::material::optical::absorption_per_m(9.104e-8, 808e-9);
/// assert!((slab_transmittance(1.4856, mu_per_m, 2e-3) - 0.9238442).abs() < 1e-6);
/// // Index 1: nothing is reflected and the decay is a plain exponential.
/// assert!((slab_transmittance(1.0, 300.0, 2e-3) - (-0.6f64).exp()).abs() < 1e-15);
/// ```
pub fn slab_transmittance(n: f64, mu_per_m: f64, thickness_m: f64) -> f64 {
    let r = face(n);
    let t = (-mu_per_m * thickness_m).exp();
    (1.0 - r).powi(2) * t / (1.0 - (r * t).powi(2))
}

/// Extinction (1/m) of a slab of index `n` in air that transmits `transmittance`; negative where
/// more than a clear slab lets through.
///
/// ```
/// use lightseam::optics::plaque::{slab_extinction_per_m, slab_transmittance};
///
/// let t = slab_transmittance(1.53, 700.0, 1.5e-3);
/// assert!((slab_extinction_per_m(1.53, t, 1.5e-3) - 700.0).abs() < 1e-9);
/// ```
pub fn slab_extinction_per_m(n: f64, transmittance: f64, thickness_m: f64) -> f64 {
    let r = face(n);
    let outside = (1.0 - r).powi(2);
    let t = 2.0 * transmittance / (outside + outside.hypot(2.0 * r * transmittance));
    -t.ln() / thickness_m
}

fn face(n: f64) -> f64 {
    reflectance(
        Boundary {
            n_from: 1.0,
            n_into: n,
        },
        1.0,
    )
}

/// How well one extinction describes the plaques at one wavelength.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// Wavelength, m.
    pub wavelength_m: f64,
    /// Largest difference of measured and computed transmittance, absolute.
    pub largest: f64,
    /// Root mean square of the differences.
    pub rms: f64,
    /// Standard uncertainty of the extinction, 1/m, photometric and from the misfit.
    pub standard_uncertainty_per_m: f64,
    /// A plaque transmits more than its faces allow.
    pub above_faces: bool,
    /// A plaque transmits too little to tell: the extinction is at least the value given.
    pub below_dark_level: bool,
}

/// Effective extinction against wavelength, with its misfit.
#[derive(Clone, Debug, PartialEq)]
pub struct EffectiveExtinction {
    /// Extinction, 1/m.
    pub absorption: Spectrum,
    /// One entry for each wavelength.
    pub residual: Vec<Residual>,
    /// Number of different thicknesses the values rest on.
    pub thicknesses: usize,
}

impl EffectiveExtinction {
    /// Largest misfit over all wavelengths, absolute transmittance.
    pub fn largest_residual(&self) -> f64 {
        self.residual
            .iter()
            .fold(0.0, |most, it| it.largest.max(most))
    }

    /// Root mean square misfit over all wavelengths.
    pub fn rms_residual(&self) -> f64 {
        let sum: f64 = self.residual.iter().map(|it| it.rms * it.rms).sum();
        (sum / self.residual.len().max(1) as f64).sqrt()
    }

    /// As optical properties, marked as an effective extinction.
    pub fn into_optical(self, refractive_index: Sourced<Spectrum>, source: &str) -> Optical {
        Optical {
            refractive_index,
            absorption: Some(Sourced::new(self.absorption, source, Status::Measured)),
            scattering: None,
            anisotropy: None,
            reading: Reading::EffectiveExtinction,
        }
    }
}

/// Effective extinction of plaques of one material, of one or several thicknesses.
///
/// Wavelengths are those of the plaque with most entries, inside the range common to all plaques
/// and to the refractive index.
///
/// # Errors
/// No plaque, no common range, or a transmittance far above what the faces allow.
pub fn effective_extinction(
    plaques: &[Plaque],
    refractive_index: &Spectrum,
) -> Result<EffectiveExtinction, Error> {
    let measured: Vec<&Spectrum> = plaques.iter().map(|it| &it.transmittance).collect();
    let grid = common_grid(&measured, refractive_index)?;
    let mut extinction = Vec::with_capacity(grid.len());
    let mut residual = Vec::with_capacity(grid.len());
    for &wavelength_m in &grid {
        let n = refractive_index.at("refractive index", wavelength_m)?;
        let readings = plaques
            .iter()
            .map(|plaque| AtWavelength::of(plaque, n, wavelength_m))
            .collect::<Result<Vec<_>, Error>>()?;
        let (mu_per_m, row) = fit(n, wavelength_m, &readings);
        extinction.push(mu_per_m);
        residual.push(row);
    }
    let mut absorption = Spectrum::table("extinction", grid, extinction.clone())?;
    absorption.relative_uncertainty = median_ratio(&residual, &extinction);
    let mut thicknesses: Vec<f64> = plaques.iter().map(|it| it.thickness_m).collect();
    thicknesses.sort_by(f64::total_cmp);
    thicknesses.dedup_by(|a, b| (*a - *b).abs() < 1e-3 * *b);
    Ok(EffectiveExtinction {
        absorption,
        residual,
        thicknesses: thicknesses.len(),
    })
}

/// One plaque at one wavelength.
struct AtWavelength {
    thickness_m: f64,
    transmittance: f64,
    standard_uncertainty: f64,
    above_faces: bool,
    below_dark_level: bool,
}

impl AtWavelength {
    fn of(plaque: &Plaque, n: f64, wavelength_m: f64) -> Result<Self, Error> {
        let measured = plaque.transmittance.at("transmittance", wavelength_m)?;
        let most = slab_transmittance(n, 0.0, plaque.thickness_m);
        if FAR_ABOVE * most < measured {
            return Err(Error::new(OpticsProblem::NoInverse {
                what: format!(
                    "a transmittance of {:.1} % of plaque \"{}\" (faces of index {n:.2} let {:.1} % through)",
                    100.0 * measured,
                    plaque.name,
                    100.0 * most
                ),
                wavelength_nm: wavelength_m / NM,
            })
            .cure(
                "check the instrument's 100 % line and the refractive index; surface loss must not \
                 have been taken off already",
            ));
        }
        let relative = plaque
            .transmittance
            .relative_uncertainty
            .unwrap_or(PHOTOMETRIC_UNCERTAINTY);
        Ok(AtWavelength {
            thickness_m: plaque.thickness_m,
            transmittance: measured,
            standard_uncertainty: DARK_UNCERTAINTY.hypot(relative * measured),
            above_faces: most < measured,
            below_dark_level: measured < DARK_LEVEL,
        })
    }

    /// Extinction of this plaque alone, 1/m, never below zero.
    fn alone_per_m(&self, n: f64) -> f64 {
        slab_extinction_per_m(n, self.transmittance.max(DARK_LEVEL), self.thickness_m).max(0.0)
    }

    /// Computed transmittance and its slope against µ.
    fn model(&self, n: f64, mu_per_m: f64) -> (f64, f64) {
        let r = face(n);
        let t = (-mu_per_m * self.thickness_m).exp();
        let back = (r * t).powi(2);
        let value = (1.0 - r).powi(2) * t / (1.0 - back);
        (
            value,
            -self.thickness_m * value * (1.0 + back) / (1.0 - back),
        )
    }
}

/// The extinction of least weighted squares. Every plaque alone puts it between the smallest and the
/// largest value of all plaques, and there the slope of the sum changes sign.
fn fit(n: f64, wavelength_m: f64, readings: &[AtWavelength]) -> (f64, Residual) {
    let alone: Vec<f64> = readings.iter().map(|it| it.alone_per_m(n)).collect();
    let mut low = alone.iter().copied().fold(f64::INFINITY, f64::min);
    let mut high = alone.iter().copied().fold(0.0, f64::max);
    let slope = |mu: f64| -> f64 {
        readings
            .iter()
            .map(|it| {
                let (value, slope) = it.model(n, mu);
                (value - it.transmittance) * slope / it.standard_uncertainty.powi(2)
            })
            .sum()
    };
    while 1e-12 * high < high - low {
        let middle = 0.5 * (low + high);
        if middle <= low || high <= middle {
            break;
        }
        if slope(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let mu_per_m = 0.5 * (low + high);
    (mu_per_m, misfit(n, wavelength_m, mu_per_m, readings))
}

fn misfit(n: f64, wavelength_m: f64, mu_per_m: f64, readings: &[AtWavelength]) -> Residual {
    let (mut largest, mut squares, mut chi_square, mut information) = (0.0f64, 0.0, 0.0, 0.0);
    for it in readings {
        let (value, slope) = it.model(n, mu_per_m);
        let difference = it.transmittance - value;
        largest = largest.max(difference.abs());
        squares += difference * difference;
        chi_square += (difference / it.standard_uncertainty).powi(2);
        information += (slope / it.standard_uncertainty).powi(2);
    }
    let count = readings.len() as f64;
    let spread = if 1 < readings.len() {
        (chi_square / (count - 1.0)).sqrt().max(1.0)
    } else {
        1.0
    };
    Residual {
        wavelength_m,
        largest,
        rms: (squares / count).sqrt(),
        standard_uncertainty_per_m: spread / information.sqrt(),
        above_faces: readings.iter().any(|it| it.above_faces),
        below_dark_level: readings.iter().any(|it| it.below_dark_level),
    }
}

/// Median over the wavelengths of uncertainty over value, as one figure for the whole spectrum.
fn median_ratio(residual: &[Residual], extinction_per_m: &[f64]) -> Option<f64> {
    let mut ratios: Vec<f64> = residual
        .iter()
        .zip(extinction_per_m)
        .filter(|(_, mu)| 0.0 < **mu)
        .map(|(it, mu)| it.standard_uncertainty_per_m / mu)
        .filter(|it| it.is_finite())
        .collect();
    ratios.sort_by(f64::total_cmp);
    ratios.get(ratios.len() / 2).copied()
}

/// Wavelengths of the finest of `spectra`, inside the range common to all and to `index`, m.
///
/// # Errors
/// The ranges do not overlap.
pub fn common_grid(spectra: &[&Spectrum], index: &Spectrum) -> Result<Vec<f64>, Error> {
    let ranges = spectra
        .iter()
        .filter_map(|it| it.range_m())
        .chain(index.range_m());
    let (from, to) = ranges.fold((0.0f64, f64::INFINITY), |(from, to), it| {
        (from.max(it.0), to.min(it.1))
    });
    let grid: Vec<f64> = spectra
        .iter()
        .map(|it| it.points())
        .max_by_key(Vec::len)
        .unwrap_or_default()
        .into_iter()
        .map(|(wavelength_m, _)| wavelength_m)
        .filter(|it| from <= *it && *it <= to)
        .collect();
    if grid.len() < 2 {
        return Err(Error::new(MaterialProblem::TooShort {
            quantity: "common wavelengths of the plaques".into(),
            entries: grid.len(),
            needed: 2,
        })
        .cure("measure all plaques over the same wavelengths"));
    }
    Ok(grid)
}
