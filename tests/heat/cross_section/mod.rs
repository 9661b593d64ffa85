//! Tests of the cross-section.

mod gap;

mod limits;

mod exact;

mod order;

mod second_implementation;
