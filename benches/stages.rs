//! Benchmarks of single stages.
#![allow(missing_docs)]

use criterion::{criterion_group, criterion_main};

mod heat;
mod light;
mod photon;

criterion_group!(stages, light::light, photon::run, heat::bench);
criterion_main!(stages);
