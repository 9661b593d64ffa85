//! What plaques say about a part: at the laser lines, and along the whole spectrum.
//!
//! The pure half of the command `spectra`: the reduction of the plaques, their values at chosen
//! wavelengths, and the light in a part of another thickness, each with its standard error.
//!
//! Checked in: `tests/cli/spectra.rs`.

use rayon::prelude::*;

use crate::error::Error;
use crate::material::optical::Reading as Meaning;
use crate::material::{Plaque, Sourced, Spectrum};
use crate::optics::adding_doubling::Resolution;
use crate::optics::invert::{Estimate, Pair, Reading, Setup, Uncertainty, predict};
use crate::optics::plaque::slab_transmittance;
use crate::optics::reduction::part_light::Part;
use crate::optics::reduction::{
    Assumptions, PartLight, Reduced, Reduction, Specimen, part_light, reason, reduce, specimens,
};
use crate::units::NM;

/// Wavelengths of the lasers that weld plastics, nm (common practice).
pub const LASER_LINES_NM: [f64; 9] = [
    808.0, 915.0, 940.0, 980.0, 1064.0, 1470.0, 1550.0, 1710.0, 1940.0,
];

/// Points of a curve; more would not be seen.
const CURVE_POINTS: usize = 160;

/// What is asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Question {
    /// Wavelengths to show, m; empty for the laser lines inside the spectra.
    pub wavelengths_m: Vec<f64>,
    /// Thickness of the part, m; none where only the plaques are of interest.
    pub part_thickness_m: Option<f64>,
    /// Whether curves are wanted.
    pub curves: bool,
}

/// One wavelength.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Wavelength, m.
    pub wavelength_m: f64,
    /// What was measured, one reading a specimen.
    pub measured: Vec<Reading>,
    /// What the coefficients make of each specimen; empty where there are none.
    pub modelled: Vec<Reading>,
    /// Coefficients, or extinction as absorption without scattering; the fit as it stands where
    /// `used` is false.
    pub estimate: Option<Estimate>,
    /// Whether the estimate is used.
    pub used: bool,
    /// Why it is marked, or not used.
    pub why: Option<&'static str>,
    /// Light in the part; none where it was not asked for, or nothing is known.
    pub part: Option<PartLight>,
}

/// What the plaques say.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaqueStudy {
    /// The pieces that were measured.
    pub specimens: Vec<Specimen>,
    /// Their reduction.
    pub reduction: Reduction,
    /// Wavelengths asked for.
    pub lines: Vec<Line>,
    /// A sample of the whole spectrum; empty where no curves were asked for.
    pub curves: Vec<Line>,
    /// Thickness of the part, m.
    pub part_thickness_m: Option<f64>,
}

/// Reduces plaques and answers a question about them; `source` names their files.
///
/// # Errors
/// As [`reduce`]; or a wavelength asked for is outside the spectra.
pub fn study(
    plaques: &[Plaque],
    refractive_index: Sourced<Spectrum>,
    source: &str,
    assumed: &Assumptions,
    question: &Question,
) -> Result<PlaqueStudy, Error> {
    let reduction = reduce(plaques, refractive_index, source, assumed)?;
    let mut study = PlaqueStudy {
        specimens: match &reduction.reduced {
            Reduced::Coefficients(inversion) => inversion.specimens.clone(),
            Reduced::Extinction(_) => specimens(plaques),
        },
        reduction,
        lines: Vec::new(),
        curves: Vec::new(),
        part_thickness_m: question.part_thickness_m,
    };
    let wavelengths_m = if question.wavelengths_m.is_empty() {
        let inside = study.range_m();
        let lines = LASER_LINES_NM.map(|it| it * NM).into_iter();
        lines
            .filter(|it| inside.is_none_or(|(from, to)| from <= *it && *it <= to))
            .collect()
    } else {
        question.wavelengths_m.clone()
    };
    study.lines = wavelengths_m
        .par_iter()
        .map(|&it| study.at(it))
        .collect::<Result<_, Error>>()?;
    if question.curves {
        let grid = study.grid_m();
        let stride = grid.len().div_ceil(CURVE_POINTS).max(1);
        let chosen: Vec<f64> = grid.into_iter().step_by(stride).collect();
        study.curves = chosen
            .par_iter()
            .map(|&it| study.on_grid(it))
            .collect::<Result<_, Error>>()?;
    }
    Ok(study)
}

impl PlaqueStudy {
    /// What absorption stands for.
    pub fn meaning(&self) -> Meaning {
        self.reduction.optical.reading
    }

    /// Shortest and longest wavelength at which every plaque has values, m.
    pub fn range_m(&self) -> Option<(f64, f64)> {
        let grid = self.grid_m();
        Some((*grid.first()?, *grid.last()?))
    }

    /// Wavelengths of the reduction, m, ascending.
    pub fn grid_m(&self) -> Vec<f64> {
        match &self.reduction.reduced {
            Reduced::Coefficients(it) => it.points.iter().map(|it| it.wavelength_m).collect(),
            Reduced::Extinction(it) => it.residual.iter().map(|it| it.wavelength_m).collect(),
        }
    }

    /// Anisotropy assumed.
    pub fn g(&self) -> f64 {
        match &self.reduction.reduced {
            Reduced::Coefficients(it) => it.setup.g,
            Reduced::Extinction(_) => 0.0,
        }
    }

    /// The study at any wavelength inside the spectra.
    fn at(&self, wavelength_m: f64) -> Result<Line, Error> {
        match &self.reduction.reduced {
            Reduced::Coefficients(inversion) => {
                // Outside the spectra there is no reading, and no answer.
                for specimen in &inversion.specimens {
                    for (name, spectrum) in specimen.spectra() {
                        let what = format!("{name} of \"{}\"", specimen.name);
                        spectrum.at(&what, wavelength_m)?;
                    }
                }
                let point = inversion.at(&self.reduction.optical, wavelength_m)?;
                self.line(
                    wavelength_m,
                    point.estimate().copied(),
                    point.used,
                    point.why().map(reason),
                    true,
                )
            }
            Reduced::Extinction(extinction) => {
                let mu_per_m = extinction.absorption.at("extinction", wavelength_m)?;
                let nearest = extinction.residual.iter().min_by(|a, b| {
                    let far = |it: f64| (it - wavelength_m).abs();
                    far(a.wavelength_m).total_cmp(&far(b.wavelength_m))
                });
                let error_per_m = nearest.map_or(f64::NAN, |it| it.standard_uncertainty_per_m);
                let why = nearest.and_then(|it| {
                    if it.below_dark_level {
                        Some("at least this: no light came through")
                    } else if it.above_faces {
                        Some("more light than clear faces let through")
                    } else {
                        None
                    }
                });
                let estimate = extinction_estimate(mu_per_m, error_per_m);
                self.line(wavelength_m, Some(estimate), true, why, true)
            }
        }
    }

    /// The study at a wavelength of the reduction, where nothing has to be fitted again.
    fn on_grid(&self, wavelength_m: f64) -> Result<Line, Error> {
        match &self.reduction.reduced {
            Reduced::Coefficients(inversion) => {
                let found = inversion
                    .points
                    .iter()
                    .find(|it| it.wavelength_m == wavelength_m);
                self.line(
                    wavelength_m,
                    found.and_then(|it| it.estimate().copied()),
                    found.is_some_and(|it| it.used),
                    found.and_then(|it| it.why().map(reason)),
                    false,
                )
            }
            Reduced::Extinction(extinction) => {
                let mu_per_m = extinction.absorption.at("extinction", wavelength_m)?;
                let row = extinction
                    .residual
                    .iter()
                    .find(|it| it.wavelength_m == wavelength_m);
                let error_per_m = row.map_or(f64::NAN, |it| it.standard_uncertainty_per_m);
                let estimate = extinction_estimate(mu_per_m, error_per_m);
                self.line(wavelength_m, Some(estimate), true, None, false)
            }
        }
    }

    fn line(
        &self,
        wavelength_m: f64,
        estimate: Option<Estimate>,
        used: bool,
        why: Option<&'static str>,
        delivered: bool,
    ) -> Result<Line, Error> {
        let n = self
            .reduction
            .optical
            .refractive_index
            .value
            .at("refractive index", wavelength_m)?;
        let measured: Vec<Reading> = self
            .specimens
            .iter()
            .map(|it| it.reading(n, wavelength_m))
            .collect();
        let known = estimate.filter(|_| used);
        let modelled = match &known {
            Some(it) => measured
                .iter()
                .map(|reading| self.model(reading, it.pair))
                .collect::<Result<_, Error>>()?,
            None => Vec::new(),
        };
        let part = match (self.part_thickness_m, &known) {
            (Some(thickness_m), Some(estimate)) => {
                let part = Part {
                    thickness_m,
                    n,
                    g: self.g(),
                    delivered,
                };
                Some(part_light(&part, estimate)?)
            }
            _ => None,
        };
        Ok(Line {
            wavelength_m,
            measured,
            modelled,
            estimate,
            used,
            why,
            part,
        })
    }

    /// What an instrument reads on a specimen of these coefficients.
    fn model(&self, reading: &Reading, pair: Pair) -> Result<Reading, Error> {
        match &self.reduction.reduced {
            Reduced::Coefficients(it) => predict(reading, pair, &it.setup, Resolution::standard()),
            Reduced::Extinction(_) => {
                let t = slab_transmittance(reading.n, pair.mu_a_per_m, reading.thickness_m);
                Ok(Reading {
                    total_transmittance: reading.total_transmittance.map(|_| t),
                    // One extinction says nothing about what comes back.
                    total_reflectance: None,
                    collimated_transmittance: reading.collimated_transmittance.map(|_| t),
                    ..*reading
                })
            }
        }
    }

    /// Photometric uncertainty the standard errors rest on, absolute; none for an extinction.
    pub fn photometric(&self) -> Option<f64> {
        match &self.reduction.reduced {
            Reduced::Coefficients(inversion) => {
                let Setup {
                    uncertainty: Uncertainty { transmittance, .. },
                    ..
                } = inversion.setup;
                Some(transmittance)
            }
            Reduced::Extinction(_) => None,
        }
    }
}

fn extinction_estimate(mu_per_m: f64, standard_error_per_m: f64) -> Estimate {
    let pair = |mu_a_per_m: f64| Pair {
        mu_a_per_m,
        mu_s_reduced_per_m: 0.0,
    };
    Estimate {
        pair: pair(mu_per_m),
        standard_error: pair(standard_error_per_m),
        correlation: 0.0,
        misfit: 0.0,
        evaluations: 0,
    }
}
