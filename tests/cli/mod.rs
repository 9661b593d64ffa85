//! Tests of `cli`: the program as a newcomer runs it, in an empty folder.

mod answers;
mod batches;
mod colour;

mod commands;

mod compare;
mod cross_section;

mod spectra;

mod report;

mod manners;

mod files;
mod nothing_lost;

mod validate;
