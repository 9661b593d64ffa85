//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod light;

mod light_lattice;

mod clearing;

mod trends;

mod verdicts;
