//! Tests of `cli`.

mod compare;
