//! Tests of `study`: windows, maps, bands.

mod band;

mod calibration;

mod colours;

mod measured_band;

mod survey;

mod trials;

mod window;

mod validation;
