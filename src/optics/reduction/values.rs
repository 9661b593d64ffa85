//! Inverted points to spectra, with gaps where the data cannot tell.

use crate::error::Error;
use crate::material::optical::Reading as Meaning;
use crate::material::{Optical, Sourced, Spectrum, Status};
use crate::optics::invert::Estimate;
use crate::optics::reduction::{Assumptions, GAP, Inversion};

/// Optical properties from the points in use.
///
/// # Errors
/// Fewer than two points.
pub(super) fn optical(
    inversion: &Inversion,
    refractive_index: Sourced<Spectrum>,
    source: &str,
    assumed: &Assumptions,
) -> Result<Optical, Error> {
    let source = format!("{source}: {}", inversion.method());
    let gaps = gaps(inversion);
    let g = assumed.g.value;
    let spectrum = |name: &str, of: &dyn Fn(&Estimate) -> (f64, f64)| -> Result<_, Error> {
        let used = inversion.points.iter().filter(|it| it.used);
        let (mut wavelength_m, mut value, mut errors) = (Vec::new(), Vec::new(), Vec::new());
        for (point, estimate) in used.filter_map(|it| Some((it, it.estimate()?))) {
            let (coefficient_per_m, error_per_m) = of(estimate);
            wavelength_m.push(point.wavelength_m);
            value.push(coefficient_per_m);
            errors.push(error_per_m);
        }
        let spectrum = Spectrum::table(name, wavelength_m, value)?
            .with_gaps(gaps.clone())
            .with_standard_errors(&errors);
        Ok(Some(Sourced::new(
            spectrum,
            source.clone(),
            Status::Measured,
        )))
    };
    Ok(Optical {
        refractive_index,
        absorption: spectrum("absorption", &|it| {
            (it.pair.mu_a_per_m, it.standard_error.mu_a_per_m)
        })?,
        scattering: spectrum("scattering", &|it| {
            (
                it.pair.mu_s_reduced_per_m / (1.0 - g),
                it.standard_error.mu_s_reduced_per_m / (1.0 - g),
            )
        })?,
        anisotropy: Some(assumed.g.map(|it| Spectrum::constant(*it))),
        reading: Meaning::Coefficients,
    })
}

/// Runs of points left out between points in use that are too long to be bridged.
fn gaps(inversion: &Inversion) -> Vec<(f64, f64)> {
    let used: Vec<usize> = (0..inversion.points.len())
        .filter(|&i| inversion.points[i].used)
        .collect();
    let at = |i: usize| inversion.points[i].wavelength_m;
    let mut gaps: Vec<(f64, f64)> = used
        .windows(2)
        .filter(|it| GAP < it[1] - it[0])
        .map(|it| (at(it[0]), at(it[1])))
        .collect();
    // A hole in the tables is one in the coefficients too, however few grid points it holds.
    for specimen in &inversion.specimens {
        for (_, spectrum) in specimen.spectra() {
            gaps.extend_from_slice(spectrum.gaps_m());
        }
    }
    merged(gaps)
}

/// Gaps in ascending order, those that overlap made one.
pub(super) fn merged(mut gaps: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut all: Vec<(f64, f64)> = Vec::new();
    for gap in gaps {
        match all.last_mut() {
            Some(last) if gap.0 < last.1 => last.1 = last.1.max(gap.1),
            _ => all.push(gap),
        }
    }
    all
}
