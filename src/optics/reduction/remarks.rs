//! What to know about a reduction, in sentences.

use crate::material::Spectrum;
use crate::optics::fresnel::{Boundary, reflectance};
use crate::optics::invert::Why;
use crate::optics::plaque::slab_extinction_per_m;
use crate::optics::reduction::{Assumptions, Data, Inversion, Point, Specimen};
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

/// Share of the wavelengths at which a reflectance must be too small before it is remarked.
const OFTEN: f64 = 0.1;

/// Remark where a plaque reflects less than its face alone does, by more than three photometric
/// uncertainties, though the specular beam is said to be in the readings.
pub(super) fn below_face(
    specimens: &[Specimen],
    refractive_index: &Spectrum,
    assumed: &Assumptions,
) -> Vec<String> {
    if !assumed.sphere.specular_included || !assumed.invert {
        return Vec::new();
    }
    let mut all = Vec::new();
    for specimen in specimens {
        let points = specimen.reflectance.as_ref().map(Spectrum::points);
        let points = points.unwrap_or_default();
        let low: Vec<(f64, f64, f64)> = points
            .iter()
            .filter_map(|&(wavelength_m, reflected)| {
                let n = refractive_index.at("refractive index", wavelength_m).ok()?;
                let from_air = Boundary {
                    n_from: 1.0,
                    n_into: n,
                };
                let face = reflectance(from_air, 1.0);
                let least = face - 3.0 * assumed.photometric;
                (reflected < least).then_some((reflected, face, wavelength_m))
            })
            .collect();
        if (low.len() as f64) < OFTEN * points.len() as f64 {
            continue;
        }
        if let Some((reflected, face, wavelength_m)) =
            low.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))
        {
            all.push(format!(
                "plaque \"{}\" reflects {:.2} % at {:.0} nm, where its face alone reflects {:.1} %: if a \
                 gloss trap took the specular beam out, say so (--specular excluded; in a joint file \
                 [optics] specular = \"excluded\"); if the values are fractions, write [fraction] into \
                 the name of the column",
                specimen.name,
                100.0 * reflected,
                wavelength_m / NM,
                100.0 * face
            ));
        }
    }
    all
}

/// Remarks about wavelengths left out.
pub(super) fn left_out(inversion: &Inversion) -> Vec<String> {
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
    all
}

/// Remarks about coefficients that are used though they are lost in noise.
pub(super) fn in_noise(inversion: &Inversion) -> Vec<String> {
    type Below = fn(&Why) -> Option<f64>;
    let mut all = Vec::new();
    let kinds: [(&str, Below); 2] = [
        ("absorption", |it| match it {
            Why::AbsorptionInNoise { below_per_m } => Some(*below_per_m),
            _ => None,
        }),
        ("reduced scattering", |it| match it {
            Why::ScatteringInNoise { below_per_m } => Some(*below_per_m),
            _ => None,
        }),
    ];
    for (name, of) in kinds {
        let below = |it: &Point| it.why().filter(|_| it.used).and_then(of);
        let runs = runs(&inversion.points, |it| below(it).is_some());
        if let Some(most) = inversion.points.iter().filter_map(below).reduce(f64::max) {
            all.push(format!(
                "{name} is within its noise at {} of {} wavelengths ({}), below {:.2} /mm there: the \
                 best value is used with its standard error",
                runs.count,
                inversion.points.len(),
                runs.words,
                1e-2 * (most / PER_MM * 1e2).ceil()
            ));
        }
    }
    all
}

/// What collimated transmittance tells, where there is some.
pub(super) fn on_anisotropy(inversion: &Inversion) -> Option<String> {
    let assumed = inversion.setup.g;
    if inversion.data == Data::TotalAndCollimated {
        return Some(format!(
            "collimated transmittance tells scattering µs; reduced scattering is µs (1 − g) and goes \
             by the assumed g = {assumed}: total reflectance beside it settles both"
        ));
    }
    let told = anisotropy(inversion)?;
    let cure = if (told - assumed).abs() < 0.02 {
        ""
    } else {
        ": state it with --g, or as anisotropy beside the spectra"
    };
    Some(format!(
        "collimated transmittance is left aside, as total T and R tell absorption and reduced \
         scattering; it tells g = {told:.2}, where {assumed} is assumed{cure}"
    ))
}

/// Median anisotropy from collimated transmittance, g = 1 − µs' / (µt − µa); none without.
fn anisotropy(inversion: &Inversion) -> Option<f64> {
    let least = 5.0 * inversion.setup.uncertainty.collimated;
    let mut all = Vec::new();
    for point in inversion.points.iter().filter(|it| it.used) {
        let (Some(estimate), Some(reading)) = (point.estimate(), point.readings.first()) else {
            continue;
        };
        for specimen in &inversion.specimens {
            let beam = specimen
                .reading(reading.n, point.wavelength_m)
                .collimated_transmittance;
            let both = specimen.total.is_some() && specimen.reflectance.is_some();
            if let Some(beam) = beam.filter(|it| both && least < *it) {
                let mu_t = slab_extinction_per_m(reading.n, beam, specimen.thickness_m);
                let mu_s = mu_t - estimate.pair.mu_a_per_m;
                all.push(1.0 - estimate.pair.mu_s_reduced_per_m / mu_s);
            }
        }
    }
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied()
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
