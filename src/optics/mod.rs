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

pub mod invert;

pub mod reduction;

pub mod absorbed;

pub use absorbed::{Absorbed, DepthProfile};
pub use beam::Exposure;
pub use slab::{Slab, Stack};

/// How light is followed through the stack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Method {
    /// Faces and absorption, no scattering; see [`beer_lambert`].
    BeerLambert,
    /// Two diffuse fluxes, fast and approximate; see [`two_flux`].
    TwoFlux,
    /// Exact plane-parallel transfer with scattering; see [`adding_doubling`].
    AddingDoubling,
}

impl Method {
    /// All methods, from the coarsest to the most exact.
    pub const ALL: [Method; 3] = [Method::BeerLambert, Method::TwoFlux, Method::AddingDoubling];

    /// The method used where none is asked for: adding-doubling wherever a layer scatters.
    pub fn default_for(stack: &Stack) -> Self {
        if stack.scatters() {
            Method::AddingDoubling
        } else {
            Method::BeerLambert
        }
    }

    /// The method's name in files and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Method::BeerLambert => "beer-lambert",
            Method::TwoFlux => two_flux::NAME,
            Method::AddingDoubling => adding_doubling::NAME,
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
        Method::TwoFlux => two_flux::absorb(stack)?,
        Method::AddingDoubling => adding_doubling::absorb(stack)?,
    };
    let residual = absorbed.energy_residual();
    if residual.abs() <= ENERGY_TOLERANCE {
        Ok(absorbed)
    } else {
        Err(Error::new(OpticsProblem::EnergyNotConserved { residual }))
    }
}
