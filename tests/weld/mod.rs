//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod light;

mod clearing;

mod trends;

mod modes;

mod quality;

mod verdicts;
