//! What an instrument would read on a plaque of given coefficients.
//!
//! ```text
//! R_read = (s R_u + (1 − p) (R − R_u)) / ρ      T_read = T_u + (1 − p) (T − T_u)
//! C_read = T_u
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | R, T | – | total reflectance and transmittance of the plaque in air, by `plaque_modes` | – |
//! | R_u, T_u | – | the parts of them that were never scattered | – |
//! | s | `specular_included` | 1 where the specular beam stays in the sphere, else 0 | – |
//! | p | `port_loss` | share of scattered light that misses the sphere at its port | – |
//! | ρ | `reference_reflectance` | reflectance of the reference plaque that was read as 100 % | – |
//!
//! Holds for: double-beam or substitution-corrected spheres. Does not hold for: a single-beam sphere
//! whose wall brightness changes with the sample, where the error goes with R itself; light that
//! leaves through the edge of the plaque beyond the share p.
//!
//! Source: our own simplification of the single-sphere formulae of J. W. Pickering et al., Appl.
//! Opt. 32 (1993) 399 (from memory). Checked in: `tests/optics/invert.rs`.

use crate::error::Error;
use crate::material::optical::OpticalConstants;
use crate::optics::adding_doubling::{Modes, Ordinates, Resolution, Totals};

/// One plaque at one wavelength: shares of the incident light, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Refractive index.
    pub n: f64,
    /// Transmittance by sphere.
    pub total_transmittance: Option<f64>,
    /// Reflectance by sphere.
    pub total_reflectance: Option<f64>,
    /// Transmittance of the beam alone.
    pub collimated_transmittance: Option<f64>,
}

/// Standard deviation of a reading, absolute (0.003 is 0.3 % of the incident light).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Of total transmittance.
    pub transmittance: f64,
    /// Of total reflectance.
    pub reflectance: f64,
    /// Of collimated transmittance.
    pub collimated: f64,
}

/// What is the same at all wavelengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setup {
    /// Asymmetry assumed.
    pub g: f64,
    /// Photometric uncertainty.
    pub uncertainty: Uncertainty,
    /// How the sphere collects.
    pub sphere: Sphere,
}

/// How the integrating sphere collects.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sphere {
    /// Share of scattered light that misses the sphere at its port, 0 to below 1.
    pub port_loss: f64,
    /// True where total reflectance includes the specular beam (8°/d), as ISO 26723 asks.
    pub specular_included: bool,
    /// Reflectance of the reference plaque that was read as 100 %; 1 for absolute values.
    pub reference_reflectance: f64,
}

impl Sphere {
    /// Collects all light and reads absolute values.
    pub fn ideal() -> Self {
        Sphere {
            port_loss: 0.0,
            specular_included: true,
            reference_reflectance: 1.0,
        }
    }
}

/// Absorption and reduced scattering coefficients, 1/m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Absorption coefficient, 1/m.
    pub mu_a_per_m: f64,
    /// Reduced scattering coefficient µs (1 − g), 1/m.
    pub mu_s_reduced_per_m: f64,
}

impl Pair {
    /// Optical constants of this pair with an index and an anisotropy below one.
    pub fn constants(&self, n: f64, g: f64) -> OpticalConstants {
        OpticalConstants {
            n,
            mu_a_per_m: self.mu_a_per_m,
            mu_s_per_m: self.mu_s_reduced_per_m / (1.0 - g),
            g,
        }
    }
}

/// One value that was measured.
pub(super) struct Value {
    pub(super) measured: f64,
    pub(super) sigma: f64,
}

impl Value {
    /// ln (v / (1 − v)), no further out than the uncertainty reaches.
    pub(super) fn log_odds(&self) -> f64 {
        let inside = self.measured.clamp(self.sigma, 1.0 - self.sigma);
        (inside / (1.0 - inside)).ln()
    }
}

impl Reading {
    /// The values of the reading, in a fixed order.
    pub(super) fn values(&self, uncertainty: &Uncertainty) -> impl Iterator<Item = Value> + use<> {
        [
            (self.total_transmittance, uncertainty.transmittance),
            (self.total_reflectance, uncertainty.reflectance),
            (self.collimated_transmittance, uncertainty.collimated),
        ]
        .into_iter()
        .filter_map(|(measured, sigma)| {
            Some(Value {
                measured: measured?,
                sigma,
            })
        })
    }

    /// The reading without values that are not numbers.
    pub(super) fn usable(&self) -> Reading {
        let number = |it: Option<f64>| it.filter(|it| it.is_finite());
        Reading {
            total_transmittance: number(self.total_transmittance),
            total_reflectance: number(self.total_reflectance),
            collimated_transmittance: number(self.collimated_transmittance),
            ..*self
        }
    }
}

/// Directions for plaques of the indices in use, kept from one call of the model to the next.
#[derive(Clone, Debug, Default)]
pub(super) struct Directions(Vec<Ordinates>);

impl Directions {
    /// Those of `readings` at each resolution, others dropped.
    pub(super) fn prepare(
        &mut self,
        readings: &[Reading],
        setup: &Setup,
        resolutions: &[Resolution],
    ) -> Result<(), Error> {
        let wanted = |it: &Ordinates| {
            let mut all = readings.iter().flat_map(|reading| {
                let same = move |at: &&Resolution| it.are_for(reading.n, setup.g, **at);
                resolutions.iter().filter(same)
            });
            all.next().is_some()
        };
        self.0.retain(wanted);
        for reading in readings {
            for &resolution in resolutions {
                if self.of(reading, setup, resolution).is_none() {
                    self.0.push(Ordinates::new(reading.n, setup.g, resolution)?);
                }
            }
        }
        Ok(())
    }

    fn of(&self, reading: &Reading, setup: &Setup, resolution: Resolution) -> Option<&Ordinates> {
        let mut all = self.0.iter();
        all.find(|it| it.are_for(reading.n, setup.g, resolution))
    }

    /// As [`predict`], for plaques of one material; plaques of one index share their modes.
    pub(super) fn predict(
        &self,
        readings: &[Reading],
        pair: Pair,
        setup: &Setup,
        resolution: Resolution,
    ) -> Result<Vec<Reading>, Error> {
        let mut modes: Option<(f64, Modes)> = None;
        let mut predicted = Vec::with_capacity(readings.len());
        for reading in readings {
            let Some(ordinates) = self.of(reading, setup, resolution) else {
                predicted.push(predict(reading, pair, setup, resolution)?);
                continue;
            };
            if modes.as_ref().is_none_or(|it| it.0 != reading.n) {
                modes = Some((reading.n, modes_of(ordinates, pair)));
            }
            if let Some((_, modes)) = &modes {
                predicted.push(read(reading, setup, modes.totals(reading.thickness_m)?));
            }
        }
        Ok(predicted)
    }
}

fn modes_of(ordinates: &Ordinates, pair: Pair) -> Modes<'_> {
    let (n, g) = ordinates.material();
    let constants = pair.constants(n, g);
    ordinates.modes(constants.mu_a_per_m, constants.mu_s_per_m)
}

/// The reading with every value that was measured replaced by what a plaque of coefficients `pair`
/// would give.
///
/// # Errors
/// Index, g or thickness out of range.
pub fn predict(
    reading: &Reading,
    pair: Pair,
    setup: &Setup,
    resolution: Resolution,
) -> Result<Reading, Error> {
    let ordinates = Ordinates::new(reading.n, setup.g, resolution)?;
    let totals = modes_of(&ordinates, pair).totals(reading.thickness_m)?;
    Ok(read(reading, setup, totals))
}

/// What the instrument makes of the light that leaves a plaque.
fn read(reading: &Reading, setup: &Setup, totals: Totals) -> Reading {
    let Totals {
        reflected,
        transmitted,
        reflected_unscattered,
        transmitted_unscattered,
    } = totals;
    let sphere = &setup.sphere;
    let kept = 1.0 - sphere.port_loss;
    let specular = if sphere.specular_included {
        reflected_unscattered
    } else {
        0.0
    };
    let reflectance =
        (specular + kept * (reflected - reflected_unscattered)) / sphere.reference_reflectance;
    let transmittance = transmitted_unscattered + kept * (transmitted - transmitted_unscattered);
    Reading {
        total_transmittance: reading.total_transmittance.map(|_| transmittance),
        total_reflectance: reading.total_reflectance.map(|_| reflectance),
        collimated_transmittance: reading
            .collimated_transmittance
            .map(|_| transmitted_unscattered),
        ..*reading
    }
}
