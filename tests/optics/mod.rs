//! Tests of `optics`.

mod adding_doubling;
mod beer_lambert;
mod energy;
mod invert;
mod limits;
mod published;
mod two_flux;
