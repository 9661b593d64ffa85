//! Tests of `regression`.
