//! Thermal damage of a polymer: first-order kinetics, both numbers from one source.
//!
//! ```text
//! damaged share = 1 − exp( −∫ A exp(−E / (R T)) dt )
//! ```

use crate::material::provenance::{Sourced, Status};
use crate::units::GAS_CONSTANT_J_PER_MOL_K;

/// First-order kinetics. `frequency` and `energy` belong together and never come apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Damage {
    /// Frequency factor A, 1/s.
    pub frequency_per_s: Sourced<f64>,
    /// Activation energy E, J/mol.
    pub energy_j_per_mol: Sourced<f64>,
}

impl Damage {
    /// Rate A exp(−E/RT) at a temperature, 1/s.
    pub fn rate_per_s(&self, temperature_k: f64) -> f64 {
        let exponent = self.energy_j_per_mol.value / (GAS_CONSTANT_J_PER_MOL_K * temperature_k);
        self.frequency_per_s.value * (-exponent).exp()
    }

    /// Each number with its source and status.
    pub fn provenances(&self) -> Vec<(&'static str, &str, Status)> {
        [
            ("damage frequency factor", &self.frequency_per_s),
            ("damage activation energy", &self.energy_j_per_mol),
        ]
        .into_iter()
        .map(|(name, it)| (name, it.source.as_str(), it.status))
        .collect()
    }
}
