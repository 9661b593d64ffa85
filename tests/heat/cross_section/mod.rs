//! Tests of the cross-section.

mod limits;

mod exact;

mod order;

mod second_implementation;
