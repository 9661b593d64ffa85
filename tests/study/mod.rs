//! Tests of `study`: windows, maps, bands.

mod band;

mod measured_band;

mod requirement;

mod scatter;

mod survey;

mod tolerance;

mod window;
