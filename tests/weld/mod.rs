//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod chain;

mod light;

mod clearing;

mod trends;

mod verdicts;
