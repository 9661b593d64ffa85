//! Water taken up by a polymer, and the absorption it adds.
//!
//! ```text
//! µa = φ · µw(λ)        φ = w · ρ / ρw        µw = 4πk/λ of liquid water
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | w | `content` | mass fraction of water in the moist part | – |
//! | ρ | `density_kg_per_m3` | density of the part, taken as the card's | kg/m³ |
//! | ρw | [`WATER_DENSITY_KG_PER_M3`] | density of water at 25 °C | kg/m³ |
//! | φ | `volume_fraction` | share of the volume that is water | – |
//! | µw | `water_absorption` | absorption coefficient of liquid water at 25 °C | 1/m |
//!
//! Holds for: water that takes its own volume and absorbs as liquid water does, w up to 20 %,
//! 400 to 2000 nm (the table). Does not hold for: the exact shape of the bands near 1.45 and
//! 1.94 µm, since water bound to amide groups absorbs at another place by some 10 nm (from memory);
//! there the added absorption is known to some tens of percent. A moist part is also a little
//! thicker and its density a little other than the card's: below 2 % of µa for w up to 3 %.
//! Neither softening of a moist polyamide nor steam in the melt is modelled.
//!
//! Source: D. Segelstein (1981) for k of water, by way of the table in `spectra/water/`; density of
//! water 997.05 kg/m³ at 25 °C (handbook value, from memory). Checked in: `tests/moisture.rs`.

use crate::error::Error;
use crate::material::provenance::Sourced;
use crate::material::spectrum::Spectrum;

/// Density of water at 25 °C, kg/m³.
pub const WATER_DENSITY_KG_PER_M3: f64 = 997.05;

/// Shortest wavelength from which water absorbs enough that the moisture of a polyamide is a needed
/// input, m: each percent adds 0.01 1/mm or more in the bands from here on.
pub const NEEDED_FROM_M: f64 = 1.4e-6;

/// Water in a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Moisture {
    /// Mass fraction of water, 0 to 1.
    pub content: f64,
    /// Absorption coefficient of liquid water, 1/m.
    pub water_absorption: Sourced<Spectrum>,
}

impl Moisture {
    /// Share of the volume of a part of this density that is water.
    pub fn volume_fraction(&self, density_kg_per_m3: f64) -> f64 {
        self.content * density_kg_per_m3 / WATER_DENSITY_KG_PER_M3
    }

    /// Absorption coefficient that the water adds at a wavelength, 1/m.
    ///
    /// # Errors
    /// The table of water does not reach the wavelength.
    ///
    /// ```
    /// use lightseam::input::library;
    /// use lightseam::material::moisture::Moisture;
    ///
    /// // PA6 of 1130 kg/m³ with 2.5 wt% at 1940 nm: 12.37 1/mm · 0.0283 = 0.35 1/mm.
    /// let moisture = Moisture { content: 0.025, water_absorption: library::water()? };
    /// let added = moisture.absorption_per_m(1940e-9, 1130.0)?;
    /// assert!((added - 350.6).abs() < 0.5);
    /// # Ok::<(), lightseam::error::Error>(())
    /// ```
    pub fn absorption_per_m(
        &self,
        wavelength_m: f64,
        density_kg_per_m3: f64,
    ) -> Result<f64, Error> {
        let water = self
            .water_absorption
            .value
            .at("absorption of water", wavelength_m)
            .map_err(|it| {
                it.cure("leave `moisture` out, or choose a wavelength inside the table of water")
            })?;
        Ok(self.volume_fraction(density_kg_per_m3) * water)
    }
}
