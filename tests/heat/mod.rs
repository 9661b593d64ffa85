//! Tests of `heat`.
