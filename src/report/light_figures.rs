//! The light of a joint against wavelength: what was measured on plaques, and the coefficients in use.

use crate::material::{Plaque, Sourced, Spectrum};
use crate::report::bundle::{Part, named};
use crate::report::figure::{
    Axis, Dash, Figure, Label, Line, Mark, Marker, Place, Points, Rule as Straight, Stroke,
};
use crate::report::number;
use crate::report::palette::Role;
use crate::report::table::{Cell, Column, Table};
use crate::units::{MM, NM, PER_MM};
use crate::weld::Joint;

/// Widest strip of wavelengths shown either side of the laser line, as a ratio.
const SPAN: f64 = 2.2;

/// Measured plaques and coefficients of the upper part; none where both are constants.
pub fn light_part(joint: &Joint) -> Option<Part> {
    let mut part = Part {
        heading: "The light in the upper part".into(),
        ..Part::default()
    };
    let plaques = &joint.upper.plaques;
    if !plaques.is_empty() {
        part.figures.push(named(
            "plaques",
            plaques_figure(joint, plaques),
            "Transmittance and reflectance as measured. They are not what reaches the interface: in \
             contact, less light turns back than in air.",
        ));
        part.tables.push(plaques_table(joint, plaques));
    }
    if let Some(figure) = coefficients_figure(joint) {
        part.figures.push(named(
            "coefficients",
            figure,
            "Absorption and reduced scattering of the upper part, as used; µs' = µs (1 − g).",
        ));
    }
    (!part.figures.is_empty()).then_some(part)
}

fn laser(joint: &Joint) -> Mark {
    Mark::VLine(Straight {
        at: joint.wavelength_m / NM,
        label: Label::new(format!("laser, {}", number::wavelength(joint.wavelength_m))),
        stroke: Stroke::fine(Role::Ink, Dash::Dotted),
    })
}

fn points(it: &Spectrum, scale: f64) -> Vec<[f64; 2]> {
    let all = it.points().into_iter();
    all.map(|(at_m, value)| [at_m / NM, value / scale])
        .collect()
}

fn plaques_figure(joint: &Joint, plaques: &[Plaque]) -> Figure {
    let mut figure = Figure::new(
        "What the spectrometer saw",
        Axis::linear("Wavelength", "nm"),
        Axis::linear("Share of the incident light", "%").over(0.0, 100.0),
    );
    figure.subtitle = joint.upper.material.name.clone();
    const DASHES: [Dash; 4] = [Dash::Solid, Dash::Long, Dash::DashDot, Dash::Dashed];
    for (i, plaque) in plaques.iter().enumerate() {
        let thickness = number::length(plaque.thickness_m, 3);
        let dash = DASHES[i % DASHES.len()];
        let mut curve = |it: &Spectrum, word: &str, series: usize| {
            figure.marks.push(Mark::Line(Line::new(
                points(it, 0.01),
                Stroke::dashed(Role::Series(series), dash),
                Label::new(format!("{word}, {thickness}")),
            )));
        };
        curve(&plaque.transmittance, "T", 0);
        if let Some(it) = &plaque.reflectance {
            curve(it, "R", 1);
        }
    }
    figure.marks.push(laser(joint));
    figure
}

fn plaques_table(joint: &Joint, plaques: &[Plaque]) -> Table {
    let at = |it: Option<&Spectrum>| {
        it.and_then(|it| it.at("plaque", joint.wavelength_m).ok())
            .map_or(Cell::Missing, |it| Cell::Number(100.0 * it))
    };
    let column = |name: &str, cells: Vec<Cell>| Column {
        cells,
        digits: 3,
        ..Column::numbers(name, "%", [])
    };
    Table::new(
        format!("Plaques at {}", number::wavelength(joint.wavelength_m)),
        vec![
            Column::words("Plaque", plaques.iter().map(|it| it.name.as_str())),
            Column::numbers(
                "Thickness",
                "mm",
                plaques.iter().map(|it| it.thickness_m / MM),
            ),
            column(
                "Transmittance in air",
                plaques
                    .iter()
                    .map(|it| at(Some(&it.transmittance)))
                    .collect(),
            ),
            column(
                "Reflectance in air",
                plaques
                    .iter()
                    .map(|it| at(it.reflectance.as_ref()))
                    .collect(),
            ),
        ],
    )
}

/// Absorption and reduced scattering in 1/mm; none where neither depends on the wavelength.
fn coefficients_figure(joint: &Joint) -> Option<Figure> {
    let optical = &joint.upper.optical;
    let (from_m, to_m) = optical.range_m()?;
    let (from_m, to_m) = (
        from_m.max(joint.wavelength_m / SPAN),
        to_m.min(joint.wavelength_m * SPAN),
    );
    if to_m <= from_m {
        return None;
    }
    let mut figure = Figure::new(
        "What the part does to light",
        Axis::linear("Wavelength", "nm").over(from_m / NM, to_m / NM),
        Axis::log("Coefficient", "1/mm"),
    );
    figure.subtitle = joint.upper.material.name.clone();
    let tabled = |it: &Option<Sourced<Spectrum>>| it.as_ref().map(|it| it.value.clone());
    if let Some(it) = tabled(&optical.absorption) {
        push(
            &mut figure,
            joint,
            "absorption µa",
            points(&it, PER_MM),
            0,
            Dash::Solid,
        );
    }
    if let Some(it) = tabled(&optical.scattering) {
        let reduced = points(&it, PER_MM)
            .into_iter()
            .map(|[at, mu_s]| {
                let g = optical.anisotropy.as_ref();
                let g = g.and_then(|g| g.value.at("anisotropy", at * NM).ok());
                [at, mu_s * (1.0 - g.unwrap_or(0.0))]
            })
            .collect();
        push(
            &mut figure,
            joint,
            "reduced scattering µs'",
            reduced,
            1,
            Dash::Long,
        );
    }
    figure.marks.push(laser(joint));
    (1 < figure.marks.len()).then_some(figure)
}

/// A curve of a table, or nothing of a constant.
fn push(
    figure: &mut Figure,
    joint: &Joint,
    words: &str,
    points: Vec<[f64; 2]>,
    series: usize,
    dash: Dash,
) {
    if points.len() < 2 {
        return;
    }
    let laser_nm = joint.wavelength_m / NM;
    let nearest = points
        .iter()
        .min_by(|a, b| (a[0] - laser_nm).abs().total_cmp(&(b[0] - laser_nm).abs()))
        .copied();
    figure.marks.push(Mark::Line(Line::new(
        points,
        Stroke::dashed(Role::Series(series), dash),
        Label::new(words),
    )));
    if let Some(point) = nearest.filter(|it| 0.0 < it[1]) {
        figure.marks.push(Mark::Points(Points {
            points: vec![point],
            errors: Vec::new(),
            label: Label::at(
                Place::Beside,
                format!("{} /mm", number::significant(point[1], 2)),
            ),
            marker: if series == 0 {
                Marker::Disc
            } else {
                Marker::Square
            },
            role: Role::Series(series),
            radius_px: 4.0,
        }));
    }
}
