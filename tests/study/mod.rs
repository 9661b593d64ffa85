//! Tests of `study`: windows, maps, bands.

mod band;

mod colours;

mod survey;

mod window;
