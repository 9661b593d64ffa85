//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod collimated;

mod light;

mod light_lattice;

mod oblique;

mod clearing;

mod trends;

mod verdicts;
