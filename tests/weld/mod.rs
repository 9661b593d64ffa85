//! Tests of `weld`.
