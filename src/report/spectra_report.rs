//! What plaques say: answer, tables, JSON and page of the command `spectra`.

use serde_json::{Value, json as object};

use crate::material::Plaque;
use crate::material::optical::Reading as Meaning;
use crate::material::plaque::Geometry;
use crate::optics::invert::{Estimate, Reading};
use crate::optics::reduction::{Reduced, Told, range_and_step_nm};
use crate::report::answer::Fact;
use crate::report::bundle::{Part, Report};
use crate::report::cautions::{self, Laser};
use crate::report::number;
use crate::report::page::{Answer, Page, Section, Tone};
use crate::report::spectra_figures::figures;
use crate::report::spectra_tables::{behind, lines_table, part_table, plaques_table};
use crate::report::table::Table;
use crate::study::plaques::{Line, PlaqueStudy};
use crate::units::{MM, NM};

/// Plaques with what became of them.
#[derive(Clone, Debug, PartialEq)]
pub struct SpectraResult {
    /// The plaques as read.
    pub plaques: Vec<Plaque>,
    /// The files of each plaque.
    pub files: Vec<String>,
    /// What they say.
    pub study: PlaqueStudy,
    /// Refractive index.
    pub n: f64,
    /// What to know, one sentence each.
    pub remarks: Vec<String>,
}

/// Wavelength of the headline where it is inside, nm.
const USUAL_NM: f64 = 980.0;

impl SpectraResult {
    /// The line of the headline: the first asked for, or that of the commonest laser.
    fn telling(&self) -> Option<&Line> {
        let lines = &self.study.lines;
        let usual = lines
            .iter()
            .find(|it| (it.wavelength_m / NM - USUAL_NM).abs() < 0.5);
        usual.or_else(|| lines.first())
    }

    /// What was read and assumed.
    pub fn facts(&self) -> Vec<Fact> {
        let fact = |name: &str, value: String| (name.to_string(), value);
        let count = self.plaques.len();
        let thickness = joined(self.study.specimens.iter().map(|it| it.thickness_m / MM));
        let mut facts = vec![fact(
            "plaques",
            format!(
                "{count} {}, {thickness} mm",
                if count == 1 { "spectrum" } else { "spectra" }
            ),
        )];
        if let Some((from, to)) = self.study.range_m() {
            let finest = self
                .plaques
                .iter()
                .filter_map(|it| range_and_step_nm(&it.transmittance))
                .fold(f64::INFINITY, |least, it| least.min(it.2));
            facts.push(fact(
                "wavelengths",
                format!(
                    "{} to {}, every {} nm",
                    number::wavelength(from),
                    number::wavelength(to),
                    number::short(finest, 3)
                ),
            ));
        }
        match &self.study.reduction.reduced {
            Reduced::Coefficients(it) => {
                facts.push(fact(
                    "reduced by",
                    format!("inverse adding-doubling from {}", it.data.words()),
                ));
                facts.push(fact(
                    "assumed",
                    format!(
                        "index {}, g = {}, photometric uncertainty {}",
                        number::short(self.n, 4),
                        it.setup.g,
                        number::percent(it.setup.uncertainty.transmittance, 2)
                    ),
                ));
            }
            Reduced::Extinction(_) => {
                let what = match self.study.meaning() {
                    Meaning::Coefficients => "the plaques are clear: extinction is absorption",
                    Meaning::EffectiveExtinction => {
                        "one extinction from transmittance, surface loss taken off"
                    }
                };
                facts.push(fact("reduced to", what.into()));
                facts.push(fact(
                    "assumed",
                    format!("index {}", number::short(self.n, 4)),
                ));
            }
        }
        facts
    }
}

fn joined(values: impl Iterator<Item = f64>) -> String {
    let mut words: Vec<String> = values.map(|it| number::short(it, 4)).collect();
    words.dedup();
    match words.as_slice() {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => words.concat(),
    }
}

/// The answer in one sentence.
pub fn headline(result: &SpectraResult) -> String {
    let Some(line) = result.telling() else {
        return "no laser line lies inside these spectra; name a wavelength with --at".into();
    };
    let at = number::wavelength(line.wavelength_m);
    let Some(estimate) = line.estimate.filter(|_| line.used) else {
        return format!(
            "at {at} the plaques do not tell absorption from scattering: {}",
            line.why.unwrap_or("a value is missing")
        );
    };
    let coefficients = match (&result.study.reduction.reduced, result.study.meaning()) {
        (Reduced::Coefficients(_), _) => format!(
            "absorption {} /mm, reduced scattering {} /mm",
            absorption_words(&estimate),
            scattering_words(&estimate)
        ),
        (_, Meaning::Coefficients) => format!("absorption {} /mm", absorption_words(&estimate)),
        _ => format!("effective extinction {} /mm", absorption_words(&estimate)),
    };
    let part = match (&line.part, result.study.part_thickness_m) {
        (Some(part), Some(thickness_m)) => format!(
            "; {} of it transmit {} in air and deliver {} to a black part in contact",
            number::length(thickness_m, 3),
            told_words(part.transmitted),
            part.delivered.map_or(number::MISSING.into(), told_words),
        ),
        _ => String::new(),
    };
    format!("at {at}: {coefficients}{part}")
}

/// "0.191 ± 0.003", the error with two digits and the value as far.
pub(crate) fn plus_minus(value: f64, error: f64) -> String {
    if !(error.is_finite() && 0.0 < error) {
        return number::significant(value, 3);
    }
    let decimals = (1 - error.log10().floor() as i32).clamp(0, 6) as usize;
    format!("{value:.decimals$} ± {error:.decimals$}")
}

/// Absorption in 1/mm with its error.
pub(crate) fn absorption_words(it: &Estimate) -> String {
    plus_minus(it.pair.mu_a_per_m * MM, it.standard_error.mu_a_per_m * MM)
}

/// Reduced scattering in 1/mm with its error.
pub(crate) fn scattering_words(it: &Estimate) -> String {
    plus_minus(
        it.pair.mu_s_reduced_per_m * MM,
        it.standard_error.mu_s_reduced_per_m * MM,
    )
}

/// A share in percent with its error.
pub(crate) fn told_words(it: Told) -> String {
    format!(
        "{} %",
        plus_minus(100.0 * it.value, 100.0 * it.standard_error)
    )
}

/// Tables of the answer.
pub fn tables(result: &SpectraResult) -> Vec<Table> {
    let mut all = vec![plaques_table(result)];
    if !result.study.lines.is_empty() {
        all.push(lines_table(&result.study));
        all.extend(part_table(&result.study));
    }
    all
}

/// Result as JSON, SI units unless a name says otherwise.
pub fn json(result: &SpectraResult) -> Value {
    let study = &result.study;
    let (reduced_to, data) = match &study.reduction.reduced {
        Reduced::Coefficients(it) => ("absorption and scattering", Some(it.data.words())),
        Reduced::Extinction(_) => match study.meaning() {
            Meaning::Coefficients => ("absorption", None),
            Meaning::EffectiveExtinction => ("effective extinction", None),
        },
    };
    let plaques: Vec<Value> = result
        .plaques
        .iter()
        .zip(&result.files)
        .map(|(it, file)| {
            let range = range_and_step_nm(&it.transmittance);
            object!({
                "name": it.name,
                "file": file,
                "thickness_m": it.thickness_m,
                "geometry": geometry_words(it.geometry),
                "reflectance": it.reflectance.is_some(),
                "from_nm": range.map(|it| it.0),
                "to_nm": range.map(|it| it.1),
                "step_nm": range.map(|it| it.2),
            })
        })
        .collect();
    object!({
        "answer": headline(result),
        "plaques": plaques,
        "reduced_to": reduced_to,
        "data": data,
        "refractive_index": result.n,
        "anisotropy": data.map(|_| study.g()),
        "photometric_uncertainty": study.photometric(),
        "part_thickness_m": study.part_thickness_m,
        "lines": study.lines.iter().map(|it| line_json(study, it)).collect::<Vec<_>>(),
        "warnings": result.remarks,
    })
}

fn line_json(study: &PlaqueStudy, line: &Line) -> Value {
    let inverted = matches!(study.reduction.reduced, Reduced::Coefficients(_));
    let reading = |it: &Reading| {
        object!({
            "thickness_m": it.thickness_m,
            "total_transmittance": it.total_transmittance,
            "total_reflectance": it.total_reflectance,
            "collimated_transmittance": it.collimated_transmittance,
        })
    };
    let told = |it: Told| object!({ "value": it.value, "standard_error": it.standard_error });
    let known = line.estimate.filter(|_| line.used);
    let first = if study.meaning() == Meaning::EffectiveExtinction {
        "effective_extinction"
    } else {
        "absorption"
    };
    let mut all = object!({
        "wavelength_nm": line.wavelength_m / NM,
        "measured": line.measured.iter().map(reading).collect::<Vec<_>>(),
        "modelled": line.modelled.iter().map(reading).collect::<Vec<_>>(),
        "used": line.used,
        "remark": line.why,
        format!("{first}_per_m"): known.map(|it| it.pair.mu_a_per_m),
        format!("{first}_standard_error_per_m"): known.map(|it| it.standard_error.mu_a_per_m),
    });
    if let Some(map) = all.as_object_mut() {
        if inverted {
            map.insert(
                "reduced_scattering_per_m".into(),
                known.map(|it| it.pair.mu_s_reduced_per_m).into(),
            );
            map.insert(
                "reduced_scattering_standard_error_per_m".into(),
                known.map(|it| it.standard_error.mu_s_reduced_per_m).into(),
            );
            map.insert("correlation".into(), known.map(|it| it.correlation).into());
        }
        if let Some(part) = &line.part {
            let in_air = |it: Told| match study.meaning() {
                Meaning::EffectiveExtinction => Value::Null,
                Meaning::Coefficients => told(it),
            };
            map.insert(
                "part".into(),
                object!({
                    "transmitted_in_air": told(part.transmitted),
                    "reflected_in_air": in_air(part.reflected),
                    "delivered_in_contact": part.delivered.map(told),
                }),
            );
        }
    }
    all
}

/// Geometry in words.
pub(crate) fn geometry_words(geometry: Geometry) -> &'static str {
    match geometry {
        Geometry::Total => "total",
        Geometry::Collimated => "collimated",
        Geometry::Unstated => "not stated, total assumed",
    }
}

/// Page, figures and tables.
pub fn spectra_report(result: &SpectraResult) -> Report {
    let study = &result.study;
    let part = Part {
        heading: "Spectra".into(),
        text: explanation(result),
        figures: figures(result),
        tables: tables(result),
        tables_behind: behind(result),
    };
    let figures: Vec<_> = part
        .figures
        .iter()
        .map(|(name, it)| (name.clone(), it.figure.clone()))
        .collect();
    let laser = Laser {
        wavelength_m: result.telling().map_or(USUAL_NM * NM, |it| it.wavelength_m),
        power_w: None,
        area_m2: 1e-6,
    };
    let mut colophon = vec![(
        "lightseam".to_string(),
        env!("CARGO_PKG_VERSION").to_string(),
    )];
    colophon.extend(result.facts());
    if let Reduced::Coefficients(it) = &study.reduction.reduced {
        colophon.push(("method".into(), it.method()));
    }
    Report {
        page: Page {
            title: "Spectra of plaques".into(),
            question: "What do these plaques say about the light in a part?".into(),
            answer: Answer {
                headline: headline(result),
                tone: Tone::Open,
                text: String::new(),
                facts: result.facts(),
            },
            warnings: result.remarks.clone(),
            sections: vec![Section {
                heading: part.heading,
                text: part.text,
                figures: part.figures.into_iter().map(|it| it.1).collect(),
                tables: part.tables,
            }],
            cautions: cautions::usual(laser, &[]),
            colophon,
        },
        figures,
        tables: part.tables_behind,
    }
}

fn explanation(result: &SpectraResult) -> String {
    let study = &result.study;
    let mut text = match (&study.reduction.reduced, study.meaning()) {
        (Reduced::Coefficients(it), _) => format!(
            "At every wavelength absorption and reduced scattering are the pair that reads what the \
             instrument read, for a slab with smooth faces in air. The anisotropy g = {} is assumed; \
             it hardly changes reduced scattering. Bands are one standard error from the photometric \
             uncertainty; errors of thickness and index are not in them.",
            it.setup.g
        ),
        (_, Meaning::Coefficients) => "The plaques show no scattering above the photometric \
                                       uncertainty: what is not transmitted or reflected at the \
                                       faces is absorbed."
            .to_string(),
        _ => "Transmittance alone does not tell absorption from scattering. The effective extinction \
              counts light scattered back as absorbed: it holds for clear grades, and for others \
              only near the thickness that was measured. Total R beside total T settles it."
            .to_string(),
    };
    if study.part_thickness_m.is_some() {
        text.push_str(
            "\n\nLight delivered in contact is what welds. A spectrometer reads less: in air the back \
             face sends light back into the plaque, scattered light beyond the critical angle all of \
             it; a lower part in optical contact takes it.",
        );
    }
    text
}
