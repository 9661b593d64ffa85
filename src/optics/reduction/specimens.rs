//! Plaques grouped by specimen, and their readings at one wavelength.

use crate::material::plaque::Geometry;
use crate::material::{Plaque, Spectrum};
use crate::optics::invert::Reading;

/// Thicknesses that differ by less than this share are one thickness.
const SAME_THICKNESS: f64 = 1e-3;

/// Thicknesses must differ by this share to tell two coefficients.
const OTHER_THICKNESS: f64 = 1.05;

/// One piece of material with all that was measured on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Specimen {
    /// Name of its plaque.
    pub name: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Total transmittance.
    pub total: Option<Spectrum>,
    /// Total reflectance.
    pub reflectance: Option<Spectrum>,
    /// Collimated transmittance.
    pub collimated: Option<Spectrum>,
}

/// What kind of data two coefficients can be told from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Data {
    /// Total transmittance and total reflectance.
    TotalAndReflectance,
    /// Total and collimated transmittance.
    TotalAndCollimated,
    /// Total transmittance at two or more thicknesses.
    Thicknesses,
}

impl Data {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Data::TotalAndReflectance => "total T and R",
            Data::TotalAndCollimated => "total and collimated T",
            Data::Thicknesses => "total T at several thicknesses",
        }
    }
}

/// True for two measures of one thickness.
pub fn same_thickness(a_m: f64, b_m: f64) -> bool {
    (a_m - b_m).abs() <= SAME_THICKNESS * a_m.max(b_m)
}

/// Groups plaques: collimated transmittance joins the total of the same thickness; holes of the tables
/// are marked as gaps.
pub fn specimens(plaques: &[Plaque]) -> Vec<Specimen> {
    let (collimated, total): (Vec<&Plaque>, Vec<&Plaque>) = plaques
        .iter()
        .partition(|it| it.geometry == Geometry::Collimated);
    let mut all: Vec<Specimen> = total
        .into_iter()
        .map(|it| Specimen {
            name: it.name.clone(),
            thickness_m: it.thickness_m,
            total: Some(it.transmittance.clone()),
            reflectance: it.reflectance.clone(),
            collimated: None,
        })
        .collect();
    for it in collimated {
        let partner = all.iter_mut().find(|specimen| {
            specimen.collimated.is_none() && same_thickness(specimen.thickness_m, it.thickness_m)
        });
        match partner {
            Some(specimen) => {
                specimen.collimated = Some(it.transmittance.clone());
                if specimen.reflectance.is_none() {
                    specimen.reflectance.clone_from(&it.reflectance);
                }
            }
            None => all.push(Specimen {
                name: it.name.clone(),
                thickness_m: it.thickness_m,
                total: None,
                reflectance: it.reflectance.clone(),
                collimated: Some(it.transmittance.clone()),
            }),
        }
    }
    all.into_iter().map(Specimen::with_holes_marked).collect()
}

/// The kind of data, where it can tell two coefficients.
pub(super) fn kind(specimens: &[Specimen]) -> Option<Data> {
    let any = |of: fn(&Specimen) -> &Option<Spectrum>| specimens.iter().any(|it| of(it).is_some());
    let (total, reflectance) = (any(|it| &it.total), any(|it| &it.reflectance));
    let collimated = any(|it| &it.collimated);
    let thickness = specimens
        .iter()
        .filter(|it| it.total.is_some())
        .map(|it| it.thickness_m);
    let (least, most) = thickness.fold((f64::INFINITY, 0.0f64), |(least, most), it| {
        (least.min(it), most.max(it))
    });
    match (total, reflectance, collimated) {
        (true, true, _) | (false, true, true) => Some(Data::TotalAndReflectance),
        (true, false, true) => Some(Data::TotalAndCollimated),
        (true, false, false) if OTHER_THICKNESS * least <= most => Some(Data::Thicknesses),
        _ => None,
    }
}

impl Specimen {
    /// Every spectrum of the specimen with its name.
    pub fn spectra(&self) -> impl Iterator<Item = (&'static str, &Spectrum)> {
        [
            ("total transmittance", &self.total),
            ("total reflectance", &self.reflectance),
            ("collimated transmittance", &self.collimated),
        ]
        .into_iter()
        .filter_map(|(name, it)| it.as_ref().map(|it| (name, it)))
    }

    /// What was measured at a wavelength; no value in a hole of a table.
    pub fn reading(&self, n: f64, wavelength_m: f64) -> Reading {
        let at = |it: &Option<Spectrum>| it.as_ref().and_then(|it| it.at("", wavelength_m).ok());
        Reading {
            thickness_m: self.thickness_m,
            n,
            total_transmittance: at(&self.total),
            total_reflectance: at(&self.reflectance),
            collimated_transmittance: at(&self.collimated),
        }
    }

    /// What an inversion goes by: where total T and R are known, collimated T is left aside, as it
    /// would tell the anisotropy, which is assumed.
    pub(super) fn evidence(&self, n: f64, wavelength_m: f64) -> Reading {
        let reading = self.reading(n, wavelength_m);
        let both = self.total.is_some() && self.reflectance.is_some();
        Reading {
            collimated_transmittance: reading.collimated_transmittance.filter(|_| !both),
            ..reading
        }
    }

    /// The same specimen with the holes of its tables marked as gaps.
    fn with_holes_marked(mut self) -> Self {
        for it in [&mut self.total, &mut self.reflectance, &mut self.collimated]
            .into_iter()
            .flatten()
        {
            let gaps = holes(it);
            *it = it.clone().with_gaps(gaps);
        }
        self
    }
}

/// Holes of a table: intervals more than three times as long as both of their neighbours.
pub(super) fn holes(spectrum: &Spectrum) -> Vec<(f64, f64)> {
    let points = spectrum.points();
    let step = |i: usize| points[i + 1].0 - points[i].0;
    let intervals = points.len().saturating_sub(1);
    (0..intervals)
        .filter(|&i| {
            let before = i.checked_sub(1).map(step);
            let after = (i + 1 < intervals).then(|| step(i + 1));
            let neighbours = before.into_iter().chain(after);
            3.0 * neighbours.fold(f64::NAN, f64::max) < step(i)
        })
        .map(|i| (points[i].0, points[i + 1].0))
        .collect()
}
