//! Coloured plaques as answer and pages of the command `colour`.

use crate::report::answer::{Fact, signed, weld_headline};
use crate::report::bundle::{Laid, Part, Report, named};
use crate::report::cautions::{self, Laser};
use crate::report::colour_figures::{
    batches_figure, chart_figure, patch, spectra_figure, swatches_figure,
};
use crate::report::colour_tables::{
    appearance_table, bare, batches_table, charts_table, colour_table, decimals, heading,
    laser_table, words,
};
use crate::report::failures;
use crate::report::number;
use crate::report::page::{Answer, Page, Tone};
use crate::report::process;
use crate::report::table::Table;
use crate::report::weld_report::weld_part;
use crate::study::colour_batches::{Batch, ColourStudy, ColourWeld};
use crate::study::specification::Characteristic;
use crate::units::celsius;
use crate::weld::settings::Settings;

/// Where the formulas of a page come from.
const METHOD: &str = "Colour: D65, sums over 360 to 830 nm every 1 nm with the tables of ISO/CIE \
                      11664-1 and -2; between entries Sprague's interpolation, beyond the ends of a \
                      spectrum its last value (ASTM E308). L*a*b*: ISO/CIE 11664-4. ΔE00: ISO/CIE \
                      11664-6. Contrast ratio: Y over black by Y over white (ISO 2814).";

const CHARTS: &str = "Individuals charts: mean ± 3 R̄ / 1.128, R̄ the mean moving range, and eight in a row on \
                      one side as a signal (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2; \
                      ISO 7870-2). The order is that of the files. Ppk with Bissell's interval \
                      (e-Handbook, 6.1.6): it takes values near normal, which a ΔE00 near zero is not.";

/// The answer in one sentence.
pub fn headline(study: &ColourStudy) -> String {
    let said = match study.batches.as_slice() {
        [batch] => batch_headline(study, batch),
        batches => {
            let lightness = range_words(study, Characteristic::Lightness).unwrap_or_default();
            let mut parts = vec![format!("{} batches: L* {lightness}", batches.len())];
            if let Some(light) = range_words(study, Characteristic::Transmittance) {
                let line = number::wavelength(study.line_m);
                parts.push(format!("T {light} at {line}"));
            }
            if !study.specification.is_empty() {
                let unjudged = names(&study.unjudged());
                match (names(&study.outside()), &unjudged) {
                    (Some(names), _) => parts.push(format!("outside the specification: {names}")),
                    (None, None) => parts.push("all inside the specification".into()),
                    (None, Some(_)) => {}
                }
                parts.extend(unjudged.map(|it| format!("not judged by every limit: {it}")));
            }
            if let Some(weld) = batches.iter().find_map(|it| it.weld.as_ref()) {
                let at = process::setpoint(&weld.joint);
                let unsound = study.unsound();
                parts.push(match names(&unsound) {
                    Some(_) if unsound.len() == batches.len() => format!("none welds at {at}"),
                    Some(names) => format!("does not weld at {at}: {names}"),
                    None => format!("all weld at {at}"),
                });
            }
            parts.join("; ")
        }
    };
    said + &failures::words(&study.left_out)
}

/// Names of batches, the first few of many; none for no batch.
fn names(batches: &[&Batch]) -> Option<String> {
    const SHOWN: usize = 5;
    let names: Vec<&str> = batches.iter().map(|it| it.sample.name.as_str()).collect();
    match names.len() {
        0 => None,
        count if count <= SHOWN => Some(names.join(", ")),
        count => {
            let first = &names[..SHOWN - 1];
            Some(format!(
                "{} and {} more",
                first.join(", "),
                count - first.len()
            ))
        }
    }
}

/// Least and greatest value over the batches; none where no batch has one.
fn range(study: &ColourStudy, of: Characteristic) -> Option<(f64, f64)> {
    study
        .batches
        .iter()
        .filter_map(|it| it.value(of, study.observer))
        .fold(None, |ends, it| match ends {
            None => Some((it, it)),
            Some((low, high)) => Some((f64::min(low, it), f64::max(high, it))),
        })
}

/// "20.11 to 25.30".
fn range_words(study: &ColourStudy, of: Characteristic) -> Option<String> {
    let (low, high) = range(study, of)?;
    let (_, unit) = heading(of);
    let text = format!("{} to {}", bare(of, low), bare(of, high));
    Some(match unit {
        "" => text,
        unit => format!("{text} {unit}"),
    })
}

fn batch_headline(study: &ColourStudy, batch: &Batch) -> String {
    let lab = batch.colour().to(study.observer).lab;
    let mut parts = vec![format!(
        "{}: L* {}, a* {}, b* {} ({}, D65, {})",
        batch.sample.name,
        decimals(lab.lightness, 2),
        decimals(lab.a, 2),
        decimals(lab.b, 2),
        batch.colour().seen.words(),
        study.observer.name()
    )];
    if let Some(light) = &batch.light
        && let Some(told) = light.transmittance()
    {
        parts.push(format!(
            "{} of the light at {} through {}",
            number::percent(told.value, 3),
            number::wavelength(light.line_m),
            number::length(light.part_thickness_m, 3)
        ));
    }
    if !study.specification.is_empty() {
        let broken = batch.broken(&study.specification, study.observer);
        let words: Vec<&str> = broken.iter().map(|it| it.key()).collect();
        let unjudged = batch.unjudged(&study.specification, study.observer);
        if !broken.is_empty() {
            parts.push(format!("outside the specification: {}", words.join(", ")));
        } else if unjudged.is_empty() {
            parts.push("inside the specification".into());
        }
    }
    if let Some(weld) = &batch.weld {
        parts.push(format!(
            "at {}: {}",
            process::setpoint(&weld.joint),
            weld_headline(&weld.outcome)
        ));
    }
    parts.join("; ")
}

/// Key numbers of one batch.
pub fn batch_facts(study: &ColourStudy, batch: &Batch) -> Vec<Fact> {
    let fact = |name: &str, value: String| (name.to_string(), value);
    let mut facts = Vec::new();
    for of in Characteristic::ALL {
        let plain = matches!(
            of,
            Characteristic::Lightness | Characteristic::RedGreen | Characteristic::YellowBlue
        );
        if let Some(value) = batch.value(of, study.observer)
            && !plain
        {
            facts.push((heading(of).0.to_string(), words(of, value)));
        }
    }
    if let Some(weld) = &batch.weld {
        facts.push(fact(
            "heat inside the upper part",
            format!(
                "{} of {}{}",
                number::power(weld.absorbed_upper_w(), 3),
                number::power(weld.joint.beam.power_w, 3),
                beside(study, |it| number::power(it.absorbed_upper_w(), 3))
            ),
        ));
        if let Some(surface) = weld.surface() {
            facts.push(fact(
                "laser-side surface",
                format!(
                    "{:.0} °C, may reach {:.0} °C{}",
                    celsius(surface.value),
                    celsius(surface.limit),
                    beside(study, |it| it.surface().map_or(
                        number::MISSING.into(),
                        |it| format!("{:.0} °C", celsius(it.value))
                    ))
                ),
            ));
            facts.push(fact("self-heating margin", signed(surface.margin)));
        }
    }
    facts
}

/// The same of the natural grade in brackets.
fn beside(study: &ColourStudy, of: impl Fn(&ColourWeld) -> String) -> String {
    study
        .natural_weld
        .as_ref()
        .map_or(String::new(), |it| format!(" (natural: {})", of(it)))
}

/// Tables of the answer.
pub fn tables(study: &ColourStudy) -> Vec<Table> {
    let mut all = vec![colour_table(study)];
    all.extend(laser_table(study));
    all.extend(charts_table(study));
    all.extend(left_out_table(study));
    all
}

/// Files left out, where there are any.
fn left_out_table(study: &ColourStudy) -> Option<Table> {
    (!study.left_out.is_empty()).then(|| failures::table("Left out", &study.left_out))
}

/// The same for a page.
fn left_out_part(study: &ColourStudy) -> Option<Part> {
    left_out_table(study).map(|table| Part {
        heading: "Files left out".into(),
        tables: vec![table.clone()],
        tables_behind: vec![("left-out".into(), table)],
        ..Part::default()
    })
}

/// Page, figures and tables of all batches.
pub fn study_report(study: &ColourStudy, remarks: &[String]) -> Report {
    let subtitle = format!("{}, D65, {}", study.seen.words(), study.observer.name());
    let mut parts = vec![Part {
        heading: "Colour".into(),
        text: METHOD.into(),
        figures: vec![named(
            "swatches",
            batches_figure(study, &subtitle),
            "What a screen shows of the batches, in the order of their files. A screen is no \
             measuring instrument: judge by the numbers. Each batch has a page of its own in the \
             folder batches beside this page.",
        )],
        tables: vec![colour_table(study)],
        tables_behind: vec![("batches".into(), batches_table(study))],
    }];
    if let Some(table) = laser_table(study) {
        parts.push(Part {
            heading: "Laser".into(),
            text: laser_text(study),
            tables: vec![table],
            ..Part::default()
        });
    }
    if let Some(table) = charts_table(study) {
        parts.push(Part {
            heading: "Spread".into(),
            text: CHARTS.into(),
            figures: study
                .charts
                .iter()
                .map(|it| {
                    let name = format!("chart-{}", it.characteristic.key());
                    named(&name, chart_figure(study, it), "")
                })
                .collect(),
            tables: vec![table.clone()],
            tables_behind: vec![("charts".into(), table)],
        });
    }
    parts.extend(left_out_part(study));
    let answer = Answer {
        headline: headline(study),
        tone: tone(study.batches.iter()),
        text: String::new(),
        facts: study_facts(study),
    };
    let weld = study.batches.iter().find_map(|it| it.weld.as_ref());
    let question = "Do these batches look alike, and do they all weld?";
    bundled(study, weld, question, answer, remarks, parts)
}

fn study_facts(study: &ColourStudy) -> Vec<Fact> {
    Characteristic::ALL
        .into_iter()
        .filter_map(|of| Some((heading(of).0.to_string(), range_words(study, of)?)))
        .collect()
}

fn tone<'b>(batches: impl Iterator<Item = &'b Batch>) -> Tone {
    let welds: Vec<bool> = batches
        .filter_map(|it| it.weld.as_ref())
        .map(ColourWeld::is_sound)
        .collect();
    match (welds.is_empty(), welds.iter().all(|it| *it)) {
        (true, _) => Tone::Open,
        (_, true) => Tone::Sound,
        _ => Tone::NotSound,
    }
}

fn laser_text(study: &ColourStudy) -> String {
    let mut text =
        "T is the total transmittance of the part in air; the extinction is that of the \
                    plaque without its faces."
            .to_string();
    if let Some(natural) = study.natural_transmittance {
        text.push_str(&format!(
            " Retained: T over that of the natural grade, {}.",
            number::percent(natural, 3)
        ));
    }
    if study.batches.iter().any(|it| it.weld.is_some()) {
        text.push_str(
            "\n\nEvery batch stands in the place of the upper part of the joint, at its fixed \
             setpoint. Heat in the part is laser power absorbed before the interface: a little \
             carbon black in a colourant raises it long before the eye sees it. The self-heating \
             margin is the share of the temperature rise that the laser-side surface has left \
             before it softens. Latitude is the ratio of the highest to the lowest sound power.",
        );
    }
    text
}

/// Page, figures and tables of one batch; `weld` is its weld with temperatures recorded, where there
/// is one.
pub fn batch_report(
    study: &ColourStudy,
    batch: &Batch,
    weld: Option<&ColourWeld>,
    remarks: &[String],
) -> Report {
    let mut patches: Vec<_> = batch
        .colours
        .iter()
        .map(|it| patch(it.seen.words(), it, study))
        .collect();
    if let Some(standard) = &study.standard {
        patches.push(patch("standard", standard, study));
    }
    let subtitle = format!("D65, {}", study.observer.name());
    let mut parts = vec![Part {
        heading: "Colour".into(),
        text: METHOD.into(),
        figures: vec![
            named(
                "swatch",
                swatches_figure(&batch.sample.name, &subtitle, &patches),
                "What a screen shows of it; judge by the numbers.",
            ),
            named("spectra", spectra_figure(batch, study.line_m), ""),
        ],
        tables: vec![appearance_table(&batch.colours)],
        tables_behind: vec![("colour".into(), appearance_table(&batch.colours))],
    }];
    if let Some(weld) = weld {
        parts.push(weld_part(&weld.joint, &weld.outcome));
    }
    if study.batches.len() == 1 {
        parts.extend(left_out_part(study));
    }
    let answer = Answer {
        headline: batch_headline(study, batch),
        tone: tone(std::iter::once(batch)),
        text: String::new(),
        facts: batch_facts(study, batch),
    };
    let question = match weld {
        Some(_) => format!(
            "What does {} look like, and does a part of it weld?",
            batch.sample.name
        ),
        None => format!(
            "What does {} look like, and does it let the laser through?",
            batch.sample.name
        ),
    };
    bundled(study, weld, &question, answer, remarks, parts)
}

/// A report of a joint where there is one, else one with colour alone.
fn bundled(
    study: &ColourStudy,
    weld: Option<&ColourWeld>,
    question: &str,
    answer: Answer,
    remarks: &[String],
    parts: Vec<Part>,
) -> Report {
    if let Some(weld) = weld {
        let mut report = Report::of(&weld.joint, &Settings::standard(), answer, remarks, parts);
        report.page.question = question.into();
        return report;
    }
    let Laid {
        figures,
        tables,
        sections,
    } = Laid::out(parts);
    let laser = Laser {
        wavelength_m: study.line_m,
        power_w: None,
        area_m2: 1e-6,
    };
    Report {
        page: Page {
            title: "Colour of plaques".into(),
            question: question.into(),
            answer,
            warnings: remarks.to_vec(),
            sections,
            cautions: cautions::usual(laser, &[]),
            colophon: vec![
                ("lightseam".into(), env!("CARGO_PKG_VERSION").into()),
                ("illuminant".into(), "D65".into()),
                ("observer".into(), study.observer.name().into()),
            ],
        },
        figures,
        tables,
    }
}
