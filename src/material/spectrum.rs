//! A quantity against wavelength: one constant, or a measured table that is never extrapolated.

use crate::error::{Error, MaterialProblem};
use crate::numerics::interpolate::{MonotoneCubic, TableFault};
use crate::units::NM;

/// A quantity against vacuum wavelength.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectrum {
    shape: Shape,
    /// Intervals inside a table that nobody measured, m; ascending.
    gaps_m: Vec<(f64, f64)>,
    /// One standard deviation divided by the value, where known; of a table the usual one.
    pub relative_uncertainty: Option<f64>,
    /// Wavelength, m, and standard error of each entry of a table, where known.
    standard_errors: Vec<(f64, f64)>,
}

#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Constant(f64),
    Table(MonotoneCubic),
}

impl Spectrum {
    /// The same value at every wavelength: the user states it for the wavelength in use.
    pub fn constant(value: f64) -> Self {
        Spectrum {
            shape: Shape::Constant(value),
            gaps_m: Vec::new(),
            relative_uncertainty: None,
            standard_errors: Vec::new(),
        }
    }

    /// A table of `value` (SI) at ascending `wavelength_m`, monotone cubic between entries.
    ///
    /// # Errors
    /// Fewer than two entries, not ascending, or not finite; `quantity` names the table.
    pub fn table(quantity: &str, wavelength_m: Vec<f64>, value: Vec<f64>) -> Result<Self, Error> {
        let entries = wavelength_m.clone();
        let values = value.clone();
        let table = MonotoneCubic::new(wavelength_m, value).map_err(|fault| match fault {
            TableFault::TooShort { entries } => MaterialProblem::TooShort {
                quantity: quantity.into(),
                entries,
                needed: 2,
            },
            TableFault::NotAscending { index } => MaterialProblem::NotAscending {
                quantity: quantity.into(),
                entry: index + 1,
                value: entries[index],
                before: entries[index - 1],
            },
            TableFault::NotFinite { index } => MaterialProblem::BadNumber {
                quantity: quantity.into(),
                value: values[index],
                must: "a finite number".into(),
            },
        })?;
        Ok(Spectrum {
            shape: Shape::Table(table),
            gaps_m: Vec::new(),
            relative_uncertainty: None,
            standard_errors: Vec::new(),
        })
    }

    /// The same table, not known between the ends of each of `gaps_m` (m): nothing bridges a gap.
    ///
    /// ```
    /// use lightseam::material::Spectrum;
    ///
    /// let table = Spectrum::table("T", vec![900e-9, 910e-9, 1000e-9], vec![0.5, 0.6, 0.7])?;
    /// let table = table.with_gaps(vec![(910e-9, 1000e-9)]);
    /// assert!(table.at("T", 910e-9).is_ok() && table.at("T", 950e-9).is_err());
    /// # Ok::<(), lightseam::error::Error>(())
    /// ```
    pub fn with_gaps(self, gaps_m: Vec<(f64, f64)>) -> Self {
        Spectrum { gaps_m, ..self }
    }

    /// Intervals inside the table where the quantity is not known, m.
    pub fn gaps_m(&self) -> &[(f64, f64)] {
        &self.gaps_m
    }

    /// The same spectrum with every value multiplied by a factor.
    pub fn scaled(&self, factor: f64) -> Self {
        Spectrum {
            shape: match &self.shape {
                Shape::Constant(value) => Shape::Constant(value * factor),
                Shape::Table(table) => Shape::Table(table.scaled(factor)),
            },
            gaps_m: self.gaps_m.clone(),
            relative_uncertainty: self.relative_uncertainty,
            standard_errors: (self.standard_errors.iter())
                .map(|(wavelength_m, error)| (*wavelength_m, factor.abs() * error))
                .collect(),
        }
    }

    /// The same table with the standard error of every entry; the usual relative uncertainty is
    /// their median.
    pub fn with_standard_errors(self, errors: &[f64]) -> Self {
        let points = self.points();
        let mut ratios: Vec<f64> = points
            .iter()
            .zip(errors)
            .map(|(point, error)| error / point.1)
            .filter(|it| it.is_finite())
            .collect();
        ratios.sort_by(f64::total_cmp);
        Spectrum {
            relative_uncertainty: ratios.get(ratios.len() / 2).copied(),
            standard_errors: points
                .iter()
                .zip(errors)
                .map(|(point, error)| (point.0, *error))
                .collect(),
            ..self
        }
    }

    /// One standard deviation divided by the value at a wavelength, where known: from the standard
    /// errors of the entries on either side, or what holds for the whole spectrum.
    ///
    /// ```
    /// use lightseam::material::Spectrum;
    ///
    /// let table = Spectrum::table("T", vec![900e-9, 910e-9], vec![0.5, 0.7])?;
    /// let table = table.with_standard_errors(&[0.01, 0.05]);
    /// let half_way = table.relative_uncertainty_at(905e-9).unwrap();
    /// assert!((half_way - 0.03 / 0.6).abs() < 1e-12);
    /// # Ok::<(), lightseam::error::Error>(())
    /// ```
    pub fn relative_uncertainty_at(&self, wavelength_m: f64) -> Option<f64> {
        let value = self.at("", wavelength_m).ok()?;
        let errors = &self.standard_errors;
        let (Some(first), Some(last)) = (errors.first(), errors.last()) else {
            return self.relative_uncertainty;
        };
        let above = errors.partition_point(|it| it.0 < wavelength_m);
        let error = match (above.checked_sub(1).map(|i| errors[i]), errors.get(above)) {
            (Some(before), Some(after)) => {
                let along = (wavelength_m - before.0) / (after.0 - before.0);
                before.1 + along * (after.1 - before.1)
            }
            (None, _) => first.1,
            (_, None) => last.1,
        };
        Some(error / value).filter(|it| it.is_finite())
    }

    /// Value at a wavelength, SI.
    ///
    /// # Errors
    /// The wavelength lies outside the table or in one of its gaps; `quantity` names it in the
    /// message.
    pub fn at(&self, quantity: &str, wavelength_m: f64) -> Result<f64, Error> {
        match &self.shape {
            Shape::Constant(value) => Ok(*value),
            Shape::Table(table) => {
                let (from, to) = table.range();
                // A nanometre typed in decimal may miss the end of a table by a rounding error.
                let slack = 1e-9 * to;
                if wavelength_m < from - slack || to + slack < wavelength_m {
                    return Err(Error::new(MaterialProblem::OutsideSpectrum {
                        quantity: quantity.into(),
                        wavelength_nm: wavelength_m / NM,
                        from_nm: from / NM,
                        to_nm: to / NM,
                    })
                    .cure("choose a wavelength inside the measured range, or measure further"));
                }
                let inside = |gap: &&(f64, f64)| {
                    gap.0 + slack < wavelength_m && wavelength_m < gap.1 - slack
                };
                if let Some((from, to)) = self.gaps_m.iter().find(inside) {
                    return Err(Error::new(MaterialProblem::InsideGap {
                        quantity: quantity.into(),
                        wavelength_nm: wavelength_m / NM,
                        from_nm: from / NM,
                        to_nm: to / NM,
                    })
                    .cure("choose a wavelength outside the gap, or measure plaques that tell it"));
                }
                Ok(table.at(wavelength_m))
            }
        }
    }

    /// Shortest and longest wavelength of a table, m; none for a constant.
    pub fn range_m(&self) -> Option<(f64, f64)> {
        match &self.shape {
            Shape::Constant(_) => None,
            Shape::Table(table) => Some(table.range()),
        }
    }

    /// The entries of a table as (wavelength in m, value); empty for a constant.
    pub fn points(&self) -> Vec<(f64, f64)> {
        match &self.shape {
            Shape::Constant(_) => Vec::new(),
            Shape::Table(table) => table.points().collect(),
        }
    }
}
