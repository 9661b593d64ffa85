//! Tests of `numerics`.
