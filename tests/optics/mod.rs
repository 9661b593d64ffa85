//! Tests of `optics`.

mod adding_doubling;

mod asymptote;

mod beam;

mod energy;

mod invert;

mod limits;

mod photon;

mod plaque;

mod plaque_modes;

mod reduction;

pub mod published;

mod two_flux;

mod two_plaques;
