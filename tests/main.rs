//! One test binary; modules in the order of `src`.
#![allow(clippy::unwrap_used, missing_docs)]

mod support;

mod layering;

mod numerics;

mod material;

mod compatibility;

mod moisture;

mod optics;

mod colour;

mod heat;

mod weld;

mod study;

mod input;

mod report;

mod cli;

mod convergence;

mod reports;

mod regression;
