//! Tests of `study`: windows, maps, bands.

mod band;

mod measured_band;

mod survey;

mod window;
