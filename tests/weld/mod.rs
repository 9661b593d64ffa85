//! Tests of `weld`: criteria, verdicts, trends an engineer knows.

mod light;

mod cross_section;

mod lateral_loss;

mod clearing;

mod trends;

mod verdicts;
