//! The report of a requirement: limits of transmittance, thickness and absorber, and a line to order
//! by.

use serde_json::{Value, json};

use crate::material::Absorber;
use crate::optics::reduction::Assumptions;
use crate::report::answer::Fact;
use crate::report::bundle::{Part, Report, named};
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::process;
use crate::report::require_figures::{range_figure, transmittance_figure};
use crate::report::table::{Cell, Column, Table};
use crate::study::requirement::{End, Point, Range, Requirement, Vary, Why, drift_of};
use crate::units::{MM, PER_MM};
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

/// Expanded uncertainty (k = 2) of a transmittance by a usual instrument.
fn expanded_uncertainty() -> f64 {
    2.0 * Assumptions::default().photometric
}

/// The end of the powers at hand: the laser's, or where no machine is stated those looked at.
fn end_of_powers(joint: &Joint, word: &str) -> String {
    match joint.machine {
        Some(_) => format!("{word} laser power"),
        None => format!("{word} power looked at"),
    }
}

/// What limits the drift at a point: its lower side, its upper side.
fn limited_by(joint: &Joint, point: &Point, laser_w: (f64, f64)) -> String {
    let rule = |it: Option<Rule>| {
        it.map_or("nothing within the powers looked at", Rule::name)
            .to_string()
    };
    let low = match point.limits.low.power_w() {
        Some(low) if low < laser_w.0 => end_of_powers(joint, "least"),
        _ => rule(point.limits.low.rule()),
    };
    let high = match point.limits.high.power_w() {
        Some(high) if laser_w.1 < high => end_of_powers(joint, "greatest"),
        _ => rule(point.limits.high.rule()),
    };
    format!("{low}; {high}")
}

/// Where no machine is stated and the power needed lies beyond those looked at.
const NOT_WITHIN: &str = "not within the powers looked at";

/// That a power is needed which is not to be had; what stands in the way, and what there is.
fn beyond_powers((needs_w, has_w): (f64, f64), (what, there): (&str, &str)) -> String {
    format!(
        "{what}: {} are needed, {there} {}",
        number::power(needs_w, 3),
        number::power(has_w, 3)
    )
}

/// Why nothing complies with a joint, in words.
pub fn say_why(joint: &Joint, why: &Why) -> String {
    let stated = joint.machine.is_some();
    match why {
        Why::NeverHot { rule } => {
            format!("never welds: {} is met at no power looked at", rule.name())
        }
        Why::NeverCool { rule } => format!(
            "never welds: {} is broken at every power looked at",
            rule.name()
        ),
        Why::LaserTooWeak { needs_w, has_w } => beyond_powers(
            (*needs_w, *has_w),
            if stated {
                ("laser too weak", "it delivers")
            } else {
                (NOT_WITHIN, "the greatest is")
            },
        ),
        Why::LaserTooStrong { needs_w, has_w } => beyond_powers(
            (*needs_w, *has_w),
            if stated {
                ("laser cannot be turned down", "its least power is")
            } else {
                (NOT_WITHIN, "the least is")
            },
        ),
        Why::TooNarrow {
            latitude,
            low,
            high,
        } => {
            let name = |it: &Option<Rule>| it.map_or("nothing", Rule::name);
            let first = name(high);
            if *latitude < 1.0 {
                format!("{first} comes before {}", name(low))
            } else {
                format!(
                    "{first} comes too soon after {}: ± {} at best",
                    name(low),
                    number::percent(drift_of(*latitude), 2)
                )
            }
        }
    }
}

/// The absorber of a joint times a factor, in words.
fn say_absorber(joint: &Joint, point: &Point) -> String {
    match &joint.lower.absorber {
        Some(Absorber::CarbonBlack { content, .. }) => {
            format!(
                "{} carbon black",
                number::percent(content * point.factor, 2)
            )
        }
        _ => {
            let lower = point.joint.lower.optical_at(point.joint.wavelength_m);
            lower.map_or_else(
                |_| "unknown".into(),
                |it| format!("µa {} 1/mm", number::short(it.mu_a_per_m / PER_MM, 3)),
            )
        }
    }
}

/// The value of what was varied at a point, in words.
pub fn say_point(joint: &Joint, vary: Vary, point: &Point) -> String {
    match vary {
        Vary::Thickness => number::length(point.joint.upper.thickness_m, 3),
        Vary::Absorber => say_absorber(joint, point),
        _ => number::percent(point.transmittance, 3),
    }
}

/// That no power at hand is sound.
pub fn no_sound_power(joint: &Joint) -> &'static str {
    match joint.machine {
        Some(_) => "no sound power of this laser",
        None => "no sound power of those looked at",
    }
}

/// The answer in one sentence.
pub fn headline(joint: &Joint, it: &Requirement) -> String {
    let own = match it.own.latitude {
        Some(latitude) if 1.0 < latitude => {
            format!("± {} of power", number::percent(drift_of(latitude), 2))
        }
        _ => no_sound_power(joint).into(),
    };
    let drift = number::percent(it.ask.drift, 2);
    let at = format!(
        "the light at {} through {}",
        number::wavelength(joint.wavelength_m),
        number::length(joint.upper.thickness_m, 3)
    );
    match it.least_transmittance() {
        Some((_, least)) => format!(
            "the upper part must pass at least {} of {at} for ± {drift} of power; this grade passes {} and has {own}",
            number::percent(least.transmittance, 3),
            number::percent(it.own.transmittance, 3),
        ),
        None if it.complies() => format!(
            "no least transmittance was found for ± {drift} of power: this grade passes {} of {at} and has {own}",
            number::percent(it.own.transmittance, 3)
        ),
        None => {
            let why = it
                .answers
                .iter()
                .find_map(|row| match &row.1 {
                    Range::Nowhere(_, why) => Some(say_why(joint, why)),
                    Range::Found(..) => None,
                })
                .unwrap_or_else(|| "no grade complies".into());
            format!("no transmittance gives ± {drift} of power: {why}")
        }
    }
}

/// The line to put on a drawing or an order; none where there is no limit.
pub fn specification(joint: &Joint, it: &Requirement) -> Option<String> {
    let (_, least) = it.least_transmittance()?;
    let uncertainty = expanded_uncertainty();
    let limit = (1e3 * least.transmittance).ceil() / 1e3;
    Some(format!(
        "Total transmittance at {} through {} as moulded, normal incidence, integrating sphere, \
         both faces in air, all forward light collected: at least {:.1} %; accept readings from \
         {:.1} % at an expanded uncertainty of {:.1} % (k = 2).",
        number::wavelength(joint.wavelength_m),
        number::length(joint.upper.thickness_m, 3),
        100.0 * limit,
        100.0 * (limit + uncertainty),
        100.0 * uncertainty,
    ))
}

/// The numbers asked for first.
pub fn facts(joint: &Joint, it: &Requirement) -> Vec<Fact> {
    let mut facts: Vec<Fact> = Vec::new();
    for (vary, range, _) in &it.answers {
        let name = match vary {
            Vary::Thickness => "thickness of the upper part".to_string(),
            Vary::Absorber => "absorber in the lower part".to_string(),
            other => format!("transmittance, {}", other.words().0),
        };
        let text = match range {
            Range::Nowhere(_, why) => format!("none: {}", say_why(joint, why)),
            Range::Found(least, most) => say_range(joint, *vary, least, most, it.laser_w),
        };
        facts.push((name, text));
    }
    facts.push((
        "asked".into(),
        format!(
            "± {} of power at {} (latitude {}), {} {} to {}",
            number::percent(it.ask.drift, 2),
            process::say(joint.motion.lever(), joint.motion.setting()),
            number::significant(it.ask.ratio(), 3),
            match joint.machine {
                Some(_) => "laser",
                None => "no laser stated: powers looked at",
            },
            number::power(it.laser_w.0, 3),
            number::power(it.laser_w.1, 3)
        ),
    ));
    facts
}

fn say_range(joint: &Joint, vary: Vary, least: &End, most: &End, laser_w: (f64, f64)) -> String {
    let value = |end: &End| say_point(joint, vary, end.point());
    let why = |end: &End| {
        if end.is_limit() {
            format!(" ({})", limited_by(joint, end.point(), laser_w))
        } else {
            String::new()
        }
    };
    // Transmittance falls as the factor grows.
    let (low, high) = match vary {
        Vary::Thickness | Vary::Absorber => (least, most),
        _ => (most, least),
    };
    match (low.is_limit(), high.is_limit()) {
        (true, true) => format!("{}{} to {}{}", value(low), why(low), value(high), why(high)),
        (true, false) => format!("at least {}{}", value(low), why(low)),
        (false, true) => format!("at most {}{}", value(high), why(high)),
        (false, false) => format!("any from {} to {} looked at", value(low), value(high)),
    }
}

/// Page, figures and tables.
pub fn require_report(joint: &Joint, it: &Requirement, warnings: &[String]) -> Report {
    let specification = specification(joint, it);
    let answer = Answer {
        headline: headline(joint, it),
        tone: match (it.complies(), it.least_transmittance()) {
            (true, _) => Tone::Sound,
            (false, Some(_)) => Tone::Open,
            (false, None) => Tone::NotSound,
        },
        text: specification.as_ref().map_or(String::new(), |it| {
            format!("For the drawing or the order. {it}")
        }),
        facts: facts(joint, it),
    };
    let mut figures = Vec::new();
    let transmittance = transmittance_figure(joint, it);
    figures.push(named(
        "transmittance",
        transmittance,
        "How much the power may drift against total transmittance in air at the thickness of the \
         part. A lid that absorbs heats itself; one that scatters does not.",
    ));
    for (vary, name, caption) in [
        (
            Vary::Thickness,
            "thickness",
            "How much the power may drift against the thickness of the upper part.",
        ),
        (
            Vary::Absorber,
            "absorber",
            "How much the power may drift against the absorber in the lower part.",
        ),
    ] {
        if let Some(figure) = range_figure(joint, it, vary) {
            figures.push(named(name, figure, caption));
        }
    }
    let part = Part {
        heading: "What must hold of the parts".into(),
        text: format!(
            "Each limit is a root of simulated sound powers at the {} of the joint. The first two \
             rules in a row set the lowest and the highest power there.",
            process::word(joint.motion.lever())
        ),
        figures,
        tables: vec![limit_table(joint, it)],
        tables_behind: vec![
            ("limits".into(), limit_table(joint, it)),
            ("looked-at".into(), grid_table(joint, it)),
        ],
    };
    Report::of(joint, &Settings::standard(), answer, warnings, vec![part])
}

fn limit_table(joint: &Joint, it: &Requirement) -> Table {
    let mut rows: Vec<[String; 5]> = Vec::new();
    for (vary, range, _) in &it.answers {
        let name = vary.words().0;
        match range {
            Range::Nowhere(point, why) => rows.push([
                name.into(),
                "none".into(),
                say_why(joint, why),
                number::percent(point.transmittance, 3),
                String::new(),
            ]),
            Range::Found(least, most) => {
                for (word, end) in [("from", least), ("to", most)] {
                    let point = end.point();
                    rows.push([
                        format!("{name}, {word}"),
                        if end.is_limit() {
                            say_point(joint, *vary, point)
                        } else {
                            format!("{} (as far as looked)", say_point(joint, *vary, point))
                        },
                        limited_by(joint, point, it.laser_w),
                        number::percent(point.transmittance, 3),
                        number::percent(point.delivered, 3),
                    ]);
                }
            }
        }
    }
    let column =
        |name: &str, at: usize| Column::words(name, rows.iter().map(|row| row[at].clone()));
    Table::new(
        "Limits",
        vec![
            column("Varied", 0),
            column("Value", 1),
            column("Lowest power set by; highest power set by", 2),
            column("T in air", 3),
            column("Delivered to the interface", 4),
        ],
    )
}

fn grid_table(joint: &Joint, it: &Requirement) -> Table {
    let rows: Vec<(&Vary, &Point)> = it
        .answers
        .iter()
        .flat_map(|(vary, _, grid)| grid.iter().map(move |point| (vary, point)))
        .collect();
    let number = |name: &str, unit: &str, of: fn(&Point) -> Option<f64>| Column {
        cells: rows
            .iter()
            .map(|row| of(row.1).map_or(Cell::Missing, Cell::Number))
            .collect(),
        ..Column::numbers(name, unit, [])
    };
    Table::new(
        "Looked at",
        vec![
            Column::words("Varied", rows.iter().map(|it| it.0.words().1)),
            number("Factor", "", |it| Some(it.factor)),
            number("T in air", "", |it| Some(it.transmittance)),
            number("Thickness of the upper part", "mm", |it| {
                Some(it.joint.upper.thickness_m / MM)
            }),
            number("Delivered to the interface", "", |it| Some(it.delivered)),
            number("Lowest sound power", "W", |it| it.limits.low.power_w()),
            number("Highest sound power", "W", |it| it.limits.high.power_w()),
            number(
                match joint.machine {
                    Some(_) => "Latitude within the laser",
                    None => "Latitude within the powers looked at",
                },
                "",
                |it| it.latitude,
            ),
        ],
    )
}

/// As JSON.
pub fn json(joint: &Joint, it: &Requirement, warnings: &[String]) -> Value {
    let point = |point: &Point| {
        let mut row = crate::report::json::limits(&point.limits);
        row.insert("factor".into(), json!(point.factor));
        row.insert("transmittance_in_air".into(), json!(point.transmittance));
        row.insert("delivered_to_interface".into(), json!(point.delivered));
        row.insert(
            "upper_thickness_m".into(),
            json!(point.joint.upper.thickness_m),
        );
        if let Some(Absorber::CarbonBlack { content, .. }) = &joint.lower.absorber {
            row.insert("carbon_black".into(), json!(content * point.factor));
        }
        row.insert("latitude_of_machine".into(), json!(point.latitude));
        Value::Object(row)
    };
    let end = |end: &End| json!({ "is_limit": end.is_limit(), "at": point(end.point()) });
    let answers: serde_json::Map<String, Value> = it
        .answers
        .iter()
        .map(|(vary, range, _)| {
            let value = match range {
                Range::Found(least, most) => {
                    json!({ "found": true, "least": end(least), "most": end(most) })
                }
                Range::Nowhere(best, why) => {
                    json!({ "found": false, "why": say_why(joint, why), "best": point(best) })
                }
            };
            (vary.words().1.to_string(), value)
        })
        .collect();
    json!({
        "question": joint.question.as_ref(),
        "drift_asked": it.ask.drift,
        "latitude_asked": it.ask.ratio(),
        "complies": it.complies(),
        "own": point(&it.own),
        "least_transmittance": it.least_transmittance().map(|it| it.1.transmittance),
        "least_transmittance_set_by": it.least_transmittance().map(|it| it.0.words().1),
        "specification": specification(joint, it),
        "expanded_uncertainty_of_transmittance": expanded_uncertainty(),
        "ranges": answers,
        "laser_power_w": joint.machine.map(|_| [it.laser_w.0, it.laser_w.1]),
        "power_looked_at_w": [it.power_w.0, it.power_w.1],
        "wavelength_m": joint.wavelength_m,
        joint.motion.lever().key(): joint.motion.setting(),
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    })
}
