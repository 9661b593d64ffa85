//! A map as a figure: field over two axes, with the common laser lines where wavelength is one.

use ndarray::Array2;

use crate::report::axis::round_values;
use crate::report::figure::{
    Axis as FigureAxis, Dash, Field as Values, Figure, Label, Line, Mark, Place, Rule as Straight,
    Stroke, Unknown,
};
use crate::report::number;
use crate::report::palette::{Map, Role};
use crate::report::process::{self, PowerScale};
use crate::study::survey::{Axis, Field, Survey};
use crate::units::{MM, NM, UM, celsius};
use crate::weld::joint::Joint;
use crate::weld::setpoint::Lever;

/// Laser lines marked on maps over wavelength, nm.
pub const LASER_LINES_NM: [f64; 9] = [
    808.0, 915.0, 940.0, 980.0, 1064.0, 1470.0, 1550.0, 1710.0, 1940.0,
];

/// Value of an axis in the unit it is shown in.
pub fn shown(axis: Axis, value: f64) -> f64 {
    match axis {
        Axis::Wavelength => value / NM,
        Axis::UpperThickness | Axis::Speed => value / MM,
        Axis::Power | Axis::Passes | Axis::Turns | Axis::Time => value,
        Axis::PowerDensity => value / 1e6,
        Axis::AbsorberContent => value * 100.0,
        Axis::Gap => value / UM,
    }
}

/// Label and unit of an axis.
pub fn heading(axis: Axis) -> (&'static str, &'static str) {
    match axis {
        Axis::Wavelength => ("Laser wavelength", "nm"),
        Axis::UpperThickness => ("Thickness of the upper part", "mm"),
        Axis::Speed => ("Feed rate", "mm/s"),
        Axis::Passes => process::heading(Lever::Passes),
        Axis::Turns => process::heading(Lever::Turns),
        Axis::Time => process::heading(Lever::Time),
        Axis::PowerDensity => ("Power density at the part", "W/mm²"),
        Axis::Power => ("Laser power at the part", "W"),
        Axis::AbsorberContent => ("Carbon black in the lower part", "wt%"),
        Axis::Gap => ("Gap between the parts", "µm"),
    }
}

/// Label and unit of a field.
pub fn field_heading(field: Field) -> (&'static str, &'static str) {
    match field {
        Field::InterfacePeak => ("Interface peak temperature", "°C"),
        Field::Margin => ("Margin", ""),
        Field::Latitude => ("Latitude (highest / lowest sound power)", ""),
    }
}

fn axis_of(axis: Axis, values: &[f64]) -> FigureAxis {
    let (label, unit) = heading(axis);
    let (first, last) = match (values.first(), values.last()) {
        (Some(first), Some(last)) => (shown(axis, *first), shown(axis, *last)),
        _ => (0.0, 1.0),
    };
    if axis.is_logarithmic() && 0.0 < first {
        FigureAxis::log(label, unit).over(first, last)
    } else {
        FigureAxis::linear(label, unit).over(first, last)
    }
}

/// What cells are called that could not be answered.
const NO_ANSWER: &str = "no answer: outside the data";

/// Draws a map.
pub fn survey_figure(joint: &Joint, survey: &Survey) -> Figure {
    let title = match survey.field {
        Field::Latitude => "How much power may drift",
        Field::InterfacePeak => "How hot the interface gets",
        Field::Margin => "How far from the nearest limit",
    };
    let mut figure = Figure::new(
        title,
        axis_of(survey.x, &survey.x_values),
        axis_of(survey.y, &survey.y_values),
    );
    figure.subtitle = subtitle(joint, survey);
    figure.size = [860.0, 540.0];
    let (label, unit) = field_heading(survey.field);
    let shape = (survey.y_values.len(), survey.x_values.len());
    let values = Array2::from_shape_fn(shape, |(row, column)| {
        let cell = survey.cells.get(row).and_then(|it| it.get(column));
        let value = cell.and_then(|it| it.as_ref().ok()?.value);
        match survey.field {
            Field::InterfacePeak => value.map_or(f64::NAN, celsius),
            _ => value.unwrap_or(f64::NAN),
        }
    });
    let levels = match survey.field {
        Field::Margin => margin_levels(values.iter().copied()),
        Field::Latitude | Field::InterfacePeak => Vec::new(),
    };
    if survey.field == Field::Margin {
        figure.note = "Zero is the limit: the weld is sound above it. The bar gives the value of \
                       every line; lines are closer near the limit where the map reaches far below it."
            .into();
    }
    figure.marks.push(Mark::Field(Values {
        x: survey
            .x_values
            .iter()
            .map(|&it| shown(survey.x, it))
            .collect(),
        y: survey
            .y_values
            .iter()
            .map(|&it| shown(survey.y, it))
            .collect(),
        values,
        label: label.into(),
        unit: unit.into(),
        map: match survey.field {
            Field::Margin => Map::Signed,
            _ => Map::Dusk,
        },
        levels,
        none_below: (survey.field == Field::Latitude).then_some(1.0),
        none_label: match survey.field {
            Field::Latitude => "no sound power",
            _ => NO_ANSWER,
        }
        .into(),
        unknown: (survey.field == Field::Latitude).then(|| {
            Box::new(Unknown {
                places: Array2::from_shape_fn(shape, |(row, column)| {
                    survey.cells[row][column].is_err()
                }),
                label: NO_ANSWER.into(),
            })
        }),
    }));
    push_laser_lines(survey, &mut figure);
    push_stated(joint, survey, &mut figure);
    push_reach(survey, &mut figure);
    figure
}

/// Steps aimed at between zero and the best margin.
const STEPS_ABOVE: usize = 5;

/// How far below zero the first line lies, as a share of the worst margin, at least.
const NEAREST_BELOW: f64 = 1.0 / 60.0;

/// Levels of margins: even steps where welds are sound, and 1, 2, 5 × 10ⁿ below, since a margin reaches
/// far below zero and not far above.
pub fn margin_levels(margins: impl Iterator<Item = f64>) -> Vec<f64> {
    let (low, high) = margins
        .filter(|it| it.is_finite())
        .fold((0.0f64, 0.0f64), |(low, high), it| {
            (low.min(it), high.max(it))
        });
    let above = round_values(0.0, high, STEPS_ABOVE);
    let deepest = -low;
    let step = above.get(1).copied().unwrap_or(deepest);
    let mut levels = if deepest <= step * STEPS_ABOVE as f64 {
        round_values(low, 0.0, STEPS_ABOVE)
    } else {
        let decades = NEAREST_BELOW.log10().floor() as i32..=0;
        let worst = deepest.log10().ceil() as i32;
        decades
            .flat_map(|decade| [1, 2, 5].map(|figure| format!("-{figure}e{}", worst + decade)))
            .filter_map(|it| it.parse().ok())
            .filter(|it: &f64| low < *it && *it <= -NEAREST_BELOW * deepest)
            .collect()
    };
    levels.extend(above);
    levels.push(0.0);
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}

fn subtitle(joint: &Joint, survey: &Survey) -> String {
    let mut parts = vec![format!(
        "{} on {}",
        joint.upper.material.name, joint.lower.material.name
    )];
    let varies = |axis: Axis| survey.x == axis || survey.y == axis;
    if !varies(Axis::Wavelength) {
        parts.push(number::wavelength(joint.wavelength_m));
    }
    if !varies(Axis::UpperThickness) {
        parts.push(format!(
            "upper part {}",
            number::length(joint.upper.thickness_m, 2)
        ));
    }
    let lever = joint.motion.lever();
    if !varies(Axis::of_lever(lever)) {
        parts.push(process::say(lever, joint.motion.setting()));
    }
    if survey.field != Field::Latitude && !varies(Axis::Power) && !varies(Axis::PowerDensity) {
        parts.push(PowerScale::of_joint(joint).say(joint.beam.power_w, 3));
    }
    parts.join(", ")
}

fn push_laser_lines(survey: &Survey, figure: &mut Figure) {
    if survey.x != Axis::Wavelength {
        return;
    }
    let (Some(first), Some(last)) = (survey.x_values.first(), survey.x_values.last()) else {
        return;
    };
    for line_nm in LASER_LINES_NM {
        if first / NM <= line_nm && line_nm <= last / NM {
            figure.marks.push(Mark::VLine(Straight {
                at: line_nm,
                label: Label::new(number::short(line_nm, 4)),
                stroke: Stroke::fine(Role::Ink, Dash::Dotted),
            }));
        }
    }
}

/// The joint's own place on the map.
fn push_stated(joint: &Joint, survey: &Survey, figure: &mut Figure) {
    let own = |axis: Axis| match axis {
        Axis::Wavelength => Some(joint.wavelength_m),
        Axis::UpperThickness => Some(joint.upper.thickness_m),
        Axis::Speed => joint.speed_m_per_s(),
        Axis::Passes | Axis::Turns | Axis::Time => Some(joint.motion.setting()),
        Axis::PowerDensity => Some(joint.beam.power_w / joint.lit_area_m2()),
        Axis::Power => Some(joint.beam.power_w),
        Axis::AbsorberContent => match &joint.lower.absorber {
            Some(crate::material::Absorber::CarbonBlack { content, .. }) => Some(*content),
            _ => None,
        },
        Axis::Gap => Some(joint.interface.gap_m().unwrap_or(0.0)),
    };
    if let (Some(x), Some(y)) = (own(survey.x), own(survey.y)) {
        figure
            .marks
            .push(Mark::Points(crate::report::figure::Points {
                points: vec![[shown(survey.x, x), shown(survey.y, y)]],
                errors: Vec::new(),
                label: Label::at(Place::Legend, "this joint"),
                marker: crate::report::figure::Marker::Ring,
                role: Role::Ink,
                radius_px: 6.0,
            }));
    }
}

/// Where the laser at hand is just strong enough: lowest sound power = greatest laser power.
fn push_reach(survey: &Survey, figure: &mut Figure) {
    let Some(machine) = survey.machine else {
        return;
    };
    let mut points = Vec::new();
    for (column, &x) in survey.x_values.iter().enumerate() {
        let need = |row: usize| {
            survey.cells[row][column]
                .as_ref()
                .ok()
                .and_then(|it| it.limits)
                .and_then(|it| it.low.power_w())
                .map(|it| (it / machine.power_w.1).ln())
        };
        let open = |row: usize| {
            let limits = survey.cells[row][column]
                .as_ref()
                .ok()
                .and_then(|it| it.limits);
            limits.is_some_and(|it| it.is_open())
        };
        let crossing = (1..survey.y_values.len()).find_map(|row| {
            if !open(row - 1) && !open(row) {
                return None;
            }
            let (a, b) = (need(row - 1)?, need(row)?);
            (a <= 0.0 && 0.0 < b).then(|| {
                let (from, to) = (survey.y_values[row - 1], survey.y_values[row]);
                from + (to - from) * a / (a - b)
            })
        });
        points.push([
            shown(survey.x, x),
            crossing.map_or(f64::NAN, |it| shown(survey.y, it)),
        ]);
    }
    // A single crossing makes no line.
    let runs = points
        .windows(2)
        .any(|it| it[0][1].is_finite() && it[1][1].is_finite());
    if runs {
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::dashed(Role::Ink, Dash::Long),
            Label::at(
                Place::Legend,
                format!(
                    "beyond: needs more than the laser's {}",
                    number::power(machine.power_w.1, 3)
                ),
            ),
        )));
    }
}
