//! Will this pair of plastics weld by a laser shone through the upper part, at which wavelength,
//! power and speed, and how much can go wrong before it stops welding?
//!
//! ```text
//!  spectra/  joint.toml  trials.csv
//!      \        |        /
//!           input                      text in, checked SI values out
//!             |
//!  material → optics → colour → heat → weld → study pure: same values in, same values out
//!             |                        |
//!             |                      report         results in, figures and pages out
//!             \______________________/
//!                      cli                          the only place that reads, writes, prints
//! ```

pub mod units;

pub mod error;

pub mod numerics;

pub mod material;

pub mod optics;

pub mod colour;

pub mod heat;

pub mod weld;

pub mod study;

pub mod input;

pub mod report;

pub mod cli;
