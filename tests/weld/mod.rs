//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod collimated;

mod light;

mod oblique;

mod clearing;

mod trends;

mod modes;

mod quality;

mod verdicts;
