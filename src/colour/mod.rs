//! What a spectrum looks like: tristimulus values, L*a*b*, colour differences, a swatch, opacity.
//!
//! ```text
//! spectrum ──► values every 1 nm ──► X, Y, Z ──► L*, a*, b*, C*, h ──► ΔE00
//!                                       └──────► sRGB of a swatch, contrast ratio
//! ```
//!
//! | file | what it holds |
//! |---|---|
//! | `observer` | the CIE tables: two observers, illuminant D65 |
//! | `visible` | a measured spectrum as values every 1 nm from 360 to 830 nm |
//! | `tristimulus` | X, Y, Z and contrast ratio |
//! | `lab` | L*, a*, b*, C*, h |
//! | `difference` | CIEDE2000 |
//! | `srgb` | the colour of a swatch on a screen |

pub mod observer;

pub mod visible;

pub mod tristimulus;

pub mod lab;

pub mod difference;

pub mod srgb;

pub use difference::ciede2000;
pub use lab::Lab;
pub use observer::Observer;
pub use srgb::{Swatch, swatch};
pub use tristimulus::{Tristimulus, contrast_ratio, tristimulus};
pub use visible::{Sampling, Visible};
