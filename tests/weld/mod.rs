//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod trends;

mod verdicts;
