//! Benchmarks of single stages.
fn main() {}
