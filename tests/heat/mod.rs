//! Tests of `heat`.

mod joints;

mod reference;
