//! Benchmarks of single stages.
#![allow(missing_docs)]

use criterion::{criterion_group, criterion_main};

mod light;
mod photon;

criterion_group!(stages, light::light, photon::run);
criterion_main!(stages);
