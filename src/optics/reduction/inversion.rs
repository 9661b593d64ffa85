//! All wavelengths of plaques inverted: first a sample, which shows whether the plaques agree, then
//! the others; where they disagree all of them again, with the uncertainty raised to the misfit.
//!
//! Checked in: `tests/optics/reduction.rs`.

use crate::error::{Error, OpticsProblem};
use crate::material::Spectrum;
use crate::optics::invert::{Inverse, Reading, Setup, Uncertainty, Why, invert_spectrum};
use crate::optics::plaque::common_grid;
use crate::optics::reduction::{
    ANOTHER_MATERIAL, Assumptions, Data, Inversion, Point, Specimen, estimate, usable,
};

/// Wavelengths at which plaques are compared before all are inverted.
const SAMPLED: usize = 60;

/// Inverts, and once more with the uncertainty raised where the plaques disagree.
pub(super) fn inverted(
    data: Data,
    specimens: Vec<Specimen>,
    refractive_index: &Spectrum,
    assumed: &Assumptions,
    remarks: &mut Vec<String>,
) -> Result<Inversion, Error> {
    let setup = |photometric: f64| Setup {
        g: assumed.g.value,
        uncertainty: Uncertainty {
            transmittance: photometric,
            reflectance: photometric,
            collimated: photometric,
        },
        sphere: assumed.sphere,
    };
    let measured: Vec<&Spectrum> = specimens
        .iter()
        .flat_map(|it| it.spectra().map(|(_, spectrum)| spectrum))
        .collect();
    let grid = common_grid(&measured, refractive_index)?;
    let readings = grid
        .iter()
        .map(|&wavelength_m| {
            let n = refractive_index.at("refractive index", wavelength_m)?;
            Ok(specimens
                .iter()
                .map(|it| it.evidence(n, wavelength_m))
                .collect())
        })
        .collect::<Result<Vec<Vec<Reading>>, Error>>()?;
    let mut photometric = assumed.photometric;
    // A sample shows whether the plaques agree; to fit all of what does not fit would take long.
    let stride = readings.len().div_ceil(SAMPLED);
    let sample: Vec<Vec<Reading>> = readings.iter().step_by(stride).cloned().collect();
    let sampled = invert_spectrum(&sample, &setup(photometric))?;
    let misfit = disagreement(&sampled, &sample);
    if let Some(misfit) = misfit {
        photometric *= misfit;
        if ANOTHER_MATERIAL < photometric {
            return Err(another_material(photometric));
        }
        remarks.push(format!(
            "no one pair of coefficients reproduces the plaques within {:.2} % of the light; \
             standard errors count with the misfit, {:.2} %: check thicknesses, and whether all \
             plaques are of one material",
            100.0 * assumed.photometric,
            100.0 * photometric
        ));
    }
    let all = if misfit.is_some() {
        invert_spectrum(&readings, &setup(photometric))?
    } else {
        between(sampled, stride, &readings, &setup(photometric))?
    };
    let thickness_m = specimens
        .iter()
        .fold(0.0f64, |most, it| most.max(it.thickness_m));
    let points = grid
        .into_iter()
        .zip(readings)
        .zip(all)
        .map(|((wavelength_m, readings), inverse)| Point {
            wavelength_m,
            readings,
            used: usable(&inverse, thickness_m),
            inverse,
        })
        .collect();
    Ok(Inversion {
        data,
        specimens,
        setup: setup(photometric),
        points,
    })
}

/// All wavelengths, where every `stride`th is inverted already.
fn between(
    sampled: Vec<Inverse>,
    stride: usize,
    readings: &[Vec<Reading>],
    setup: &Setup,
) -> Result<Vec<Inverse>, Error> {
    let is_sampled = |at: &usize| at.is_multiple_of(stride);
    let rest: Vec<Vec<Reading>> = (0..readings.len())
        .filter(|at| !is_sampled(at))
        .map(|at| readings[at].clone())
        .collect();
    let mut rest = if rest.is_empty() {
        Vec::new()
    } else {
        invert_spectrum(&rest, setup)?
    }
    .into_iter();
    let mut sampled = sampled.into_iter();
    Ok((0..readings.len())
        .filter_map(|at| {
            if is_sampled(&at) {
                sampled.next()
            } else {
                rest.next()
            }
        })
        .collect())
}

fn another_material(misfit: f64) -> Error {
    Error::new(OpticsProblem::NotOneMaterial {
        misfit_percent: 100.0 * misfit,
    })
    .cure(
        "leave out the plaque of another material, or correct its thickness; to go by transmittance \
         alone, invert = \"no\" in [optics] of a joint file, --invert no on the command line",
    )
}

/// Median misfit where most wavelengths with values to spare are not reproduced.
fn disagreement(all: &[Inverse], readings: &[Vec<Reading>]) -> Option<f64> {
    let values = |of: &Reading| {
        [
            of.total_transmittance,
            of.total_reflectance,
            of.collimated_transmittance,
        ]
        .into_iter()
        .flatten()
        .count()
    };
    let to_spare = |it: &&Vec<Reading>| 2 < it.iter().map(values).sum::<usize>();
    if readings.iter().filter(to_spare).count() * 2 < readings.len() {
        return None;
    }
    let missed = |it: &&Inverse| {
        matches!(
            it,
            Inverse::Undetermined {
                why: Why::NotReproduced,
                ..
            }
        )
    };
    if 2 * all.iter().filter(missed).count() < all.len() {
        return None;
    }
    let mut misfits: Vec<f64> = all
        .iter()
        .filter_map(|it| Some(estimate(it)?.misfit))
        .filter(|it| it.is_finite())
        .collect();
    misfits.sort_by(f64::total_cmp);
    let median = *misfits.get(misfits.len() / 2)?;
    (1.0 < median).then_some(median)
}
