//! Tests of `input`.
