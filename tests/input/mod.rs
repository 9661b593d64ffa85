//! Tests of `input`.

mod library;
