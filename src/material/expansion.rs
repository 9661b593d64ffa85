//! How much a polymer swells when it is heated: specific volume, and how a wide layer turns it into height.
//!
//! ```text
//! e(T)  =  v(T) / v(T_0) − 1                           volume strain
//! ε(T)  =  c e                                         strain through a layer held on all sides
//! c     =  (1 + ν) / (3 (1 − ν)) solid,  1 molten      between softening and flow: linear in T
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | v | `specific_volume_m3_per_kg` | specific volume at rest and air pressure | m³/kg |
//! | ν | `poisson_ratio` | Poisson's ratio of the solid | – |
//! | T_0 | `start_k` | temperature at which the part has its size | K |
//!
//! A heated layer that cannot widen bulges: an elastic one by (1 + ν)/(1 − ν) times its linear
//! expansion (e/3), a molten one, which bears no shear, by its whole volume strain.
//!
//! Holds for: layers thin against the width of the seam, at air pressure. Does not hold for: parts
//! that have orientation or moulded-in stress to release, bubbles (water, decomposition), which
//! swell more; melt that is pushed in from a hotter place beside.
//!
//! Source: plane strain in two directions, S. P. Timoshenko and J. N. Goodier, *Theory of
//! Elasticity*, ch. 13 (from memory). Checked in: `tests/heat/closure.rs`.

use crate::material::provenance::{Sourced, Status};
use crate::material::thermal::Thermal;
use crate::numerics::interpolate::PiecewiseLinear;

/// Swelling as a card knows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Expansion {
    /// Specific volume against temperature in K, m³/kg, melting included.
    pub specific_volume_m3_per_kg: Sourced<PiecewiseLinear>,
    /// Poisson's ratio of the solid, 0 to 0.5.
    pub poisson_ratio: Sourced<f64>,
}

impl Expansion {
    /// Each quantity with its source and status.
    pub fn provenances(&self) -> Vec<(&'static str, &str, Status)> {
        let (volume, ratio) = (&self.specific_volume_m3_per_kg, &self.poisson_ratio);
        vec![
            ("specific volume", volume.source.as_str(), volume.status),
            ("Poisson's ratio", ratio.source.as_str(), ratio.status),
        ]
    }

    /// The swelling of a wide layer that has its size at `start_k`.
    pub fn swelling(&self, thermal: &Thermal, start_k: f64) -> Swelling {
        let volume = self.specific_volume_m3_per_kg.value.clone();
        let ratio = self.poisson_ratio.value;
        Swelling {
            start_m3_per_kg: volume.at(start_k),
            volume,
            solid: (1.0 + ratio) / (3.0 * (1.0 - ratio)),
            soft_k: thermal.surface_temperature_k.value,
            flow_k: thermal.flow_temperature_k.value,
        }
    }
}

/// Strain through a wide layer against temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Swelling {
    volume: PiecewiseLinear,
    start_m3_per_kg: f64,
    /// Share of the volume strain that goes through the solid layer.
    solid: f64,
    soft_k: f64,
    flow_k: f64,
}

impl Swelling {
    /// Strain through the layer at a temperature, dimensionless.
    pub fn strain(&self, temperature_k: f64) -> f64 {
        let volume_strain = self.volume.at(temperature_k) / self.start_m3_per_kg - 1.0;
        let molten = if self.flow_k <= temperature_k {
            1.0
        } else if temperature_k <= self.soft_k {
            0.0
        } else {
            (temperature_k - self.soft_k) / (self.flow_k - self.soft_k)
        };
        volume_strain * (self.solid + molten * (1.0 - self.solid))
    }
}
