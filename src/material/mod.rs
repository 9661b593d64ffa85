//! What the parts are made of: optical and thermal properties, each number with its provenance.

use crate::error::Error;

pub mod absorber;
pub mod compatibility;
pub mod damage;
pub mod expansion;
pub mod melt;
pub mod moisture;
pub mod optical;
pub mod plaque;
pub mod provenance;
pub mod spectrum;
pub mod thermal;

pub use absorber::Absorber;
pub use damage::Damage;
pub use expansion::Expansion;
pub use melt::Melt;
pub use moisture::Moisture;
pub use optical::{Optical, OpticalConstants};
pub use plaque::Plaque;
pub use provenance::{Sourced, Status};
pub use spectrum::Spectrum;
pub use thermal::Thermal;

/// How the polymer solidifies, which decides what its flow temperature means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Melts: flows above the end of melting.
    Semicrystalline,
    /// Softens: flows at a stated offset above the glass transition.
    Amorphous,
    /// Stays solid: glass or metal of a clamp plate.
    Rigid,
}

/// Temperature at which no polymer is left, °C: above it no figure is printed.
pub const NO_POLYMER_C: f64 = 2000.0;

/// One material card.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Short name the card is called by, such as `pa6`.
    pub id: String,
    /// Name in words, such as `PA6, natural`.
    pub name: String,
    /// How it solidifies.
    pub kind: Kind,
    /// Optical properties against wavelength.
    pub optical: Optical,
    /// Thermal properties against temperature.
    pub thermal: Thermal,
    /// Thermal damage, where kinetics are published.
    pub damage: Option<Damage>,
    /// Onset of decomposition on slow heating, K: a stand-in where no kinetics are published.
    pub decomposition_k: Option<Sourced<f64>>,
    /// Flow and healing of the melt, where the card says them.
    pub melt: Melt,
    /// How it swells with heat, where published.
    pub expansion: Option<Expansion>,
    /// Mass fraction of water at saturation, where the card says it.
    pub saturation_moisture: Option<Sourced<f64>>,
    /// What the fume of the overheated polymer contains.
    pub fume: Option<Sourced<String>>,
    /// Remarks a reader of the card should see.
    pub notes: Vec<String>,
}

impl Material {
    /// Every number of the card as quantity and provenance, in card order.
    pub fn provenances(&self) -> Vec<(&'static str, &str, Status)> {
        let mut all = self.optical.provenances();
        all.extend(self.thermal.provenances());
        if let Some(damage) = &self.damage {
            all.extend(damage.provenances());
        } else if let Some(onset) = &self.decomposition_k {
            all.push(("decomposition onset", &onset.source, onset.status));
        }
        all.extend(self.melt.provenances());
        all.extend(self.expansion.iter().flat_map(Expansion::provenances));
        all
    }

    /// True where the material takes up so much water that its moisture is an input: its card says
    /// so, or it is a polyamide by its short name (`pa6`, `pa66-gf33`).
    pub fn takes_up_water(&self) -> bool {
        let polyamide = self
            .id
            .strip_prefix("pa")
            .is_some_and(|rest| rest.starts_with(|it: char| it.is_ascii_digit()));
        self.saturation_moisture.is_some() || polyamide
    }

    /// Optical constants at a wavelength.
    ///
    /// # Errors
    /// A spectrum does not reach the wavelength, or the card has no absorption.
    pub fn optical_at(&self, wavelength_m: f64) -> Result<OpticalConstants, Error> {
        self.optical.at(&self.name, wavelength_m)
    }
}
