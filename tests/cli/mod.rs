//! Tests of `cli`: the program as a newcomer runs it, in an empty folder.

mod answers;

mod commands;
mod compare;

mod spectra;
