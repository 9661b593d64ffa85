//! What a melt does beyond taking up heat: it flows, and its chains heal an interface.
//!
//! ```text
//! Arrhenius       η = η_r exp( E/R (1/T − 1/T_r) )
//! WLF             η = D1 exp( −A1 (T − T*) / (A2 + T − T*) )      zero-shear value of Cross-WLF
//! healing         t_r = t_0 exp( E/R (1/T − 1/T_0) )
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | η | – | viscosity at low rates of shear | Pa s |
//! | η_r, T_r | `value_pa_s`, `reference_k` | viscosity at a reference temperature | Pa s, K |
//! | D1, T*, A1, A2 | `d1_pa_s`, `reference_k`, `a1`, `a2_k` | constants of the WLF form | Pa s, K, –, K |
//! | t_r | – | time after which an interface at T is healed (reptation time) | s |
//!
//! Holds for: melts at low rates of shear, linear chains of one length. Does not hold for: shear
//! thinning, which lets a melt flow faster than this says; long branches; crystallisation.
//!
//! Source: M. L. Williams, R. F. Landel and J. D. Ferry, J. Am. Chem. Soc. 77 (1955) 3701 (from
//! memory). Checked in: `tests/material.rs`.

use crate::material::provenance::{Sourced, Status};
use crate::units::GAS_CONSTANT_J_PER_MOL_K;

/// Viscosity of a melt at low rates of shear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Viscosity {
    /// One value and an activation energy.
    Arrhenius {
        /// Viscosity at the reference temperature, Pa s.
        value_pa_s: f64,
        /// Reference temperature, K.
        reference_k: f64,
        /// Activation energy, J/mol.
        energy_j_per_mol: f64,
    },
    /// The zero-shear value of Cross-WLF.
    Wlf {
        /// Viscosity at the reference temperature, Pa s.
        d1_pa_s: f64,
        /// Reference temperature T*, K.
        reference_k: f64,
        /// A1, dimensionless.
        a1: f64,
        /// A2, K.
        a2_k: f64,
    },
}

impl Viscosity {
    /// Viscosity at a temperature, Pa s; infinite where the WLF form ends.
    pub fn at_pa_s(&self, temperature_k: f64) -> f64 {
        match *self {
            Viscosity::Arrhenius {
                value_pa_s,
                reference_k,
                energy_j_per_mol,
            } => value_pa_s * arrhenius(energy_j_per_mol, temperature_k, reference_k),
            Viscosity::Wlf {
                d1_pa_s,
                reference_k,
                a1,
                a2_k,
            } => {
                let above = temperature_k - reference_k;
                if a2_k + above <= 0.0 {
                    return f64::INFINITY;
                }
                d1_pa_s * (-a1 * above / (a2_k + above)).exp()
            }
        }
    }
}

/// exp( E/R (1/T − 1/T_r) )
fn arrhenius(energy_j_per_mol: f64, temperature_k: f64, reference_k: f64) -> f64 {
    let slope_k = energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K;
    (slope_k * (1.0 / temperature_k - 1.0 / reference_k)).exp()
}

/// Time in which an interface heals, against temperature; the numbers belong together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Healing {
    /// Reptation or healing time at the reference temperature, s.
    pub time_s: f64,
    /// Reference temperature, K.
    pub reference_k: f64,
    /// Activation energy, J/mol.
    pub energy_j_per_mol: f64,
}

impl Healing {
    /// 1 / t_r at a temperature, 1/s.
    pub fn rate_per_s(&self, temperature_k: f64) -> f64 {
        1.0 / (self.time_s * arrhenius(self.energy_j_per_mol, temperature_k, self.reference_k))
    }
}

/// Flow and healing of a melt, as far as the card knows them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Melt {
    /// Viscosity at low rates of shear.
    pub viscosity: Option<Sourced<Viscosity>>,
    /// Healing of an interface.
    pub healing: Option<Sourced<Healing>>,
}

impl Melt {
    /// Each quantity with its source and status.
    pub fn provenances(&self) -> Vec<(&'static str, &str, Status)> {
        let viscosity = self.viscosity.as_ref();
        let healing = self.healing.as_ref();
        viscosity
            .map(|it| ("melt viscosity", it.source.as_str(), it.status))
            .into_iter()
            .chain(healing.map(|it| ("healing time", it.source.as_str(), it.status)))
            .collect()
    }
}
