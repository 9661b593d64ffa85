//! One coloured plaque: what it looks like, and how much of the laser a part of it lets through.
//!
//! ```text
//! retained transmission = T / T of the natural grade, same thickness and wavelength
//! effective extinction  = −ln t / d, t the transmittance of the plaque without its faces
//! ```
//!
//! The light in a part is found as by the command `spectra`, from the readings near the laser line
//! alone: where a black hides the visible, nothing is to be learnt from it about the laser.
//!
//! Checked in: `tests/study/colours.rs`.

use crate::colour::{
    Lab, Observer, Swatch, Tristimulus, Visible, contrast_ratio, swatch, tristimulus,
};
use crate::error::{Error, Place};
use crate::material::{Optical, Plaque, Sourced, Spectrum};
use crate::optics::adding_doubling::{Incidence, Resolution, totals};
use crate::optics::invert::Estimate;
use crate::optics::plaque::{DARK_LEVEL, slab_extinction_per_m};
use crate::optics::reduction::part_light::Told;
use crate::optics::reduction::{Assumptions, PartLight};
use crate::optics::slab::{Slab, Stack};
use crate::study::plaques::{Question, study};
use crate::units::NM;
use crate::weld::Part;

/// Readings this far from the laser line are looked at, m.
const NEAR_M: f64 = 50.0 * NM;

/// Readings that are looked at in any case.
const LEAST_READINGS: usize = 8;

/// What a colour is the colour of, in the order of preference: an upper part is seen over the black
/// body it is welded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Seen {
    /// Light reflected by the plaque over a black backing.
    OverBlack,
    /// Light reflected by the plaque by itself.
    Alone,
    /// Light reflected by the plaque over a white backing.
    OverWhite,
    /// Light that comes through.
    Transmitted,
}

impl Seen {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Seen::OverBlack => "reflectance over black",
            Seen::Alone => "reflectance",
            Seen::OverWhite => "reflectance over white",
            Seen::Transmitted => "transmittance",
        }
    }
}

/// A coloured plaque as measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// Name, such as that of the batch.
    pub name: String,
    /// Its file.
    pub file: String,
    /// Plaques with their transmittance; empty where only colour was measured.
    pub plaques: Vec<Plaque>,
    /// Spectra that have a colour, at most one of a kind, in the order of [`Seen`].
    pub curves: Vec<(Seen, Spectrum)>,
}

impl Sample {
    /// Where its spectra begin, for messages.
    pub fn place(&self) -> Place {
        Place {
            file: self.file.clone(),
            line: Some(1),
            column: None,
        }
    }
}

/// A colour for one observer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Appearance {
    /// Tristimulus values under D65.
    pub tristimulus: Tristimulus,
    /// L*a*b* under D65.
    pub lab: Lab,
}

/// The colour of one spectrum.
#[derive(Clone, Debug, PartialEq)]
pub struct Colour {
    /// What it is the colour of.
    pub seen: Seen,
    /// The spectrum every 1 nm.
    pub visible: Visible,
    /// For the 2° and the 10° observer.
    pub appearances: [Appearance; 2],
    /// On a screen.
    pub swatch: Swatch,
}

impl Colour {
    /// The colour of a spectrum; `name` is for messages.
    ///
    /// # Errors
    /// As [`Visible::of`].
    pub fn of(name: &str, seen: Seen, spectrum: &Spectrum) -> Result<Self, Error> {
        let visible = Visible::of(&format!("{} of {name}", seen.words()), spectrum)?;
        let appearances = Observer::ALL.map(|observer| {
            let tristimulus = tristimulus(&visible, observer);
            Appearance {
                tristimulus,
                lab: Lab::of(tristimulus, observer),
            }
        });
        Ok(Colour {
            seen,
            visible,
            appearances,
            swatch: swatch(appearances[0].tristimulus),
        })
    }

    /// The colour for an observer.
    pub fn to(&self, observer: Observer) -> Appearance {
        match observer {
            Observer::TwoDegrees => self.appearances[0],
            Observer::TenDegrees => self.appearances[1],
        }
    }
}

/// The colours of a sample, in the order of [`Seen`].
///
/// # Errors
/// A spectrum does not cover the visible; transmittance may, where a reflectance does.
pub fn colours(sample: &Sample) -> Result<Vec<Colour>, Error> {
    let mut found = Vec::with_capacity(sample.curves.len());
    for (seen, spectrum) in &sample.curves {
        match Colour::of(&sample.name, *seen, spectrum) {
            Ok(colour) => found.push(colour),
            // The transmittance of a part may be that of the near infrared alone.
            Err(_) if *seen == Seen::Transmitted && !found.is_empty() => {}
            Err(error) => return Err(error.at(sample.place())),
        }
    }
    Ok(found)
}

/// Contrast ratio of a sample measured over black and over white.
pub fn opacity(colours: &[Colour], observer: Observer) -> Option<f64> {
    let y = |seen: Seen| {
        let colour = colours.iter().find(|it| it.seen == seen)?;
        Some(colour.to(observer).tristimulus)
    };
    contrast_ratio(y(Seen::OverBlack)?, y(Seen::OverWhite)?)
}

/// What is asked about the laser.
#[derive(Clone, Debug, PartialEq)]
pub struct LaserQuestion {
    /// Wavelength, m.
    pub line_m: f64,
    /// Thickness of the part, m; none for that of the plaque.
    pub part_thickness_m: Option<f64>,
    /// Refractive index of the material.
    pub refractive_index: Sourced<Spectrum>,
    /// What is assumed where plaques are reduced.
    pub assumed: Assumptions,
}

/// The laser in a sample.
#[derive(Clone, Debug, PartialEq)]
pub struct LaserLight {
    /// Wavelength, m.
    pub line_m: f64,
    /// Thickness of the first plaque, m.
    pub plaque_thickness_m: f64,
    /// Its transmittance.
    pub plaque_transmittance: f64,
    /// Its effective extinction, 1/m.
    pub extinction_per_m: f64,
    /// Thickness of the part, m.
    pub part_thickness_m: f64,
    /// Coefficients, or the extinction as absorption; none where the plaques do not tell.
    pub estimate: Option<Estimate>,
    /// Light in the part; none where the plaques do not tell.
    pub part: Option<PartLight>,
    /// Optical properties near the line, for a weld.
    pub optical: Optical,
    /// What to know about them, one sentence each.
    pub remarks: Vec<String>,
}

impl LaserLight {
    /// Total transmittance of the part in air.
    pub fn transmittance(&self) -> Option<Told> {
        self.part.map(|it| it.transmitted)
    }
}

/// How a sample lets the laser through; none where no transmittance was measured.
///
/// # Errors
/// The laser line lies outside the spectra, or the plaques contradict each other.
pub fn laser_light(sample: &Sample, asked: &LaserQuestion) -> Result<Option<LaserLight>, Error> {
    match sample.plaques.first() {
        Some(first) => light_of(sample, first, asked)
            .map(Some)
            .map_err(|it| it.at(sample.place())),
        None => Ok(None),
    }
}

fn light_of(sample: &Sample, first: &Plaque, asked: &LaserQuestion) -> Result<LaserLight, Error> {
    for plaque in &sample.plaques {
        let all = [
            ("transmittance", Some(&plaque.transmittance)),
            ("reflectance", plaque.reflectance.as_ref()),
        ];
        for (quantity, spectrum) in all {
            if let Some(spectrum) = spectrum {
                spectrum.at(&format!("{quantity} of \"{}\"", plaque.name), asked.line_m)?;
            }
        }
    }
    let plaques = sample
        .plaques
        .iter()
        .map(|it| near_line(it, asked.line_m))
        .collect::<Result<Vec<_>, Error>>()?;
    let part_thickness_m = asked.part_thickness_m.unwrap_or(first.thickness_m);
    let question = Question {
        wavelengths_m: vec![asked.line_m],
        part_thickness_m: Some(part_thickness_m),
        curves: false,
    };
    let mut found = study(
        &plaques,
        asked.refractive_index.clone(),
        &sample.file,
        &asked.assumed,
        &question,
    )?;
    let line = found.lines.pop();
    let n = asked
        .refractive_index
        .value
        .at("refractive index", asked.line_m)?;
    let transmittance = first.transmittance.at("transmittance", asked.line_m)?;
    let extinction = slab_extinction_per_m(n, transmittance.max(DARK_LEVEL), first.thickness_m);
    Ok(LaserLight {
        line_m: asked.line_m,
        plaque_thickness_m: first.thickness_m,
        plaque_transmittance: transmittance,
        extinction_per_m: extinction.max(0.0),
        part_thickness_m,
        estimate: line.as_ref().and_then(|it| it.estimate.filter(|_| it.used)),
        part: line.and_then(|it| it.part),
        optical: found.reduction.optical,
        remarks: found.reduction.remarks,
    })
}

/// A plaque with its readings near a wavelength.
fn near_line(plaque: &Plaque, line_m: f64) -> Result<Plaque, Error> {
    let cut = |quantity: &str, spectrum: &Spectrum| -> Result<Spectrum, Error> {
        let points = spectrum.points();
        let far = |it: &(f64, f64)| (it.0 - line_m).abs();
        let mut distances: Vec<f64> = points.iter().map(far).collect();
        distances.sort_by(f64::total_cmp);
        let reach_m = distances
            .get(LEAST_READINGS.min(distances.len()).saturating_sub(1))
            .map_or(NEAR_M, |it| it.max(NEAR_M));
        let kept = points.into_iter().filter(|it| far(it) <= reach_m);
        let (wavelength_m, value) = kept.unzip();
        let mut cut = Spectrum::table(quantity, wavelength_m, value)?;
        cut.relative_uncertainty = spectrum.relative_uncertainty;
        Ok(cut)
    };
    Ok(Plaque {
        transmittance: cut("transmittance", &plaque.transmittance)?,
        reflectance: plaque
            .reflectance
            .as_ref()
            .map(|it| cut("reflectance", it))
            .transpose()?,
        ..plaque.clone()
    })
}

/// Transmittance in air of a part of a joint at a wavelength.
///
/// # Errors
/// Its data do not reach the wavelength.
pub fn part_transmittance(part: &Part, line_m: f64) -> Result<f64, Error> {
    let slab = Slab {
        thickness_m: part.thickness_m,
        constants: part.optical_at(line_m)?,
    };
    let light = totals(
        &Stack::alone(slab),
        Incidence::Normal,
        Resolution::standard(),
    )?;
    Ok(light.transmitted)
}
