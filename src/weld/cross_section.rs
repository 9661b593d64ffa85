//! The cross-section of one weld: seam width, shape of the melt, and what leaves sideways.
//!
//! Light and exposure are those of the outcome. Across the seam the energy has the profile of the
//! beam on the part, or where the upper part scatters the profile that photons give at the
//! interface; in the middle it is that of the one-dimensional answer in both cases.
//!
//! Holds for: light whose profile across the seam is that at the interface at every depth, as in
//! one dimension (see `weld/light.rs`). Where a melt clears, the profile is that of the solid. A film of
//! air closes at every place across the seam by the swelling there (`heat/cross_section/closing.rs`);
//! a gap whose conductance is stated stays open, and there is no seam.
//!
//! Checked in: `tests/weld/cross_section.rs`.

use std::sync::Arc;

use crate::error::Error;
use crate::heat::cross_section::across::Table;
use crate::heat::cross_section::{self, Across, CrossSection};
use crate::optics::beam::Shape;
use crate::weld::joint::Joint;
use crate::weld::light::{Light, across_seam};
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, lit_column};

/// Places on either side of the edge of the light where its profile is taken.
const PLACES: usize = 40;

/// How far out a scattered profile is followed, in thicknesses of the upper part beyond the edge.
const SCATTERED_REACH: f64 = 5.0;

/// Follows the cross-section of a joint whose outcome is known.
///
/// # Errors
/// Heat cannot be followed.
pub fn cross_section(
    joint: &Joint,
    outcome: &Outcome,
    settings: &Settings,
) -> Result<CrossSection, Error> {
    let light = Light {
        absorbed: Arc::clone(&outcome.light),
        wetted: outcome.wetted_light.clone(),
        method: outcome.method,
        beam: outcome.beam,
    };
    let across = profile(joint, settings)?;
    let column = lit_column(joint, &light);
    let settings = cross_section::Settings::standard();
    let mut cut = cross_section::run(&column, &across, &settings)?;
    if joint.interface.gap_m().is_some() && column.film.is_none() {
        cut.seam_width_m = 0.0;
    }
    Ok(cut)
}

/// Energy across the seam of a joint.
///
/// # Errors
/// The light of the joint cannot be followed.
pub fn profile(joint: &Joint, settings: &Settings) -> Result<Across, Error> {
    let width_m = joint.spot().width_m;
    let half = 0.5 * width_m;
    let reach = SCATTERED_REACH * joint.upper.thickness_m;
    let share = |i: usize| i as f64 / PLACES as f64;
    let (inner, outer) = match joint.beam.shape {
        Shape::TopHat => (half * (1.0 - 1e-9), half * (1.0 + 1e-9)),
        Shape::Gaussian => (half, half),
    };
    // Dense at the edge, where a top-hat falls and light never scattered jumps.
    let mut places: Vec<f64> = (0..PLACES)
        .map(|i| inner * (1.0 - (1.0 - share(i)).powi(2)))
        .collect();
    places.push(inner);
    places.extend((1..=PLACES).map(|i| outer + (half + reach) * share(i).powi(3)));
    if inner < outer {
        places.insert(PLACES + 1, outer);
    }
    let Some(mut values) = across_seam(joint, &settings.memory, &places)? else {
        return Ok(match joint.beam.shape {
            Shape::TopHat => Across::TopHat { width_m },
            Shape::Gaussian => Across::Gaussian { width_m },
        });
    };
    let middle = values[0];
    for value in &mut values {
        *value = (*value / middle).max(0.0);
    }
    let edge_m = match joint.beam.shape {
        Shape::TopHat => half,
        // A Gaussian falls most steeply at exp(−1/2).
        Shape::Gaussian => values
            .iter()
            .position(|it| *it < (-0.5f64).exp())
            .map_or(half, |i| places[i]),
    };
    Ok(Across::Tabulated(Table::new(places, values, edge_m)))
}
