//! Tests of `optics`.

mod adding_doubling;

mod beam;

mod energy;

mod invert;

mod limits;

mod photon;

mod plaque;

mod reduction;

mod published;

mod two_flux;
