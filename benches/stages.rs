//! Benchmarks of single stages.
#![allow(missing_docs)]

use criterion::{criterion_group, criterion_main};

mod heat;
mod light;
mod photon;
mod window;

criterion_group!(
    stages,
    light::light,
    photon::run,
    heat::bench,
    window::bench
);
criterion_main!(stages);
