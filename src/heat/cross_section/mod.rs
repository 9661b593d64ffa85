//! Across the seam: transient conduction in depth and width at one place of the seam.
//!
//! ```text
//! ∂H/∂t = ∂²θ/∂z² + ∂²θ/∂y² + q(z) s(y) E(t)        H enthalpy, θ = ∫k dT, T = T(H)
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | z, y | `depth_m`, `across_m` | depth; distance from the middle of the seam | m |
//! | q(z) | [`Column::light`] | absorbed share of the light over depth, as in one dimension | 1/m |
//! | s(y) | [`Across`] | energy across the seam, one in the middle | – |
//! | E(t) | [`Column::exposure`] | irradiance in the middle of the seam, as in one dimension | W/m² |
//!
//! Half of the cross-section is followed; the seam is symmetric. Cells are finite volumes, fine at
//! the interface and at the edge of the light. Steps are Rosenbrock's of second order with the
//! matrix split into a factor for depth and one for width (`step`), so that each step costs
//! two sweeps of tridiagonal systems and conserves energy to rounding. A film of air between the
//! parts closes at every place across the seam by the swelling there (`closing`).
//!
//! Holds for: light whose shape across the seam is the same at every depth and time; conduction
//! along the seam left out, as in one dimension, which is good where the feed is fast against
//! conduction (v l / α well above one; checked against the moving strip source).
//! Does not hold for: corners and ribs (parts are infinitely wide), flow of the melt, the ends of a
//! seam.
//!
//! Source: as `heat` for the conduction; J. G. Verwer, E. J. Spee, J. G. Blom and W. Hundsdorfer,
//! SIAM J. Sci. Comput. 20 (1999) 1456, for the step (from memory; its order, its stability and its
//! energy are tested). Checked in: `tests/heat/cross_section/`.

pub mod across;

mod grid;

mod closing;

mod equations;

mod step;

mod course;

mod outcome;

pub use across::Across;
pub use outcome::{Bridge, CrossSection, Ledger, Place};

use crate::error::Error;
use crate::heat::check::check;
use crate::heat::column::Column;

/// How finely a cross-section is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Cells for every factor e by which the distance from a fine place grows.
    pub cells_per_e_fold: f64,
    /// Length over which cells at a fine place are even, in units of the shorter of diffusion
    /// length of the pulse and depth in which the light dies.
    pub even_share: f64,
    /// Error allowed in one time step at the worst place, as a share of the difference between
    /// the hottest and the coldest place so far.
    pub tolerance: f64,
    /// The run ends when the hottest place has lost all but this share of the greatest rise.
    pub follow_to_share: f64,
    /// Longest time to follow after the last light, s.
    pub longest_s: f64,
    /// Steps after which a case is given up, for every pulse.
    pub most_steps_per_pulse: usize,
    /// Passes at the end that are followed one by one; those before, but for the first, are spread
    /// evenly.
    pub most_resolved_passes: u32,
}

impl Settings {
    /// Settings for figures: peaks within 0.5 % of the rise, widths and depths of the melt and the
    /// swelling into a gap within 1.5 % of converged values (`tests/heat/cross_section/order.rs`,
    /// `gap.rs`).
    pub fn standard() -> Self {
        Settings {
            // Half the cells of the one-dimensional stage along each axis would do for a picture;
            // melt depths within 1.5 % need these.
            cells_per_e_fold: 5.0,
            even_share: 0.4,
            // The estimate is that of a first-order step and far above the error of the step kept.
            tolerance: 0.003,
            // Isotherms below a fifth of the rise say nothing about the weld.
            follow_to_share: 0.2,
            longest_s: 3600.0,
            most_steps_per_pulse: 5_000,
            // As in one dimension (`heat::Settings::standard`).
            most_resolved_passes: 8,
        }
    }

    /// Settings for convergence checks.
    pub fn fine() -> Self {
        Settings {
            cells_per_e_fold: 14.0,
            tolerance: 3e-4,
            ..Settings::standard()
        }
    }
}

/// Follows one cross-section.
///
/// # Errors
/// A number without physical meaning, or steps that come to no end.
pub fn run(column: &Column, across: &Across, settings: &Settings) -> Result<CrossSection, Error> {
    check(column).map_err(Error::new)?;
    across.check().map_err(Error::new)?;
    let equations = equations::Equations::new(column, across, settings).map_err(Error::new)?;
    course::follow(column, &equations, settings).map_err(Error::new)
}
