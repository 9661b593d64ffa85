//! Tests of `cli`: the program as a newcomer runs it, in an empty folder.

mod commands;
mod compare;

mod spectra;

mod report;

mod manners;

mod files;

mod validate;
