//! Optical properties of one material, and the one place where their conventions are fixed.
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | n | `n` | refractive index, real | – |
//! | µa | `mu_a_per_m` | absorption coefficient, Napierian: I = I0 exp(−µa z) | 1/m |
//! | µs | `mu_s_per_m` | scattering coefficient (not reduced) | 1/m |
//! | g | `g` | mean cosine of the scattering angle | – |
//! | µs' | – | reduced scattering µs (1 − g) | 1/m |
//! | k | – | imaginary index; µa = 4πk/λ | – |

use crate::error::{Error, MaterialProblem};
use crate::material::provenance::{Sourced, Status};
use crate::material::spectrum::Spectrum;

/// Optical constants at one wavelength.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpticalConstants {
    /// Refractive index, real part.
    pub n: f64,
    /// Absorption coefficient, 1/m.
    pub mu_a_per_m: f64,
    /// Scattering coefficient, 1/m.
    pub mu_s_per_m: f64,
    /// Mean cosine of the scattering angle, −1 to 1.
    pub g: f64,
}

/// What the `absorption` of a material stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// True absorption; scattering stands beside it or is absent because the material is clear.
    Coefficients,
    /// Everything a beam loses, absorbed or scattered, from transmittance alone.
    EffectiveExtinction,
}

/// Optical properties of one material against wavelength.
#[derive(Clone, Debug, PartialEq)]
pub struct Optical {
    /// Refractive index.
    pub refractive_index: Sourced<Spectrum>,
    /// Absorption coefficient, 1/m; none where the card has no optical data.
    pub absorption: Option<Sourced<Spectrum>>,
    /// Scattering coefficient, 1/m; none for a clear material.
    pub scattering: Option<Sourced<Spectrum>>,
    /// Mean cosine of the scattering angle; none for a clear material.
    pub anisotropy: Option<Sourced<Spectrum>>,
    /// What `absorption` stands for.
    pub reading: Reading,
}

impl Optical {
    /// Constants at a wavelength; `material` names the card in messages.
    ///
    /// # Errors
    /// A spectrum does not reach the wavelength, or there is no absorption.
    pub fn at(&self, material: &str, wavelength_m: f64) -> Result<OpticalConstants, Error> {
        let value = |it: &Sourced<Spectrum>, quantity: &str| {
            it.value
                .at(&format!("{quantity} of {material}"), wavelength_m)
        };
        let absorption = self.absorption.as_ref().ok_or_else(|| {
            Error::new(MaterialProblem::Missing {
                material: material.into(),
                quantity: "absorption coefficient".into(),
            })
            .cure("give the part its plaque spectra (`spectra = \"file.csv\"`) or `absorption = \"0.05 /mm\"`")
        })?;
        let optional = |it: &Option<Sourced<Spectrum>>, quantity: &str| {
            it.as_ref().map_or(Ok(0.0), |it| value(it, quantity))
        };
        Ok(OpticalConstants {
            n: value(&self.refractive_index, "refractive index")?,
            mu_a_per_m: value(absorption, "absorption")?,
            mu_s_per_m: optional(&self.scattering, "scattering")?,
            g: optional(&self.anisotropy, "anisotropy")?,
        })
    }

    /// True where the material is said to scatter at all.
    pub fn scatters(&self) -> bool {
        self.scattering.is_some()
    }

    /// Wavelengths that every spectrum reaches, m; none where all are constants.
    pub fn range_m(&self) -> Option<(f64, f64)> {
        [
            Some(&self.refractive_index),
            self.absorption.as_ref(),
            self.scattering.as_ref(),
            self.anisotropy.as_ref(),
        ]
        .into_iter()
        .flatten()
        .filter_map(|it| it.value.range_m())
        .reduce(|a, b| (a.0.max(b.0), a.1.min(b.1)))
    }

    /// Each quantity with its source and status.
    pub fn provenances(&self) -> Vec<(&'static str, &str, Status)> {
        let named = [
            ("refractive index", Some(&self.refractive_index)),
            ("absorption", self.absorption.as_ref()),
            ("scattering", self.scattering.as_ref()),
            ("anisotropy", self.anisotropy.as_ref()),
        ];
        named
            .into_iter()
            .filter_map(|(name, it)| it.map(|it| (name, it.source.as_str(), it.status)))
            .collect()
    }
}

/// Absorption coefficient (1/m) of an imaginary index `k` at a wavelength.
///
/// ```
/// // PMMA near 1.94 µm, k = 3.73e-5: 0.242 1/mm (Zhang et al. 2020).
/// let mu_a = lightseam::material::optical::absorption_per_m(3.73e-5, 1.94e-6);
/// assert!((mu_a - 242.0).abs() < 1.0);
/// ```
pub fn absorption_per_m(k: f64, wavelength_m: f64) -> f64 {
    4.0 * std::f64::consts::PI * k / wavelength_m
}
