//! What to know about a reduction, in sentences.

use crate::optics::invert::Why;
use crate::optics::reduction::{Inversion, Point, Specimen};
use crate::units::{NM, PER_MM};

/// Why a wavelength is left out, as a short reason.
pub fn reason(why: &Why) -> &'static str {
    match why {
        Why::Missing => "a value is missing",
        Why::Unphysical => "R + T is above 100 %",
        Why::NotReproduced => "no coefficients reproduce the plaques",
        Why::AbsorptionInNoise { .. } => "absorption is lost in the noise",
        Why::ScatteringInNoise { .. } => "scattering is lost in the noise",
        Why::TwoAnswers { .. } => "two pairs of coefficients read the same",
        Why::Insensitive => "the plaques tell neither coefficient",
    }
}

/// Remarks about wavelengths left out, and about coefficients below their noise.
pub(super) fn remarks(inversion: &Inversion) -> Vec<String> {
    let mut all = Vec::new();
    let mut reasons: Vec<&'static str> = Vec::new();
    for point in inversion.points.iter().filter(|it| !it.used) {
        let reason = point.why().map_or("", reason);
        if !reasons.contains(&reason) {
            reasons.push(reason);
        }
    }
    for reason in reasons {
        let runs = runs(&inversion.points, |it| {
            !it.used && it.why().map_or("", self::reason) == reason
        });
        all.push(format!(
            "{} of {} wavelengths are left out ({}): {reason}",
            runs.count,
            inversion.points.len(),
            runs.words
        ));
    }
    let below = |it: &Point| match it.why() {
        Some(Why::AbsorptionInNoise { below_per_m }) if it.used => Some(*below_per_m),
        _ => None,
    };
    let runs = runs(&inversion.points, |it| below(it).is_some());
    if let Some(most) = inversion.points.iter().filter_map(below).reduce(f64::max) {
        all.push(format!(
            "absorption is within its noise at {} of {} wavelengths ({}), below {:.2} /mm there: the \
             best value is used with its standard error",
            runs.count,
            inversion.points.len(),
            runs.words,
            1e-2 * (most / PER_MM * 1e2).ceil()
        ));
    }
    all
}

/// Remark where some spectrum reaches further than all of them do.
pub(super) fn clipped(inversion: &Inversion) -> Option<String> {
    let (first, last) = (inversion.points.first()?, inversion.points.last()?);
    let spectra = inversion.specimens.iter().flat_map(Specimen::spectra);
    let ranges = spectra.filter_map(|(_, it)| it.range_m());
    let (least, most) = ranges.fold((f64::INFINITY, 0.0f64), |(least, most), it| {
        (least.min(it.0), most.max(it.1))
    });
    (least < first.wavelength_m || last.wavelength_m < most).then(|| {
        format!(
            "spectra clipped to {:.0} to {:.0} nm, the range common to all plaques and the \
             refractive index",
            first.wavelength_m / NM,
            last.wavelength_m / NM
        )
    })
}

struct Runs {
    count: usize,
    words: String,
}

/// Ranges of the wavelengths that `of` picks.
fn runs(points: &[Point], of: impl Fn(&Point) -> bool) -> Runs {
    let mut ranges: Vec<(usize, usize)> = Vec::new();
    for (i, _) in points.iter().enumerate().filter(|(_, it)| of(it)) {
        match ranges.last_mut() {
            // A single wavelength between two runs does not part them in print.
            Some(last) if i <= last.1 + 2 => last.1 = i,
            _ => ranges.push((i, i)),
        }
    }
    let nm = |i: usize| points[i].wavelength_m / NM;
    let mut words: Vec<String> = ranges
        .iter()
        .take(4)
        .map(|&(from, to)| {
            if from == to {
                format!("{:.0} nm", nm(from))
            } else {
                format!("{:.0} to {:.0} nm", nm(from), nm(to))
            }
        })
        .collect();
    if 4 < ranges.len() {
        words.push("and others".into());
    }
    Runs {
        count: points.iter().filter(|it| of(it)).count(),
        words: words.join(", "),
    }
}
