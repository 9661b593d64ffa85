//! Plaques as figures: coefficients, measured points over computed curves, and what is left over.

use crate::material::optical::Reading as Meaning;
use crate::optics::reduction::Reduced;
use crate::report::bundle::named;
use crate::report::figure::{
    Axis, Band, Dash, Figure, Fill, Label, Line as Curve, Mark, Marker, Place, Points, Rule, Stroke,
};
use crate::report::number;
use crate::report::page::Illustration;
use crate::report::palette::Role;
use crate::report::spectra_report::SpectraResult;
use crate::report::spectra_tables::{series, series_name};
use crate::study::plaques::{Line, PlaqueStudy};
use crate::units::{MM, NM};

/// Points drawn of a measured spectrum; more would hide the curve.
const SHOWN_POINTS: usize = 40;

/// Decades that a logarithmic axis shows at most.
const DECADES: f64 = 4.0;

/// All figures with captions, by file name.
pub fn figures(result: &SpectraResult) -> Vec<(String, Illustration)> {
    let study = &result.study;
    let mut all = vec![
        named(
            "coefficients",
            coefficients_figure(study),
            match &study.reduction.reduced {
                Reduced::Coefficients(_) => {
                    "Absorption and reduced scattering with one standard error. Rings: less than two \
                     standard errors, used as it stands. Crosses: the plaques do not tell it, and \
                     nothing is filled in."
                }
                Reduced::Extinction(_) => "Extinction with one standard error.",
            },
        ),
        named(
            "plaques",
            plaques_figure(study),
            "Points: as measured. Curves: what the coefficients give for the same plaque, and for the \
             part where one was asked about.",
        ),
    ];
    if let Some(figure) = residual_figure(study) {
        all.push(named(
            "residuals",
            figure,
            "Measured less computed, in percent of the incident light. Tinted: one photometric \
             standard uncertainty.",
        ));
    }
    all
}

fn subtitle(study: &PlaqueStudy) -> String {
    let thickness: Vec<String> = study
        .specimens
        .iter()
        .map(|it| number::length(it.thickness_m, 3))
        .collect();
    match &study.reduction.reduced {
        Reduced::Coefficients(it) => format!(
            "plaques of {}, {}, g = {} assumed",
            thickness.join(", "),
            it.data.words(),
            it.setup.g
        ),
        Reduced::Extinction(_) => format!("plaques of {}", thickness.join(", ")),
    }
}

/// A coefficient at one wavelength.
struct Dot {
    wavelength_nm: f64,
    per_mm: f64,
    error_per_mm: f64,
    used: bool,
}

impl Dot {
    /// Less than two standard errors.
    fn in_noise(&self) -> bool {
        self.per_mm < 2.0 * self.error_per_mm
    }
}

fn coefficients_figure(study: &PlaqueStudy) -> Figure {
    let families = families(study);
    let largest = families
        .iter()
        .flat_map(|it| &it.1)
        .filter(|it| it.used)
        .fold(0.0f64, |most, it| most.max(it.per_mm));
    let least = families
        .iter()
        .flat_map(|it| &it.1)
        .filter(|it| it.used && 0.0 < it.per_mm)
        .fold(largest, |least, it| least.min(it.per_mm));
    let top = if 0.0 < largest { 1.6 * largest } else { 1.0 };
    let floor = (0.5 * least).max(top * 10f64.powf(-DECADES));
    let mut figure = Figure::new(
        match study.meaning() {
            Meaning::Coefficients => "Absorption and scattering",
            Meaning::EffectiveExtinction => "Effective extinction",
        },
        wavelength_axis(study),
        Axis::log("Coefficient", "1/mm").over(floor, top),
    );
    figure.subtitle = subtitle(study);
    for (series, (name, dots)) in families.iter().enumerate() {
        push_family(&mut figure, series, name, dots, (floor, top));
    }
    push_lines(study, &mut figure);
    figure
}

/// Coefficients by name.
fn families(study: &PlaqueStudy) -> Vec<(&'static str, Vec<Dot>)> {
    match &study.reduction.reduced {
        Reduced::Coefficients(inversion) => {
            let dots = |of: fn(&crate::optics::invert::Pair) -> f64| -> Vec<Dot> {
                inversion
                    .points
                    .iter()
                    .map(|it| {
                        let estimate = it.estimate();
                        Dot {
                            wavelength_nm: it.wavelength_m / NM,
                            per_mm: estimate.map_or(f64::NAN, |it| of(&it.pair) * MM),
                            error_per_mm: estimate
                                .map_or(f64::NAN, |it| of(&it.standard_error) * MM),
                            used: it.used,
                        }
                    })
                    .collect()
            };
            vec![
                ("absorption µa", dots(|it| it.mu_a_per_m)),
                ("reduced scattering µs'", dots(|it| it.mu_s_reduced_per_m)),
            ]
        }
        Reduced::Extinction(extinction) => {
            let name = match study.meaning() {
                Meaning::Coefficients => "absorption µa",
                Meaning::EffectiveExtinction => "effective extinction",
            };
            let dots = extinction
                .absorption
                .points()
                .iter()
                .zip(&extinction.residual)
                .map(|(it, residual)| Dot {
                    wavelength_nm: it.0 / NM,
                    per_mm: it.1 * MM,
                    error_per_mm: residual.standard_uncertainty_per_m * MM,
                    used: true,
                })
                .collect();
            vec![(name, dots)]
        }
    }
}

fn push_family(
    figure: &mut Figure,
    series: usize,
    name: &str,
    dots: &[Dot],
    (floor, top): (f64, f64),
) {
    let role = Role::Series(series);
    let dash = if series == 0 { Dash::Solid } else { Dash::Long };
    for run in dots.chunk_by(|a, b| a.used == b.used) {
        if !run[0].used || run.len() < 2 {
            continue;
        }
        let edge = |sign: f64| -> Vec<[f64; 2]> {
            run.iter()
                .map(|it| {
                    let at = it.per_mm + sign * it.error_per_mm;
                    [it.wavelength_nm, at.clamp(floor, top)]
                })
                .collect()
        };
        figure.marks.push(Mark::Band(Band {
            lower: edge(-1.0),
            upper: edge(1.0),
            label: Label::none(),
            role,
            fill: Fill::Tint,
        }));
    }
    let points = dots
        .iter()
        .map(|it| {
            let value = if it.used {
                it.per_mm.max(floor)
            } else {
                f64::NAN
            };
            [it.wavelength_nm, value]
        })
        .collect();
    figure.marks.push(Mark::Line(Curve::new(
        points,
        Stroke::dashed(role, dash),
        Label::new(name),
    )));
    let mut marked = |marker: Marker, label: &str, of: &dyn Fn(&Dot) -> bool| {
        let chosen: Vec<[f64; 2]> = dots
            .iter()
            .filter(|it| of(it))
            .map(|it| {
                let value = if it.per_mm.is_finite() {
                    it.per_mm
                } else {
                    floor
                };
                [it.wavelength_nm, value.clamp(floor, top)]
            })
            .collect();
        // A few tens of marks tell where; hundreds hide the curve.
        let stride = chosen.len().div_ceil(SHOWN_POINTS).max(1);
        let points: Vec<[f64; 2]> = chosen.into_iter().step_by(stride).collect();
        if !points.is_empty() {
            figure.marks.push(Mark::Points(Points {
                points,
                errors: Vec::new(),
                label: Label::at(Place::Legend, label),
                marker,
                role,
                radius_px: 3.0,
            }));
        }
    };
    marked(
        Marker::Ring,
        &format!("{name}: below two standard errors"),
        &|it| it.used && it.in_noise(),
    );
    marked(Marker::Saltire, &format!("{name}: not told"), &|it| {
        !it.used
    });
}

fn wavelength_axis(study: &PlaqueStudy) -> Axis {
    let axis = Axis::linear("Wavelength", "nm");
    match study.range_m() {
        Some((from, to)) => axis.over(from / NM, to / NM),
        None => axis,
    }
}

/// Fine vertical lines at the wavelengths asked for.
fn push_lines(study: &PlaqueStudy, figure: &mut Figure) {
    for line in &study.lines {
        figure.marks.push(Mark::VLine(Rule {
            at: line.wavelength_m / NM,
            label: Label::new(number::short(line.wavelength_m / NM, 5)),
            stroke: Stroke::fine(Role::Guide, Dash::Dotted),
        }));
    }
}

fn plaques_figure(study: &PlaqueStudy) -> Figure {
    let mut figure = Figure::new(
        "Plaques: measured and computed",
        wavelength_axis(study),
        Axis::linear("Share of the incident light", "%").over(0.0, 100.0),
    );
    figure.subtitle = subtitle(study);
    let series = series(study);
    figure.size = [760.0, 540.0f64.max(NAME_PX * series.len() as f64 + 200.0)];
    push_part(study, &mut figure);
    for (at, (specimen, sign, of)) in series.into_iter().enumerate() {
        let name = series_name(study, specimen, sign);
        let percent = |value: Option<f64>| value.map_or(f64::NAN, |it| 100.0 * it);
        let curve = study
            .curves
            .iter()
            .map(|it| {
                [
                    it.wavelength_m / NM,
                    percent(it.modelled.get(specimen).and_then(of)),
                ]
            })
            .collect();
        let points: Vec<[f64; 2]> = thinned(&study.curves)
            .map(|it| {
                [
                    it.wavelength_m / NM,
                    percent(it.measured.get(specimen).and_then(of)),
                ]
            })
            .filter(|it| it[1].is_finite())
            .collect();
        figure.marks.push(Mark::Line(Curve::new(
            curve,
            Stroke::solid(Role::Series(at)),
            Label::at(Place::End, name.clone()),
        )));
        figure.marks.push(Mark::Points(Points {
            points,
            errors: Vec::new(),
            label: Label::none(),
            marker: MARKERS[at % MARKERS.len()],
            role: Role::Series(at),
            radius_px: 2.6,
        }));
    }
    figure
}

/// Height of a name in the right margin, px: a figure of many plaques is as high as their names need.
const NAME_PX: f64 = 16.0;

const MARKERS: [Marker; 5] = [
    Marker::Disc,
    Marker::Ring,
    Marker::Square,
    Marker::Diamond,
    Marker::Triangle,
];

fn thinned(curves: &[Line]) -> impl Iterator<Item = &Line> {
    curves
        .iter()
        .step_by(curves.len().div_ceil(SHOWN_POINTS).max(1))
}

/// Transmittance of the part, with its band.
fn push_part(study: &PlaqueStudy, figure: &mut Figure) {
    let Some(thickness_m) = study.part_thickness_m else {
        return;
    };
    let told = |sign: f64| -> Vec<[f64; 2]> {
        study
            .curves
            .iter()
            .map(|it| {
                let share = it.part.map_or(f64::NAN, |it| {
                    it.transmitted.value + sign * it.transmitted.standard_error
                });
                [it.wavelength_m / NM, 100.0 * share]
            })
            .collect()
    };
    let (lower, upper, middle) = (told(-1.0), told(1.0), told(0.0));
    for run in runs(&middle) {
        figure.marks.push(Mark::Band(Band {
            lower: lower[run.clone()].to_vec(),
            upper: upper[run].to_vec(),
            label: Label::none(),
            role: Role::Ink,
            fill: Fill::Tint,
        }));
    }
    figure.marks.push(Mark::Line(Curve::new(
        middle,
        Stroke::dashed(Role::Ink, Dash::Dashed),
        Label::at(
            Place::End,
            format!("T {}, part", number::length(thickness_m, 3)),
        ),
    )));
}

/// Runs of two or more points that are numbers.
fn runs(points: &[[f64; 2]]) -> Vec<std::ops::Range<usize>> {
    let mut all = Vec::new();
    let mut start = None;
    for i in 0..=points.len() {
        let number = points.get(i).is_some_and(|it| it[1].is_finite());
        match (number, start) {
            (true, None) => start = Some(i),
            (false, Some(from)) => {
                if from + 1 < i {
                    all.push(from..i);
                }
                start = None;
            }
            _ => {}
        }
    }
    all
}

/// Measured less computed; none where one value is fitted by one coefficient.
fn residual_figure(study: &PlaqueStudy) -> Option<Figure> {
    if let Reduced::Extinction(it) = &study.reduction.reduced
        && it.thicknesses < 2
    {
        return None;
    }
    let mut figure = Figure::new(
        "What the fit leaves over",
        wavelength_axis(study),
        Axis::linear("Measured less computed", "% of the incident light"),
    );
    figure.subtitle = subtitle(study);
    let mut largest = 0.0f64;
    if let Some(photometric) = study.photometric()
        && let Some((from, to)) = study.range_m()
    {
        largest = 100.0 * photometric;
        let edge = |sign: f64| vec![[from / NM, sign * largest], [to / NM, sign * largest]];
        figure.marks.push(Mark::Band(Band {
            lower: edge(-1.0),
            upper: edge(1.0),
            label: Label::none(),
            role: Role::Quiet,
            fill: Fill::Tint,
        }));
    }
    for (at, (specimen, sign, of)) in series(study).into_iter().enumerate() {
        let points: Vec<[f64; 2]> = study
            .curves
            .iter()
            .map(|it| {
                let measured = it.measured.get(specimen).and_then(of);
                let modelled = it.modelled.get(specimen).and_then(of);
                let left = measured
                    .zip(modelled)
                    .map_or(f64::NAN, |(a, b)| 100.0 * (a - b));
                [it.wavelength_m / NM, left]
            })
            .collect();
        if points.iter().all(|it| it[1].is_nan()) {
            continue;
        }
        largest = points
            .iter()
            .filter(|it| it[1].is_finite())
            .fold(largest, |most, it| most.max(it[1].abs()));
        figure.marks.push(Mark::Line(Curve {
            marker: Some(MARKERS[at % MARKERS.len()]),
            ..Curve::new(
                points,
                Stroke::fine(Role::Series(at), Dash::Solid),
                Label::at(Place::Legend, series_name(study, specimen, sign)),
            )
        }));
    }
    let room = 1.15 * largest.max(0.01);
    figure.y = figure.y.over(-room, room);
    figure.marks.push(Mark::HLine(Rule {
        at: 0.0,
        label: Label::none(),
        stroke: Stroke::fine(Role::Ink, Dash::Solid),
    }));
    Some(figure)
}
