//! Tests of `study`: windows, maps, bands.

mod band;

mod calibration;

mod survey;

mod trials;

mod window;
