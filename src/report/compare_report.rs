//! One joint by three optical methods: facts, table, figure and page.

use serde_json::{Value, json};

use crate::optics::{Absorbed, Method};
use crate::report::answer::Fact;
use crate::report::bundle::{Part, Report, named};
use crate::report::figure::{Axis, Dash, Figure, Label, Line, Mark, Marker, Points, Stroke};
use crate::report::json::limits;
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::palette::Role;
use crate::report::table::{Cell, Column, Table};
use crate::study::method_comparison::{Comparison, MethodResult};
use crate::units::{PER_MM, UM, celsius};
use crate::weld::joint::{Interface, Joint};
use crate::weld::settings::Settings;

/// Share of the delivered light down to which the figure follows it.
const FIGURE_END: f64 = 0.02;

/// Depths of the figure and its table.
const DEPTHS: u32 = 200;

/// The difference in one sentence.
pub fn headline(comparison: &Comparison) -> String {
    let exact = comparison.exact().outcome.light.delivered_to_interface();
    format!(
        "{} of the light is delivered to the lower part; the upper part alone transmits {} in air",
        number::percent(exact, 3),
        number::percent(comparison.transmittance_in_air, 3),
    )
}

/// What the comparison rests on, in a few lines.
pub fn facts(comparison: &Comparison) -> Vec<Fact> {
    let delivered = comparison.exact().outcome.light.delivered_to_interface();
    let mut facts = vec![
        (
            "delivered, against transmittance in air".into(),
            format!(
                "{} %",
                crate::report::answer::signed(
                    100.0 * (delivered / comparison.transmittance_in_air - 1.0)
                )
            ),
        ),
        (
            "extinction behind beer-lambert".into(),
            format!(
                "{}, from the transmittance in air",
                number::per_length(comparison.extinction_per_m, 3)
            ),
        ),
    ];
    let plain = comparison
        .results
        .iter()
        .find(|it| it.method == Method::BeerLambert);
    if let (Some(Some(plain)), Some(exact)) = (
        plain.map(|it| it.heating_depth_m),
        comparison.exact().heating_depth_m,
    ) {
        facts.push((
            "heating depth, beer-lambert over adding-doubling".into(),
            number::significant(plain / exact, 3),
        ));
    }
    facts
}

/// One row a method.
pub fn table(comparison: &Comparison) -> Table {
    let results = &comparison.results;
    let numbers = |name: &str, unit: &str, of: &dyn Fn(&MethodResult) -> Option<f64>| Column {
        cells: results
            .iter()
            .map(|it| of(it).map_or(Cell::Missing, Cell::Number))
            .collect(),
        digits: 3,
        ..Column::numbers(name, unit, [])
    };
    Table::new(
        "Three methods, one joint",
        vec![
            Column::words("Method", results.iter().map(|it| it.method.name())),
            numbers("Delivered", "%", &|it| {
                Some(100.0 * it.outcome.light.delivered_to_interface())
            }),
            numbers("Heating depth", "µm", &|it| {
                it.heating_depth_m.map(|depth| depth / UM)
            }),
            numbers("Interface", "°C", &|it| Some(celsius(peak_k(it)))),
            numbers("Sound from", "W", &|it| it.limits.low.power_w()),
            numbers("Sound to", "W", &|it| it.limits.high.power_w()),
            numbers("Latitude", "", &|it| it.limits.latitude()),
        ],
    )
}

/// The same as two tables that fit a page: light, and what it does.
fn page_tables(comparison: &Comparison) -> Vec<Table> {
    let Table { title, columns } = table(comparison);
    let (light, heat) = columns.split_at(LIGHT_COLUMNS);
    let share = |name: &str, of: fn(&Absorbed) -> f64| {
        let values = comparison
            .results
            .iter()
            .map(|it| 100.0 * of(&it.outcome.light));
        Column::numbers(name, "%", values).digits(3)
    };
    let mut light = light.to_vec();
    light.push(share("Reflected", |it| it.reflected));
    light.push(share("Absorbed above", Absorbed::absorbed_upper));
    let mut second = vec![light[0].clone()];
    second.extend(heat.iter().cloned());
    vec![
        Table::new(format!("{title}: light"), light),
        Table::new(format!("{title}: interface peak and sound powers"), second),
    ]
}

/// Columns of the table that are about light: method, delivered, heating depth.
const LIGHT_COLUMNS: usize = 3;

fn peak_k(it: &MethodResult) -> f64 {
    let history = &it.outcome.history;
    history
        .interface_peak_upper_k
        .min(history.interface_peak_lower_k)
}

/// The comparison as JSON.
pub fn json(joint: &Joint, comparison: &Comparison, warnings: &[String]) -> Value {
    let methods: Vec<Value> = comparison
        .results
        .iter()
        .map(|it| {
            let light = &it.outcome.light;
            let mut row = limits(&it.limits);
            row.insert("method".into(), json!(it.method.name()));
            row.insert("verdict".into(), json!(it.outcome.verdict.word()));
            row.insert("reflected".into(), json!(light.reflected));
            row.insert("transmitted".into(), json!(light.transmitted));
            row.insert("absorbed_upper".into(), json!(light.absorbed_upper()));
            row.insert("absorbed_lower".into(), json!(light.absorbed_lower()));
            row.insert(
                "delivered_to_interface".into(),
                json!(light.delivered_to_interface()),
            );
            row.insert(
                "heating_depth_um".into(),
                json!(it.heating_depth_m.map(|depth| depth / UM)),
            );
            row.insert("interface_peak_c".into(), json!(celsius(peak_k(it))));
            Value::Object(row)
        })
        .collect();
    json!({
        "question": joint.question.as_ref(),
        "wavelength_m": joint.wavelength_m,
        "transmittance_in_air": comparison.transmittance_in_air,
        "extinction_per_m": comparison.extinction_per_m,
        "methods": methods,
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    })
}

/// Page, figure and tables of a comparison.
pub fn compare_report(joint: &Joint, comparison: &Comparison, warnings: &[String]) -> Report {
    let answer = Answer {
        headline: headline(comparison),
        tone: Tone::Open,
        text: String::new(),
        facts: facts(comparison),
    };
    let part = Part {
        heading: "Three ways to follow the light".into(),
        text: format!(
            "adding-doubling is the exact one. beer-lambert is what a spreadsheet makes of a \
             spectrometer reading: the transmittance of the upper part alone, in air (here computed \
             exactly, {}), taken back to one extinction of {}, and light that stays collimated. \
             two-flux follows diffuse light alone.\n\n\
             The transmittance in air is not the light delivered: in air the far face throws diffuse \
             light back into the part, {}. And diffuse light runs aslant, so that it is absorbed nearer to the interface than collimated light. The \
             heating depth holds 63 % of the light absorbed in the lower part. The spot is widened \
             by scattering for the two methods that follow it.",
            number::percent(comparison.transmittance_in_air, 3),
            number::per_length(comparison.extinction_per_m, 3),
            match joint.interface {
                Interface::Contact { .. } => "in contact the lower part takes it",
                Interface::Gap { .. } => "and so it does across the gap of this joint",
            },
        ),
        figures: vec![named(
            "flux-depth",
            flux_figure(joint, comparison),
            "Net light going down, as a share of the light on the part, against depth below the \
             interface. Height at the left edge: light delivered. Slope: how fast it is absorbed. \
             Marks: heating depth.",
        )],
        tables: page_tables(comparison),
        tables_behind: vec![
            ("methods".into(), table(comparison)),
            ("flux-depth".into(), flux_table(joint, comparison)),
        ],
    };
    Report::of(joint, &Settings::standard(), answer, warnings, vec![part])
}

/// Depths shown, m: to where little is left by every method, or the far side.
fn depths_m(joint: &Joint, comparison: &Comparison) -> Vec<f64> {
    let thickness_m = joint.lower.thickness_m;
    let enough = |depth_m: f64| {
        comparison
            .results
            .iter()
            .all(|it| it.net_flux(depth_m) <= FIGURE_END * it.net_flux(0.0))
    };
    let mut last_m = 1.0 * UM;
    while last_m < thickness_m && !enough(last_m) {
        last_m *= 1.1;
    }
    let last_m = last_m.min(thickness_m);
    (0..=DEPTHS)
        .map(|i| last_m * f64::from(i) / f64::from(DEPTHS))
        .collect()
}

fn flux_table(joint: &Joint, comparison: &Comparison) -> Table {
    let depths = depths_m(joint, comparison);
    let mut columns = vec![Column::numbers(
        "Depth below the interface",
        "µm",
        depths.iter().map(|it| it / UM),
    )];
    columns.extend(comparison.results.iter().map(|it| {
        Column::numbers(
            format!("Net flux down, {}", it.method.name()),
            "share of the incident light",
            depths.iter().map(|&depth| it.net_flux(depth)),
        )
    }));
    Table::new("Net flux against depth", columns)
}

fn flux_figure(joint: &Joint, comparison: &Comparison) -> Figure {
    let depths = depths_m(joint, comparison);
    let last_um = depths.last().map_or(1.0, |it| it / UM);
    let mut figure = Figure::new(
        "Light left below the interface",
        Axis::linear("Depth below the interface", "µm").over(0.0, last_um),
        Axis::log("Net light going down", "% of the light on the part"),
    );
    let n = number::wavelength(joint.wavelength_m);
    figure.subtitle = format!(
        "{n}, upper part {}, lower part {}",
        number::length(joint.upper.thickness_m, 2),
        number::length(joint.lower.thickness_m, 2)
    );
    let least = 100.0
        * FIGURE_END
        * comparison
            .results
            .iter()
            .map(|it| it.net_flux(0.0))
            .fold(f64::INFINITY, f64::min);
    let most = comparison
        .results
        .iter()
        .map(|it| 100.0 * it.net_flux(0.0))
        .fold(0.0, f64::max);
    if 0.0 < least {
        figure.y = figure.y.over(least, 1.25 * most);
    }
    let styles = [
        (Dash::Dashed, 0, Marker::Square),
        (Dash::DashDot, 2, Marker::Triangle),
        (Dash::Solid, 1, Marker::Disc),
    ];
    for (it, (dash, series, marker)) in comparison.results.iter().zip(styles) {
        let points = depths
            .iter()
            .map(|&depth| [depth / UM, 100.0 * it.net_flux(depth)])
            .collect();
        let words = match it.method {
            Method::BeerLambert => "beer-lambert, from transmittance in air",
            other => other.name(),
        };
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(Role::Series(series), dash),
            Label::new(words),
        )));
        if let Some(depth) = it.heating_depth_m {
            figure.marks.push(Mark::Points(Points {
                points: vec![[depth / UM, 100.0 * it.net_flux(depth)]],
                errors: Vec::new(),
                label: Label::none(),
                marker,
                role: Role::Series(series),
                radius_px: 4.5,
            }));
        }
    }
    figure.note = format!(
        "Upper part alone, in air: T = {}, extinction {} /mm.",
        number::percent(comparison.transmittance_in_air, 3),
        number::short(comparison.extinction_per_m / PER_MM, 3)
    );
    figure
}
