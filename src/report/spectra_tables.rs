//! Tables of plaques, of their coefficients, and of the light in a part.

use crate::material::optical::Reading as Meaning;
use crate::optics::invert::Reading;
use crate::optics::reduction::{Reduced, Told, range_and_step_nm};
use crate::report::number;
use crate::report::spectra_report::{
    SpectraResult, absorption_words, geometry_words, plus_minus, scattering_words,
};
use crate::report::table::{Cell, Column, Table};
use crate::study::plaques::{Line, PlaqueStudy};
use crate::units::{MM, NM};

/// What was read: one row a plaque.
pub fn plaques_table(result: &SpectraResult) -> Table {
    let plaques = &result.plaques;
    let range: Vec<Option<(f64, f64, f64)>> = plaques
        .iter()
        .map(|it| range_and_step_nm(&it.transmittance))
        .collect();
    let of = |part: fn(&(f64, f64, f64)) -> f64| -> Vec<f64> {
        range
            .iter()
            .map(|it| it.as_ref().map_or(f64::NAN, part))
            .collect()
    };
    Table::new(
        "Plaques",
        vec![
            Column::words("Plaque", plaques.iter().map(|it| it.name.as_str())),
            Column::numbers(
                "Thickness",
                "mm",
                plaques.iter().map(|it| it.thickness_m / MM),
            ),
            Column::words(
                "Measured",
                plaques.iter().map(|it| {
                    if it.reflectance.is_some() {
                        "T and R"
                    } else {
                        "T"
                    }
                }),
            ),
            Column::words(
                "Transmittance",
                plaques.iter().map(|it| geometry_words(it.geometry)),
            ),
            Column::numbers("From", "nm", of(|it| it.0)),
            Column::numbers("To", "nm", of(|it| it.1)),
            Column::numbers("Step", "nm", of(|it| it.2)),
            Column::words("File", result.files.iter().map(String::as_str)),
        ],
    )
}

/// One kind of value that specimens have.
type Of = fn(&Reading) -> Option<f64>;

/// Kinds of values, with the sign they go by.
pub(super) const KINDS: [(&str, Of); 3] = [
    ("T", |it| it.total_transmittance),
    ("R", |it| it.total_reflectance),
    ("T collimated", |it| it.collimated_transmittance),
];

/// Every spectrum of the study as specimen, sign and kind of value.
pub(super) fn series(study: &PlaqueStudy) -> Vec<(usize, &'static str, Of)> {
    let mut all = Vec::new();
    for (i, specimen) in study.specimens.iter().enumerate() {
        let present = [
            specimen.total.is_some(),
            specimen.reflectance.is_some(),
            specimen.collimated.is_some(),
        ];
        for ((sign, of), present) in KINDS.into_iter().zip(present) {
            if present {
                all.push((i, sign, of));
            }
        }
    }
    all
}

/// Name of a series: "T 1.5 mm".
pub(super) fn series_name(study: &PlaqueStudy, specimen: usize, sign: &str) -> String {
    let thickness_m = study.specimens[specimen].thickness_m;
    let same = study
        .specimens
        .iter()
        .filter(|it| it.thickness_m == thickness_m)
        .count();
    let thickness = number::length(thickness_m, 3);
    if 1 < same {
        format!("{sign} {thickness} ({})", specimen + 1)
    } else {
        format!("{sign} {thickness}")
    }
}

/// Measured values and coefficients at the wavelengths asked for.
pub fn lines_table(study: &PlaqueStudy) -> Table {
    let lines = &study.lines;
    let mut columns = vec![wavelength(lines)];
    for (i, sign, of) in series(study) {
        columns.push(
            Column::numbers(
                series_name(study, i, sign),
                "%",
                lines.iter().map(|it| {
                    it.measured
                        .get(i)
                        .and_then(of)
                        .map_or(f64::NAN, |it| 100.0 * it)
                }),
            )
            .digits(3),
        );
    }
    let words = |of: fn(&crate::optics::invert::Estimate) -> String| -> Vec<String> {
        lines
            .iter()
            .map(|it| {
                it.estimate
                    .filter(|_| it.used)
                    .as_ref()
                    .map_or(String::new(), of)
            })
            .collect()
    };
    let name = match study.meaning() {
        Meaning::Coefficients => "µa (1/mm)",
        Meaning::EffectiveExtinction => "Extinction (1/mm)",
    };
    columns.push(Column::words(name, words(absorption_words)));
    if matches!(study.reduction.reduced, Reduced::Coefficients(_)) {
        columns.push(Column::words("µs' (1/mm)", words(scattering_words)));
    } else {
        columns.push(
            Column::numbers(
                "Misfit of T",
                "%",
                lines.iter().map(|it| 100.0 * largest_misfit(it)),
            )
            .digits(2),
        );
    }
    if lines.iter().any(|it| it.why.is_some()) {
        columns.push(Column::words(
            "Remark",
            lines.iter().map(|it| it.why.unwrap_or("")),
        ));
    }
    Table::new("At the laser lines, ± one standard error", columns)
}

fn largest_misfit(line: &Line) -> f64 {
    let misfits = line.measured.iter().zip(&line.modelled).flat_map(|(a, b)| {
        KINDS
            .iter()
            .filter_map(|(_, of)| Some((of(a)? - of(b)?).abs()))
            .collect::<Vec<_>>()
    });
    misfits.fold(f64::NAN, f64::max)
}

fn wavelength(lines: &[Line]) -> Column {
    Column::numbers("λ", "nm", lines.iter().map(|it| it.wavelength_m / NM)).digits(5)
}

/// Light in the part at the wavelengths asked for; none without a part.
pub fn part_table(study: &PlaqueStudy) -> Option<Table> {
    let thickness_m = study.part_thickness_m?;
    let lines = &study.lines;
    let words = |of: &dyn Fn(&Line) -> Option<Told>| -> Vec<String> {
        lines
            .iter()
            .map(|it| {
                of(it).map_or(String::new(), |it| {
                    plus_minus(100.0 * it.value, 100.0 * it.standard_error)
                })
            })
            .collect()
    };
    let mut columns = vec![
        wavelength(lines),
        Column::words(
            "T in air (%)",
            words(&|it| it.part.map(|it| it.transmitted)),
        ),
    ];
    if study.meaning() == Meaning::Coefficients {
        columns.push(Column::words(
            "R in air (%)",
            words(&|it| it.part.map(|it| it.reflected)),
        ));
    }
    columns.push(Column::words(
        "Delivered in contact (%)",
        words(&|it| it.part.and_then(|it| it.delivered)),
    ));
    let more = lines.iter().map(|it| {
        it.part
            .and_then(|it| Some(100.0 * (it.delivered?.value / it.transmitted.value - 1.0)))
            .unwrap_or(f64::NAN)
    });
    columns.push(Column::numbers("More than T in air", "%", more).digits(2));
    Some(Table::new(
        format!(
            "A part of {}: T in air is not the light delivered to a black part in contact",
            number::length(thickness_m, 3)
        ),
        columns,
    ))
}

/// Tables behind the figures, by file name.
pub fn behind(result: &SpectraResult) -> Vec<(String, Table)> {
    let study = &result.study;
    let mut all = vec![
        ("plaques".to_string(), plaques_table(result)),
        ("coefficients".to_string(), coefficients_table(study)),
        ("fit".to_string(), fit_table(study)),
    ];
    if !study.lines.is_empty() {
        all.push(("laser-lines".into(), lines_table(study)));
        all.extend(part_table(study).map(|it| ("part".to_string(), it)));
    }
    all
}

/// Coefficients at every wavelength.
fn coefficients_table(study: &PlaqueStudy) -> Table {
    let column = |name: &str, unit: &str, cells: Vec<Cell>| Column {
        cells,
        ..Column::numbers(name, unit, [])
    };
    match &study.reduction.reduced {
        Reduced::Coefficients(inversion) => {
            let points = &inversion.points;
            let of = |get: fn(&crate::optics::invert::Estimate) -> f64| -> Vec<Cell> {
                points
                    .iter()
                    .map(|it| {
                        it.estimate()
                            .map_or(Cell::Missing, |it| Cell::Number(get(it)))
                    })
                    .collect()
            };
            Table::new(
                "Absorption and reduced scattering",
                vec![
                    Column::numbers(
                        "Wavelength",
                        "nm",
                        points.iter().map(|it| it.wavelength_m / NM),
                    ),
                    column("Absorption", "1/mm", of(|it| it.pair.mu_a_per_m * MM)),
                    column(
                        "Standard error of absorption",
                        "1/mm",
                        of(|it| it.standard_error.mu_a_per_m * MM),
                    ),
                    column(
                        "Reduced scattering",
                        "1/mm",
                        of(|it| it.pair.mu_s_reduced_per_m * MM),
                    ),
                    column(
                        "Standard error of reduced scattering",
                        "1/mm",
                        of(|it| it.standard_error.mu_s_reduced_per_m * MM),
                    ),
                    column("Correlation", "", of(|it| it.correlation)),
                    column("Misfit", "standard deviations", of(|it| it.misfit)),
                    Column::words(
                        "Used",
                        points.iter().map(|it| if it.used { "yes" } else { "no" }),
                    ),
                    Column::words(
                        "Remark",
                        points
                            .iter()
                            .map(|it| it.why().map_or("", crate::optics::reduction::reason)),
                    ),
                ],
            )
        }
        Reduced::Extinction(extinction) => {
            let values = extinction.absorption.points();
            Table::new(
                "Extinction",
                vec![
                    Column::numbers("Wavelength", "nm", values.iter().map(|it| it.0 / NM)),
                    Column::numbers("Extinction", "1/mm", values.iter().map(|it| it.1 * MM)),
                    Column::numbers(
                        "Standard error",
                        "1/mm",
                        extinction
                            .residual
                            .iter()
                            .map(|it| it.standard_uncertainty_per_m * MM),
                    ),
                    Column::numbers(
                        "Largest misfit of transmittance",
                        "%",
                        extinction.residual.iter().map(|it| 100.0 * it.largest),
                    ),
                ],
            )
        }
    }
}

/// Measured and modelled values of the curves.
fn fit_table(study: &PlaqueStudy) -> Table {
    let curves = &study.curves;
    let mut columns = vec![Column::numbers(
        "Wavelength",
        "nm",
        curves.iter().map(|it| it.wavelength_m / NM),
    )];
    let percent = |it: Option<f64>| it.map_or(f64::NAN, |it| 100.0 * it);
    for (i, sign, of) in series(study) {
        let name = series_name(study, i, sign);
        columns.push(Column::numbers(
            format!("{name} measured"),
            "%",
            curves
                .iter()
                .map(|it| percent(it.measured.get(i).and_then(of))),
        ));
        columns.push(Column::numbers(
            format!("{name} computed"),
            "%",
            curves
                .iter()
                .map(|it| percent(it.modelled.get(i).and_then(of))),
        ));
    }
    if let Some(thickness_m) = study.part_thickness_m {
        let name = format!("T of the part, {}", number::length(thickness_m, 3));
        columns.push(Column::numbers(
            name.clone(),
            "%",
            curves
                .iter()
                .map(|it| percent(it.part.map(|it| it.transmitted.value))),
        ));
        columns.push(Column::numbers(
            format!("{name}, standard error"),
            "%",
            curves
                .iter()
                .map(|it| percent(it.part.map(|it| it.transmitted.standard_error))),
        ));
    }
    Table::new("Plaques and fit", columns)
}
