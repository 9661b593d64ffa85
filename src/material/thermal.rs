//! Thermal properties of one material against temperature.

use crate::material::provenance::{Sourced, Status};
use crate::numerics::interpolate::PiecewiseLinear;

/// Heat of melting spread over a range of temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LatentHeat {
    /// Heat of melting of the part as it is (crystallinity included), J/kg.
    pub heat_j_per_kg: f64,
    /// Start of melting, K.
    pub from_k: f64,
    /// End of melting, K.
    pub to_k: f64,
}

/// Thermal properties; tables are piecewise linear over temperature in K.
#[derive(Clone, Debug, PartialEq)]
pub struct Thermal {
    /// Density, kg/m³.
    pub density_kg_per_m3: Sourced<PiecewiseLinear>,
    /// Conductivity, W/(m K).
    pub conductivity_w_per_m_k: Sourced<PiecewiseLinear>,
    /// Specific heat, J/(kg K), with the melting peak in it unless `latent_heat` stands beside it.
    pub specific_heat_j_per_kg_k: Sourced<PiecewiseLinear>,
    /// Heat of melting that is not in the table of specific heat.
    pub latent_heat: Option<Sourced<LatentHeat>>,
    /// Temperature from which the polymer flows and fuses, K.
    pub flow_temperature_k: Sourced<f64>,
    /// Temperature at which the laser-side surface softens or marks, K.
    pub surface_temperature_k: Sourced<f64>,
}

impl Thermal {
    /// Each quantity with its source and status.
    pub fn provenances(&self) -> Vec<(&'static str, &str, Status)> {
        fn row<'a, T>(name: &'static str, it: &'a Sourced<T>) -> (&'static str, &'a str, Status) {
            (name, it.source.as_str(), it.status)
        }
        let mut all = vec![
            row("density", &self.density_kg_per_m3),
            row("conductivity", &self.conductivity_w_per_m_k),
            row("specific heat", &self.specific_heat_j_per_kg_k),
        ];
        if let Some(latent) = &self.latent_heat {
            all.push(row("latent heat", latent));
        }
        all.push(row("flow temperature", &self.flow_temperature_k));
        all.push(row("surface temperature", &self.surface_temperature_k));
        all
    }
}
