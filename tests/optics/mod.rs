//! Tests of `optics`.
