//! Plaques to the optical properties of their material: by inversion, or as effective extinction.
//!
//! | data | what comes of them |
//! |---|---|
//! | total T and R of a plaque | µa and µs' by [`invert`](crate::optics::invert) |
//! | total and collimated T | the same, µs' by the assumed g |
//! | total T and R, and collimated T | the same from the totals; collimated T then tells g |
//! | total T of several thicknesses | the same, where the material scatters |
//! | T alone, or plaques that show no scattering | one extinction, [`plaque`](crate::optics::plaque) |
//!
//! A wavelength that the data cannot tell is left out. Where more than two neighbouring ones are
//! left out, the spectra have a gap, which nothing bridges. A coefficient lost in its noise is kept
//! where that noise is small, one standard error times thickness below [`SMALL`]: with T and R known
//! to 0.3 % of the light, one standard error then changes the light delivered by a part of the
//! plaque's thickness by less than 8 % of itself.
//!
//! Plaques that no one pair of coefficients reproduces within the photometric uncertainty have it
//! raised to their misfit, up to [`ANOTHER_MATERIAL`], from which on they are not one material.
//!
//! Holds for: plaques of one material with the skin of the part. Does not hold for: thickness or
//! index that are wrong; both errors go into the coefficients and not into their standard errors.
//!
//! Checked in: `tests/optics/reduction.rs`, `tests/cli/spectra.rs`.

use crate::error::Error;
use crate::material::optical::Reading as Meaning;
use crate::material::plaque::Geometry;
use crate::material::{Optical, Plaque, Sourced, Spectrum, Status};
use crate::optics::invert::{Estimate, Inverse, Reading, Setup, Sphere, Why, invert};
use crate::optics::plaque::{EffectiveExtinction, effective_extinction};
use crate::units::NM;

mod extinction;
mod inversion;
pub mod part_light;
mod remarks;
mod specimens;
mod values;

pub use part_light::{PartLight, Told, part_light};
pub use remarks::reason;
pub use specimens::{Data, Specimen, same_thickness, specimens};

/// Anisotropy where nobody states one: spherulites much larger than the wavelength.
pub const USUAL_G: f64 = 0.9;

/// Photometric standard uncertainty where nobody states one, absolute: 0.3 % of the incident light.
pub const USUAL_PHOTOMETRIC: f64 = 0.003;

/// Standard error of a coefficient lost in noise, times the greatest thickness, up to which it is used
/// as it stands: an eighth of an attenuation length.
pub const SMALL: f64 = 0.125;

/// Misfit, absolute, from which plaques are not of one material.
pub const ANOTHER_MATERIAL: f64 = 0.05;

/// Wavelengths left out in a row that make a gap.
const GAP: usize = 3;

/// Misfit of one extinction, in photometric uncertainties, that shows scattering.
const SHOWS_SCATTERING: f64 = 3.0;

/// What is assumed about material and instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumptions {
    /// Anisotropy.
    pub g: Sourced<f64>,
    /// Photometric standard uncertainty of all readings, absolute.
    pub photometric: f64,
    /// How the sphere collects.
    pub sphere: Sphere,
    /// True where the material is said to scatter.
    pub scatters: bool,
    /// False where one extinction is asked for, whatever was measured.
    pub invert: bool,
}

impl Default for Assumptions {
    fn default() -> Self {
        Assumptions {
            g: Sourced::new(
                USUAL_G,
                "assumed: structure much larger than the wavelength",
                Status::CommonPractice,
            ),
            photometric: USUAL_PHOTOMETRIC,
            sphere: Sphere::ideal(),
            scatters: false,
            invert: true,
        }
    }
}

/// One wavelength of an inversion.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Wavelength, m.
    pub wavelength_m: f64,
    /// What was measured, one reading a specimen.
    pub readings: Vec<Reading>,
    /// What comes of it.
    pub inverse: Inverse,
    /// Whether the coefficients are used.
    pub used: bool,
}

impl Point {
    /// The fit, told or not.
    pub fn estimate(&self) -> Option<&Estimate> {
        estimate(&self.inverse)
    }

    /// Why the point is marked, if it is.
    pub fn why(&self) -> Option<&Why> {
        match &self.inverse {
            Inverse::Found(_) => None,
            Inverse::Undetermined { why, .. } => Some(why),
        }
    }
}

/// Coefficients against wavelength.
#[derive(Clone, Debug, PartialEq)]
pub struct Inversion {
    /// What they rest on.
    pub data: Data,
    /// The pieces that were measured.
    pub specimens: Vec<Specimen>,
    /// Anisotropy, uncertainty in use, and sphere.
    pub setup: Setup,
    /// All wavelengths, ascending.
    pub points: Vec<Point>,
}

/// What the plaques were reduced to.
#[derive(Clone, Debug, PartialEq)]
pub enum Reduced {
    /// Absorption and scattering.
    Coefficients(Inversion),
    /// One extinction; the absorption itself where the plaques show no scattering.
    Extinction(EffectiveExtinction),
}

/// Optical properties of plaques, and how they came about.
#[derive(Clone, Debug, PartialEq)]
pub struct Reduction {
    /// The properties.
    pub optical: Optical,
    /// How they came about.
    pub reduced: Reduced,
    /// What to know about them, one sentence each.
    pub remarks: Vec<String>,
    /// What to know at some wavelengths only: coefficients used though they are lost in noise.
    pub asides: Vec<String>,
}

/// Reduces plaques of one material; `source` names their files.
///
/// # Errors
/// No common wavelengths, values no plaque can have, or plaques of more than one material.
pub fn reduce(
    plaques: &[Plaque],
    refractive_index: Sourced<Spectrum>,
    source: &str,
    assumed: &Assumptions,
) -> Result<Reduction, Error> {
    let specimens = specimens(plaques);
    let data = specimens::kind(&specimens).filter(|_| assumed.invert);
    let mut remarks = remarks::below_face(&specimens, &refractive_index.value, assumed);
    let worth_it = match data {
        None => false,
        Some(Data::Thicknesses) => {
            assumed.scatters || shows_scattering(plaques, &refractive_index.value, assumed)
        }
        Some(_) => true,
    };
    let Some(data) = data.filter(|_| worth_it) else {
        return extinction::reduce(plaques, refractive_index, source, remarks);
    };
    let inversion = inversion::inverted(
        data,
        specimens,
        &refractive_index.value,
        assumed,
        &mut remarks,
    )?;
    if let Some(below_per_m) = clear_below(&inversion) {
        remarks.push(format!(
            "the plaques show no scattering (reduced scattering below {:.2} /mm): the grade is \
             treated as clear, and its extinction is absorption",
            below_per_m * 1e-3
        ));
        let mut reduction = extinction::reduce(plaques, refractive_index, source, remarks)?;
        reduction.optical.reading = Meaning::Coefficients;
        return Ok(reduction);
    }
    let used = inversion.points.iter().filter(|it| it.used).count();
    if used < 2 || 2 * used < inversion.points.len() {
        remarks.push(untold(&inversion));
        return extinction::reduce(plaques, refractive_index, source, remarks);
    }
    if plaques.iter().any(|it| it.geometry == Geometry::Unstated) {
        remarks.push(extinction::UNSTATED.into());
    }
    remarks.extend(remarks::clipped(&inversion));
    remarks.extend(remarks::on_anisotropy(&inversion));
    remarks.extend(remarks::left_out(&inversion));
    Ok(Reduction {
        optical: values::optical(&inversion, refractive_index, source, assumed)?,
        asides: remarks::in_noise(&inversion),
        reduced: Reduced::Coefficients(inversion),
        remarks,
    })
}

fn estimate(inverse: &Inverse) -> Option<&Estimate> {
    match inverse {
        Inverse::Found(estimate) => Some(estimate),
        Inverse::Undetermined { best, .. } => best.as_ref(),
    }
}

/// Whether coefficients are used: both told, or what is lost in noise is small.
fn usable(inverse: &Inverse, thickness_m: f64) -> bool {
    let (why, best) = match inverse {
        Inverse::Found(_) => return true,
        Inverse::Undetermined { why, best } => (why, best),
    };
    let Some(best) = best else {
        return false;
    };
    let small = |error_per_m: f64| error_per_m * thickness_m < SMALL;
    let absorption = small(best.standard_error.mu_a_per_m);
    let scattering = small(best.standard_error.mu_s_reduced_per_m);
    match why {
        Why::AbsorptionInNoise { .. } => absorption,
        Why::ScatteringInNoise { .. } => scattering,
        Why::Insensitive => absorption && scattering,
        _ => false,
    }
}

/// Largest reduced scattering that may be hidden, where most wavelengths show none.
fn clear_below(inversion: &Inversion) -> Option<f64> {
    let below: Vec<f64> = inversion
        .points
        .iter()
        .filter(|it| it.used)
        .filter(|it| {
            matches!(
                it.why(),
                Some(Why::ScatteringInNoise { .. } | Why::Insensitive)
            )
        })
        .filter_map(Point::estimate)
        .map(|it| it.pair.mu_s_reduced_per_m + 2.0 * it.standard_error.mu_s_reduced_per_m)
        .collect();
    (inversion.points.len() < 2 * below.len()).then(|| below.into_iter().fold(0.0, f64::max))
}

/// Why nothing came of an inversion.
fn untold(inversion: &Inversion) -> String {
    let mut reasons: Vec<(&'static str, usize)> = Vec::new();
    for why in inversion
        .points
        .iter()
        .filter(|it| !it.used)
        .filter_map(Point::why)
    {
        let words = reason(why);
        match reasons.iter_mut().find(|it| it.0 == words) {
            Some(known) => known.1 += 1,
            None => reasons.push((words, 1)),
        }
    }
    let main = reasons.iter().max_by_key(|it| it.1).map_or("", |it| it.0);
    let cure = match inversion.data {
        Data::Thicknesses => "measure total R beside total T",
        _ => {
            "check both base lines, and whether the sphere held the specular beam (a gloss trap \
             takes it out)"
        }
    };
    format!(
        "absorption and scattering cannot be told apart at most wavelengths ({main}); transmittance \
         alone is used, as one extinction: {cure}"
    )
}

fn shows_scattering(
    plaques: &[Plaque],
    refractive_index: &Spectrum,
    assumed: &Assumptions,
) -> bool {
    effective_extinction(plaques, refractive_index).is_ok_and(|it| {
        let mut misfits: Vec<f64> = it.residual.iter().map(|it| it.largest).collect();
        misfits.sort_by(f64::total_cmp);
        misfits
            .get(misfits.len() / 2)
            .is_some_and(|it| SHOWS_SCATTERING * assumed.photometric < *it)
    })
}

impl Reduction {
    /// True where the coefficients nearest to a wavelength are marked.
    pub fn is_marked(&self, wavelength_m: f64) -> bool {
        let Reduced::Coefficients(inversion) = &self.reduced else {
            return false;
        };
        let far = |it: &&Point| (it.wavelength_m - wavelength_m).abs();
        inversion
            .points
            .iter()
            .min_by(|a, b| far(a).total_cmp(&far(b)))
            .is_some_and(|it| it.why().is_some())
    }
}

impl Inversion {
    /// The inversion at one wavelength, between entries of the tables where need be.
    ///
    /// # Errors
    /// The index or the plaques do not reach the wavelength.
    pub fn at(&self, optical: &Optical, wavelength_m: f64) -> Result<Point, Error> {
        let n = optical
            .refractive_index
            .value
            .at("refractive index", wavelength_m)?;
        let readings: Vec<Reading> = self
            .specimens
            .iter()
            .map(|it| it.evidence(n, wavelength_m))
            .collect();
        let inverse = invert(&readings, &self.setup).unwrap_or(Inverse::Undetermined {
            why: Why::Missing,
            best: None,
        });
        // A wavelength inside a gap stays out, whatever a single reading there says.
        let known = optical.at("the plaques", wavelength_m).is_ok();
        let thickness_m = self
            .specimens
            .iter()
            .fold(0.0f64, |most, it| most.max(it.thickness_m));
        Ok(Point {
            wavelength_m,
            readings,
            used: known && usable(&inverse, thickness_m),
            inverse,
        })
    }

    /// How the coefficients came about, for a list of sources.
    pub fn method(&self) -> String {
        format!(
            "{}, inverse adding-doubling, g = {} assumed, photometric uncertainty {:.2} %",
            self.data.words(),
            self.setup.g,
            100.0 * self.setup.uncertainty.transmittance
        )
    }
}

/// First and last wavelength of a spectrum and its median step, nm, for print.
pub fn range_and_step_nm(spectrum: &Spectrum) -> Option<(f64, f64, f64)> {
    let (from, to) = spectrum.range_m()?;
    let points = spectrum.points();
    let mut steps: Vec<f64> = points.windows(2).map(|it| it[1].0 - it[0].0).collect();
    steps.sort_by(f64::total_cmp);
    let step = steps.get(steps.len() / 2)?;
    Some((from / NM, to / NM, step / NM))
}
