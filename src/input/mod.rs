//! Placeholder.

pub mod jcamp;
