//! Coloured plaques as answer, JSON and pages of the command `colour`.

use serde_json::{Map, Value, json as object};

use crate::colour::Observer;
use crate::colour::visible::Between;
use crate::report::answer::{Fact, signed, weld_headline};
use crate::report::bundle::{Part, Report, named};
use crate::report::cautions::{self, Laser};
use crate::report::colour_figures::{chart_figure, patch, spectra_figure, swatches_figure};
use crate::report::colour_tables::{
    appearance_table, batches_table, charts_table, colour_table, decimals, laser_table, words,
};
use crate::report::number;
use crate::report::page::{Answer, Page, Section, Tone};
use crate::report::table::Table;
use crate::report::weld_report::weld_part;
use crate::study::colour_batches::{Batch, Characteristic, Chart, ColourStudy, ColourWeld};
use crate::study::colours::Colour;
use crate::units::celsius;
use crate::weld::joint::Motion;
use crate::weld::settings::Settings;

/// Where the formulas of a page come from.
const METHOD: &str = "Colour: D65, sums over 360 to 830 nm every 1 nm with the tables of ISO/CIE \
                      11664-1 and -2; between entries Sprague's interpolation, beyond the ends of a \
                      spectrum its last value (ASTM E308). L*a*b*: ISO/CIE 11664-4. ΔE00: ISO/CIE \
                      11664-6. Contrast ratio: Y over black by Y over white (ISO 2814).";

const CHARTS: &str = "Individuals charts: mean ± 3 mean moving ranges / 1.128, and eight in a row on \
                      one side as a signal (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2; \
                      ISO 7870-2). The order is that of the files. Ppk with Bissell's interval \
                      (e-Handbook, 6.1.6): it takes values near normal, which a ΔE00 near zero is not.";

/// The answer in one sentence.
pub fn headline(study: &ColourStudy) -> String {
    match study.batches.as_slice() {
        [batch] => batch_headline(study, batch),
        batches => {
            let mut parts = vec![format!(
                "{} batches: {}",
                batches.len(),
                range_words(study, Characteristic::Lightness)
            )];
            let line = number::wavelength(study.line_m);
            let light = range_words(study, Characteristic::Transmittance);
            if !light.is_empty() {
                parts.push(format!("{light} at {line}"));
            }
            if !study.specification.is_empty() {
                parts.push(match names(&study.outside()) {
                    Some(names) => format!("outside the specification: {names}"),
                    None => "all inside the specification".into(),
                });
            }
            if let Some(weld) = batches.iter().find_map(|it| it.weld.as_ref()) {
                let at = setpoint(weld);
                parts.push(match names(&study.unsound()) {
                    Some(names) => format!("does not weld at {at}: {names}"),
                    None => format!("all weld at {at}"),
                });
            }
            parts.join("; ")
        }
    }
}

fn names(batches: &[&Batch]) -> Option<String> {
    let names: Vec<&str> = batches.iter().map(|it| it.sample.name.as_str()).collect();
    (!names.is_empty()).then(|| names.join(", "))
}

fn setpoint(weld: &ColourWeld) -> String {
    let Motion::Contour { speed_m_per_s } = weld.joint.motion;
    format!(
        "{} and {}",
        number::power(weld.joint.beam.power_w, 3),
        number::speed(speed_m_per_s, 3)
    )
}

/// "L* 20.11 to 25.30"; empty where no batch has a value.
fn range_words(study: &ColourStudy, of: Characteristic) -> String {
    let (low, high) = study
        .batches
        .iter()
        .filter_map(|it| it.value(of, study.observer))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |ends, it| {
            (ends.0.min(it), ends.1.max(it))
        });
    if high < low {
        return String::new();
    }
    let name = match of {
        Characteristic::Transmittance => "T",
        _ => crate::report::colour_tables::heading(of).0,
    };
    format!("{name} {} to {}", words(of, low), words(of, high))
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
    if let Some(weld) = &batch.weld {
        parts.push(format!("at {}: {}", setpoint(weld), weld.outcome.verdict));
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
            facts.push((
                crate::report::colour_tables::heading(of).0.to_string(),
                words(of, value),
            ));
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
        facts.push(fact("weld", weld_headline(&weld.outcome)));
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
    all
}

/// Result as JSON, SI units unless a name says otherwise.
pub fn json(study: &ColourStudy, remarks: &[String]) -> Value {
    object!({
        "answer": headline(study),
        "observer": study.observer.name(),
        "illuminant": "D65",
        "compared_by": study.seen.words(),
        "line_nm": study.line_m * 1e9,
        "natural_transmittance": study.natural_transmittance,
        "batches": study.batches.iter().map(|it| batch_json(study, it)).collect::<Vec<_>>(),
        "charts": study.charts.iter().map(|it| chart_json(study, it)).collect::<Vec<_>>(),
        "unsound": study.unsound().iter().map(|it| it.sample.name.as_str()).collect::<Vec<_>>(),
        "outside": study.outside().iter().map(|it| it.sample.name.as_str()).collect::<Vec<_>>(),
        "warnings": remarks,
        "version": env!("CARGO_PKG_VERSION"),
    })
}

fn batch_json(study: &ColourStudy, batch: &Batch) -> Value {
    let values: Map<String, Value> = Characteristic::ALL
        .into_iter()
        .map(|of| {
            let key = match of {
                Characteristic::Extinction => "extinction_per_m",
                _ => of.key(),
            };
            (key.into(), batch.value(of, study.observer).into())
        })
        .collect();
    let light = batch.light.as_ref().map(|it| {
        object!({
            "plaque_thickness_m": it.plaque_thickness_m,
            "plaque_transmittance": it.plaque_transmittance,
            "part_thickness_m": it.part_thickness_m,
            "transmittance": it.transmittance().map(|it| it.value),
            "transmittance_standard_error": it.transmittance().map(|it| it.standard_error),
            "absorption_per_m": it.estimate.map(|it| it.pair.mu_a_per_m),
            "reduced_scattering_per_m": it.estimate.map(|it| it.pair.mu_s_reduced_per_m),
        })
    });
    let weld = batch.weld.as_ref().map(|it| {
        object!({
            "verdict": it.outcome.verdict.word(),
            "governing_criterion": it.outcome.governing.rule.key(),
            "margin": it.outcome.governing.margin,
            "absorbed_upper_w": it.absorbed_upper_w(),
            "absorbed_upper": it.outcome.light.absorbed_upper(),
            "laser_side_peak_c": celsius(it.outcome.history.laser_side_peak_k),
            "self_heating_margin": it.surface().map(|it| it.margin),
            "low_power_w": it.limits.low.power_w(),
            "high_power_w": it.limits.high.power_w(),
        })
    });
    object!({
        "name": batch.sample.name,
        "file": batch.sample.file,
        "values": values,
        "colours": batch.colours.iter().map(colour_json).collect::<Vec<_>>(),
        "laser": light,
        "weld": weld,
        "outside": batch
            .broken(&study.specification, study.observer)
            .iter()
            .map(|it| it.key())
            .collect::<Vec<_>>(),
    })
}

fn colour_json(colour: &Colour) -> Value {
    let observers: Map<String, Value> = Observer::ALL
        .into_iter()
        .map(|observer| {
            let it = colour.to(observer);
            let (xyz, lab) = (it.tristimulus, it.lab);
            (
                observer.name().trim_end_matches('°').into(),
                object!({
                    "X": xyz.x, "Y": xyz.y, "Z": xyz.z,
                    "L": lab.lightness, "a": lab.a, "b": lab.b,
                    "C": lab.chroma(), "h_deg": lab.hue_deg(),
                }),
            )
        })
        .collect();
    let sampling = &colour.visible.sampling;
    object!({
        "of": colour.seen.words(),
        "observers": observers,
        "srgb": colour.swatch.hex(),
        "srgb_clipped": colour.swatch.clipped,
        "from_nm": sampling.measured_nm.0,
        "to_nm": sampling.measured_nm.1,
        "step_nm": sampling.step_nm,
        "interpolation": match sampling.between {
            Between::Sprague => "Sprague",
            Between::MonotoneCubic => "monotone cubic",
        },
        "held": sampling.held(),
    })
}

fn chart_json(study: &ColourStudy, it: &Chart) -> Value {
    let name = |i: &usize| study.batches[*i].sample.name.clone();
    let chart = &it.chart;
    object!({
        "characteristic": it.characteristic.key(),
        "mean": chart.mean,
        "standard_deviation": chart.deviation,
        "mean_moving_range": chart.mean_range,
        "lower_control_limit": chart.lower,
        "upper_control_limit": chart.upper,
        "outside": chart.outside.iter().map(name).collect::<Vec<_>>(),
        "shifted": chart.shifted.iter().map(name).collect::<Vec<_>>(),
        "least": it.limits.least,
        "most": it.limits.most,
        "ppk": it.capability.map(|it| it.ppk),
        "ppk_low": it.capability.map(|it| it.interval.0),
        "ppk_high": it.capability.map(|it| it.interval.1),
    })
}

/// Page, figures and tables of all batches.
pub fn study_report(study: &ColourStudy, remarks: &[String]) -> Report {
    let patches: Vec<_> = study
        .standard
        .iter()
        .map(|it| patch("standard", it, study))
        .chain(
            study
                .batches
                .iter()
                .map(|it| patch(&it.sample.name, it.colour(), study)),
        )
        .collect();
    let subtitle = format!("{}, D65, {}", study.seen.words(), study.observer.name());
    let mut parts = vec![Part {
        heading: "Colour".into(),
        text: METHOD.into(),
        figures: vec![named(
            "swatches",
            swatches_figure("The batches", &subtitle, &patches),
            "What a screen shows of the batches, in the order of their files. A screen is no \
             measuring instrument: judge by the numbers.",
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
    let mut facts = Vec::new();
    for of in Characteristic::ALL {
        let range = range_words(study, of);
        if let Some((name, range)) = range.split_once(' ').filter(|_| !range.is_empty()) {
            let name = match of {
                Characteristic::Lightness | Characteristic::RedGreen => name,
                Characteristic::YellowBlue => name,
                _ => crate::report::colour_tables::heading(of).0,
            };
            let range = range.trim_start_matches(name).trim();
            let from = range
                .find(|c: char| c.is_ascii_digit() || c == '−')
                .unwrap_or(0);
            facts.push((name.to_string(), range[from..].to_string()));
        }
    }
    facts
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
    let (mut figures, mut tables, mut sections) = (Vec::new(), Vec::new(), Vec::new());
    for part in parts {
        let drawn = part.figures.iter();
        figures.extend(drawn.map(|(name, it)| (name.clone(), it.figure.clone())));
        tables.extend(part.tables_behind);
        sections.push(Section {
            heading: part.heading,
            text: part.text,
            figures: part.figures.into_iter().map(|it| it.1).collect(),
            tables: part.tables,
        });
    }
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
