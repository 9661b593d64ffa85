//! What is added to a part so that it absorbs: carbon black by content, or a measured absorption.
//!
//! ```text
//! µa = MAC(λ) · ρ · w        MAC(λ) = MAC(550 nm) · 550 nm / λ
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | MAC | `mass_absorption_m2_per_kg` | absorption cross-section per mass of carbon | m²/kg |
//! | ρ | `density_kg_per_m3` | density of the filled polymer, taken as the card's | kg/m³ |
//! | w | `content` | mass fraction of carbon black | – |
//!
//! Holds for: linear in content (read: Chen, Int. Polym. Process., doi 10.3139/217.2820), fine
//! dispersion. Does not hold for: coarse aggregates, which absorb less; the value is for carbon in
//! air, and a plastic around it may raise it by up to 1.8 (computed). Hence ±50 %.
//!
//! Source: T. C. Bond and R. W. Bergstrom, Aerosol Sci. Technol. 40 (2006) 27,
//! doi 10.1080/02786820500421521 (abstract read): 7.5 ± 1.2 m²/g at 550 nm.
//! Checked in: `tests/material.rs`.

use crate::error::Error;
use crate::material::provenance::Sourced;
use crate::material::spectrum::Spectrum;

/// Mass absorption cross-section of light-absorbing carbon at 550 nm, m²/kg.
pub const CARBON_MASS_ABSORPTION_M2_PER_KG: f64 = 7500.0;

/// Wavelength of [`CARBON_MASS_ABSORPTION_M2_PER_KG`], m.
pub const CARBON_REFERENCE_WAVELENGTH_M: f64 = 550e-9;

/// Relative standard uncertainty given to a slope that was not measured.
pub const CARBON_RELATIVE_UNCERTAINTY: f64 = 0.5;

/// An absorbing additive.
#[derive(Clone, Debug, PartialEq)]
pub enum Absorber {
    /// Carbon black by content.
    CarbonBlack {
        /// Mass fraction, 0 to 1.
        content: f64,
        /// Mass absorption cross-section at 550 nm, m²/kg.
        mass_absorption_m2_per_kg: Sourced<f64>,
    },
    /// A measured or stated absorption that is added to the polymer's own, 1/m.
    Added(Sourced<Spectrum>),
}

impl Absorber {
    /// Absorption coefficient added at a wavelength, 1/m.
    ///
    /// # Errors
    /// A measured absorption does not reach the wavelength.
    ///
    /// ```
    /// use lightseam::material::{Absorber, Sourced, Status, absorber};
    ///
    /// // 0.1 wt% in a polyamide of 1130 kg/m³ at 980 nm: 4.8 1/mm.
    /// let black = Absorber::CarbonBlack {
    ///     content: 0.001,
    ///     mass_absorption_m2_per_kg: Sourced::new(
    ///         absorber::CARBON_MASS_ABSORPTION_M2_PER_KG, "Bond and Bergstrom 2006", Status::Published),
    /// };
    /// let mu_a = black.absorption_per_m(980e-9, 1130.0)?;
    /// assert!((mu_a - 4756.0).abs() < 1.0);
    /// # Ok::<(), lightseam::error::Error>(())
    /// ```
    pub fn absorption_per_m(
        &self,
        wavelength_m: f64,
        density_kg_per_m3: f64,
    ) -> Result<f64, Error> {
        match self {
            Absorber::CarbonBlack {
                content,
                mass_absorption_m2_per_kg,
            } => Ok(
                mass_absorption_m2_per_kg.value * CARBON_REFERENCE_WAVELENGTH_M / wavelength_m
                    * density_kg_per_m3
                    * content,
            ),
            Absorber::Added(spectrum) => spectrum
                .value
                .at("absorption of the absorber", wavelength_m),
        }
    }
}
