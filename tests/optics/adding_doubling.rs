//! Tests of optics.
