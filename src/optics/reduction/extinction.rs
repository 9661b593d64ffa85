//! Plaques to one extinction, with what to know about it.

use crate::error::Error;
use crate::material::plaque::Geometry;
use crate::material::{Plaque, Sourced, Spectrum};
use crate::optics::plaque::effective_extinction;
use crate::optics::reduction::specimens::holes;
use crate::optics::reduction::values::merged;
use crate::optics::reduction::{Reduced, Reduction};

/// Misfit of plaques of several thicknesses above which one extinction does not describe them,
/// absolute transmittance: twice the photometric uncertainty of a bright plaque.
const LARGE_MISFIT: f64 = 0.02;

/// Remark where nobody says which light was collected.
pub(super) const UNSTATED: &str = "the file does not say whether an integrating sphere was used; \
                                   total transmittance is assumed";

/// One extinction; total transmittance is preferred to collimated.
///
/// # Errors
/// As [`effective_extinction`].
pub(super) fn reduce(
    plaques: &[Plaque],
    refractive_index: Sourced<Spectrum>,
    source: &str,
    mut remarks: Vec<String>,
) -> Result<Reduction, Error> {
    let total: Vec<Plaque> = plaques
        .iter()
        .filter(|it| it.geometry != Geometry::Collimated)
        .cloned()
        .collect();
    let used = if total.is_empty() {
        remarks.push(
            "only collimated transmittance: in a scattering grade far less than the laser brings to \
             the joint; measure with an integrating sphere"
                .into(),
        );
        plaques
    } else {
        if total.len() < plaques.len() {
            remarks
                .push("collimated transmittance is left aside; total transmittance is used".into());
        }
        if total.iter().any(|it| it.geometry == Geometry::Unstated) {
            remarks.push(UNSTATED.into());
        }
        &total
    };
    let mut extinction = effective_extinction(used, &refractive_index.value)?;
    let gaps = used.iter().flat_map(|it| holes(&it.transmittance));
    extinction.absorption = extinction.absorption.with_gaps(merged(gaps.collect()));
    if let Some((from, to)) = extinction.absorption.range_m() {
        let widest = used.iter().filter_map(|it| it.transmittance.range_m());
        let (least, most) = widest.fold((f64::INFINITY, 0.0f64), |(least, most), it| {
            (least.min(it.0), most.max(it.1))
        });
        if least < from || to < most {
            remarks.push(format!(
                "spectra clipped to {:.0} to {:.0} nm, the range common to all plaques and the \
                 refractive index",
                from * 1e9,
                to * 1e9
            ));
        }
    }
    if LARGE_MISFIT < extinction.largest_residual() {
        remarks.push(format!(
            "one extinction misses the plaques by up to {:.1} % transmittance: the grade scatters, or \
             thicknesses are not right",
            100.0 * extinction.largest_residual()
        ));
    }
    if extinction.residual.iter().any(|it| it.above_faces) {
        remarks.push(
            "a plaque transmits more than its faces allow at some wavelengths; the extinction is set \
             to 0 there"
                .into(),
        );
    }
    if extinction.residual.iter().any(|it| it.below_dark_level) {
        remarks.push(
            "a plaque transmits less than 0.01 % at some wavelengths; the extinction is at least the \
             value used there"
                .into(),
        );
    }
    Ok(Reduction {
        optical: extinction.clone().into_optical(refractive_index, source),
        reduced: Reduced::Extinction(extinction),
        remarks,
    })
}
