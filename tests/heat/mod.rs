//! Tests of `heat`.

pub mod joints;

mod properties;

mod exact;

mod melting;

mod order;

mod reference;
mod ringing;

mod second_implementation;

mod ledger;

mod batch;

mod exposure;

mod melt;

mod melt_depth;

mod extremes;

mod counters;

mod closure;

mod cross_section;
