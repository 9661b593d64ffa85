//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

pub mod sensible;

mod across;
mod chain;

mod collimated;

mod gap;
mod light;

mod light_lattice;

mod oblique;

mod cross_section;

mod dry_faces;

mod lateral_loss;

mod clearing;

mod trends;

mod modes;

mod quality;

mod verdicts;

mod weak_numbers;
