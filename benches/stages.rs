//! Benchmarks of single stages.
#![allow(missing_docs)]

use criterion::{criterion_group, criterion_main};

mod photon;

criterion_group!(stages, photon::run);
criterion_main!(stages);
