//! A measured spectrum as values every 1 nm from 360 to 830 nm, the steps of the CIE tables.
//!
//! | entries of the spectrum | between them |
//! |---|---|
//! | evenly spaced, 1 to 20 nm | Sprague's interpolation (CIE 167) |
//! | not evenly spaced | monotone cubic |
//!
//! Beyond its ends a spectrum keeps its last value, as ASTM E308 has it for tables that stop short of
//! 360 to 780 nm. It must reach at least from [`LEAST_NM`] to [`MOST_NM`].
//!
//! ASTM E308 offers weighting tables for 10 and 20 nm instead. Interpolation to 1 nm treats all steps
//! alike and differs from those tables by less than instruments do. No correction is made for the
//! instrument's band: measure with the band as wide as the step.
//!
//! Checked in: `tests/colour/tristimulus.rs`.

use crate::colour::observer::{ENTRIES, FIRST_NM, LAST_NM};
use crate::error::{ColourProblem, Error};
use crate::material::Spectrum;
use crate::numerics::sprague::Sprague;
use crate::units::NM;

/// Wavelength a spectrum must begin at or before, nm.
pub const LEAST_NM: f64 = 400.0;

/// Wavelength a spectrum must end at or after, nm.
pub const MOST_NM: f64 = 700.0;

/// Largest distance of neighbouring entries, nm: the widest step of ASTM E308.
pub const WIDEST_STEP_NM: f64 = 20.0;

/// Ends of the tables of ASTM E308, nm; beyond them the eye sees next to nothing.
pub const E308_NM: (f64, f64) = (360.0, 780.0);

/// How far beyond the tables entries are used, nm.
const BRIM_NM: f64 = 60.0;

/// Steps that differ by less than this share are even.
const EVEN: f64 = 1e-3;

/// How values between entries came about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Between {
    /// Sprague's interpolation.
    Sprague,
    /// Monotone cubic: the entries are not evenly spaced, or fewer than six.
    MonotoneCubic,
}

/// What the values rest on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// First and last wavelength measured, nm, as far as it is used.
    pub measured_nm: (f64, f64),
    /// Largest step between entries, nm.
    pub step_nm: f64,
    /// How values between entries came about.
    pub between: Between,
}

impl Sampling {
    /// Ranges between 360 and 780 nm where the last value is held, in words; none where all of it was
    /// measured.
    pub fn held(&self) -> Option<String> {
        let (from, to) = self.measured_nm;
        let mut parts = Vec::new();
        if E308_NM.0 + 0.5 < from {
            parts.push(format!("below {from:.0} nm"));
        }
        if to < E308_NM.1 - 0.5 {
            parts.push(format!("above {to:.0} nm"));
        }
        (!parts.is_empty()).then(|| parts.join(" and "))
    }
}

/// A spectrum at every wavelength of the CIE tables.
#[derive(Clone, Debug, PartialEq)]
pub struct Visible {
    /// Shares of light, shape ([`ENTRIES`],).
    pub values: Vec<f64>,
    /// What they rest on.
    pub sampling: Sampling,
}

impl Visible {
    /// The same share at every wavelength.
    pub fn flat(share: f64) -> Self {
        Visible {
            values: vec![share; ENTRIES],
            sampling: Sampling {
                measured_nm: (FIRST_NM as f64, LAST_NM as f64),
                step_nm: 1.0,
                between: Between::Sprague,
            },
        }
    }

    /// Values of a measured spectrum of shares, 0 to 1; `name` is for messages.
    ///
    /// # Errors
    /// It does not reach from [`LEAST_NM`] to [`MOST_NM`], or leaves more than [`WIDEST_STEP_NM`]
    /// between entries.
    pub fn of(name: &str, spectrum: &Spectrum) -> Result<Self, Error> {
        let all: Vec<(f64, f64)> = spectrum
            .points()
            .into_iter()
            .map(|(wavelength_m, share)| (wavelength_m / NM, share))
            .collect();
        let Some((from, to)) = spectrum.range_m().map(|it| (it.0 / NM, it.1 / NM)) else {
            // A constant is the same at every wavelength.
            return Ok(Visible::flat(spectrum.at(name, LEAST_NM * NM)?));
        };
        let slack = 1e-6;
        if LEAST_NM + slack < from || to < MOST_NM - slack {
            return Err(Error::new(ColourProblem::VisibleMissing {
                spectrum: name.into(),
                from_nm: from,
                to_nm: to,
                least_nm: LEAST_NM,
                most_nm: MOST_NM,
            })
            .cure("measure from 360 nm, at least from 400 nm, to 780 nm, at least to 700 nm"));
        }
        check_steps(name, &all)?;
        let (near_from, near_to) = (FIRST_NM as f64 - BRIM_NM, LAST_NM as f64 + BRIM_NM);
        let near: Vec<(f64, f64)> = all
            .into_iter()
            .filter(|it| near_from <= it.0 && it.0 <= near_to)
            .collect();
        sampled(spectrum, even_part(&near), name)
    }
}

fn check_steps(name: &str, all: &[(f64, f64)]) -> Result<(), Error> {
    let wide = all
        .windows(2)
        .map(|it| (it[1].0 - it[0].0, it[0].0))
        .filter(|it| it.1 < MOST_NM && LEAST_NM < it.1 + it.0)
        .find(|it| WIDEST_STEP_NM * (1.0 + EVEN) < it.0);
    match wide {
        Some((step_nm, at_nm)) => Err(Error::new(ColourProblem::StepTooWide {
            spectrum: name.into(),
            step_nm,
            at_nm,
            most_nm: WIDEST_STEP_NM,
        })
        .cure("measure the visible every 10 nm or closer; ASTM E308 goes up to 20 nm")),
        None => Ok(()),
    }
}

/// The entries from the first one on that are evenly spaced, if they reach across the visible.
///
/// Instruments often change their step where the detector changes, beyond the visible.
fn even_part(near: &[(f64, f64)]) -> &[(f64, f64)] {
    let step = |i: usize| near[i + 1].0 - near[i].0;
    if near.len() < 2 {
        return near;
    }
    let same = |i: usize| (step(i) - step(0)).abs() <= EVEN * step(0);
    let end = (1..near.len() - 1)
        .find(|&i| !same(i))
        .map_or(near.len(), |i| i + 1);
    if MOST_NM <= near[end - 1].0 + 1e-6 {
        &near[..end]
    } else {
        near
    }
}

fn sampled(spectrum: &Spectrum, near: &[(f64, f64)], name: &str) -> Result<Visible, Error> {
    let steps: Vec<f64> = near.windows(2).map(|it| it[1].0 - it[0].0).collect();
    let widest = steps.iter().copied().fold(0.0, f64::max);
    let narrowest = steps.iter().copied().fold(f64::INFINITY, f64::min);
    let (from, to) = match (near.first(), near.last()) {
        (Some(first), Some(last)) => (first.0, last.0),
        _ => (LEAST_NM, MOST_NM),
    };
    let even = widest - narrowest <= EVEN * widest;
    let values: Vec<f64> = near.iter().map(|it| it.1).collect();
    let mean_step = (to - from) / (values.len().max(2) - 1) as f64;
    let curve = even
        .then(|| Sprague::new(from, mean_step, &values))
        .flatten();
    let wavelengths = (0..ENTRIES).map(|i| (FIRST_NM + i) as f64);
    let (values, between, measured_nm) = match &curve {
        Some(curve) => (
            wavelengths.map(|nm| curve.at(nm)).collect(),
            Between::Sprague,
            (from, to),
        ),
        None => {
            let range = spectrum
                .range_m()
                .map_or((from, to), |it| (it.0 / NM, it.1 / NM));
            let values = wavelengths
                .map(|nm| spectrum.at(name, nm.clamp(range.0, range.1) * NM))
                .collect::<Result<_, Error>>()?;
            (values, Between::MonotoneCubic, range)
        }
    };
    Ok(Visible {
        values,
        sampling: Sampling {
            measured_nm,
            step_nm: widest,
            between,
        },
    })
}
