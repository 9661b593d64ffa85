//! Tests of `optics`.

mod plaque;
