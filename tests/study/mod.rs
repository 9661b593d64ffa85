//! Tests of `study`.
