//! Tests of `report`.
