//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod light;

mod trends;

mod verdicts;
