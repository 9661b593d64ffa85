//! Tests of `input`.

mod library;
mod messages;
