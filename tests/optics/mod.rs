//! Tests of `optics`.

mod photon;
