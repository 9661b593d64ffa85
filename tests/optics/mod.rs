//! Tests of `optics`.

mod beam;
