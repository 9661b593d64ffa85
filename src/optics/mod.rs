//! Where the light goes: reflected, transmitted, and absorbed against depth in both parts.
//!
//! Takes a [`Stack`] of plane layers at one wavelength and a [`Method`]; gives [`Absorbed`], whose
//! shares add up to one within 1e-9 or the run is refused.

use crate::error::{Error, OpticsProblem};

pub mod slab;

pub mod beam;

pub mod fresnel;

pub mod beer_lambert;

pub mod two_flux;

pub mod adding_doubling;

pub mod photon_monte_carlo;

pub mod plaque;

pub mod absorbed;

pub use absorbed::{Absorbed, DepthProfile};
pub use beam::Exposure;
pub use slab::{Slab, Stack};

/// How light is followed through the stack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Method {
    /// Faces and absorption, no scattering; see [`beer_lambert`].
    BeerLambert,
}

impl Method {
    /// The method for a stack whose joint names none.
    pub fn default_for(_stack: &Stack) -> Self {
        Method::BeerLambert
    }

    /// The method's name in files and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Method::BeerLambert => "beer-lambert",
        }
    }
}

/// Largest difference from one that the sum of all shares may have.
pub const ENERGY_TOLERANCE: f64 = 1e-9;

/// Follows unit light, normally incident from air on the first slab, through `stack`.
///
/// # Errors
/// The shares do not add up to one within [`ENERGY_TOLERANCE`].
pub fn absorb(stack: &Stack, method: Method) -> Result<Absorbed, Error> {
    let absorbed = match method {
        Method::BeerLambert => beer_lambert::absorb(stack),
    };
    let residual = absorbed.energy_residual();
    if residual.abs() <= ENERGY_TOLERANCE {
        Ok(absorbed)
    } else {
        Err(Error::new(OpticsProblem::EnergyNotConserved { residual }))
    }
}
