//! Tests of `reports`.
