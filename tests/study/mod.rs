//! Tests of `study`: windows, maps, bands.

mod band;

mod calibration;

mod colours;

mod measured_band;

mod requirement;

mod scatter;

mod survey;

mod trials;

mod tolerance;

mod gap_window;

mod window;

mod validation;
