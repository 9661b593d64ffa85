//! Tests of `input`.

mod jcamp;
