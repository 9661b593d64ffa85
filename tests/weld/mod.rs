//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod chain;

mod collimated;

mod light;

mod oblique;

mod clearing;

mod trends;

mod verdicts;
