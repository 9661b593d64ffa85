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

/// How light falls in and how it is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lighting {
    /// How it is followed.
    pub method: Method,
    /// Angle to the normal in air, rad.
    pub incidence_rad: f64,
}

impl Lighting {
    /// Straight on.
    pub fn normal(method: Method) -> Self {
        Lighting {
            method,
            incidence_rad: 0.0,
        }
    }
}

/// Follows unit light, normally incident from air on the first slab, through `stack`.
///
/// # Errors
/// The shares do not add up to one within [`ENERGY_TOLERANCE`], or a layer has values out of range.
pub fn absorb(stack: &Stack, method: Method) -> Result<Absorbed, Error> {
    absorb_lit(stack, Lighting::normal(method))
}

/// Follows unit unpolarised light that falls from air on the first slab.
///
/// # Errors
/// As [`absorb`]; or the angle is not from 0 to [`adding_doubling::STEEPEST_DEG`].
pub fn absorb_lit(stack: &Stack, lighting: Lighting) -> Result<Absorbed, Error> {
    let Lighting {
        method,
        incidence_rad,
    } = lighting;
    let degrees = incidence_rad.to_degrees();
    if !(0.0..=adding_doubling::STEEPEST_DEG).contains(&degrees) {
        return Err(Error::new(OpticsProblem::MethodDoesNotApply {
            method: method.name().into(),
            reason: format!(
                "an angle of {degrees:.1}° is outside 0 to {}°",
                adding_doubling::STEEPEST_DEG
            ),
        }));
    }
    let absorbed = match method {
        Method::BeerLambert => beer_lambert::absorb_at(stack, incidence_rad),
        Method::TwoFlux => two_flux::absorb_at(stack, incidence_rad)?,
        Method::AddingDoubling => adding_doubling::absorb_at(stack, incidence_rad)?,
    };
    let residual = absorbed.energy_residual();
    if residual.abs() <= ENERGY_TOLERANCE {
        Ok(absorbed)
    } else {
        Err(Error::new(OpticsProblem::EnergyNotConserved { residual }))
    }
}
