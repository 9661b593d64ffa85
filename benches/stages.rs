//! Benchmarks of single stages.

use criterion::{criterion_group, criterion_main};

mod light;

criterion_group!(stages, light::light);
criterion_main!(stages);
