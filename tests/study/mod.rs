//! Tests of `study`: windows, maps, bands.

mod band;

mod survey;

mod window;

mod validation;
