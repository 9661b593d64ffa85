//! Tests of `material`.
