//! A map in words.

use crate::error::Error;
use crate::report::answer::signed;
use crate::report::number;
use crate::report::process;
use crate::study::survey::{Axis, Field, Survey};
use crate::weld::setpoint::Lever;

/// A map in one sentence.
pub fn survey_headline(survey: &Survey) -> String {
    let values: Vec<(usize, usize, f64)> = survey
        .cells
        .iter()
        .enumerate()
        .flat_map(|(row, cells)| {
            cells.iter().enumerate().filter_map(move |(column, cell)| {
                cell.as_ref()
                    .ok()
                    .and_then(|it| it.value)
                    .map(|value| (row, column, value))
            })
        })
        .collect();
    let unanswered: Vec<&Error> = survey
        .cells
        .iter()
        .flatten()
        .filter_map(|it| it.as_ref().err())
        .collect();
    let all = survey.x_values.len() * survey.y_values.len();
    let missing = match unanswered.first() {
        Some(first) => format!(
            "; {} of the map has no answer, such as: {}",
            number::percent(unanswered.len() as f64 / all as f64, 2),
            first.problem()
        ),
        None => String::new(),
    };
    let Some(best) = values.iter().max_by(|a, b| a.2.total_cmp(&b.2)) else {
        return match survey.field {
            Field::Latitude if unanswered.len() < all => {
                format!("no cell of the map has a sound power{missing}")
            }
            _ => format!("no cell of the map has an answer{missing}"),
        };
    };
    let place = format!(
        "{}, {}",
        say_axis(survey.x, survey.x_values[best.1]),
        say_axis(survey.y, survey.y_values[best.0])
    );
    match survey.field {
        Field::Latitude => {
            let open = values.iter().filter(|it| 1.0 < it.2).count();
            if open == 0 {
                return format!("no cell of the map has a sound power{missing}");
            }
            format!(
                "{} of the map has a sound power; greatest latitude {} at {place}{missing}",
                number::percent(open as f64 / all as f64, 2),
                number::significant(best.2, 3)
            )
        }
        Field::InterfacePeak => format!(
            "hottest interface {} at {place}{missing}",
            number::temperature(best.2)
        ),
        Field::Margin => format!("best margin {} at {place}{missing}", signed(best.2)),
    }
}

/// A value of an axis in words.
pub fn say_axis(axis: Axis, value: f64) -> String {
    match axis {
        Axis::Wavelength => number::wavelength(value),
        Axis::UpperThickness => number::length(value, 3),
        Axis::Speed => number::speed(value, 3),
        Axis::Passes => process::say(Lever::Passes, value),
        Axis::Turns => process::say(Lever::Turns, value),
        Axis::Time => process::say(Lever::Time, value),
        Axis::PowerDensity => format!("{} W/mm²", number::significant(value / 1e6, 3)),
        Axis::Power => number::power(value, 3),
        Axis::AbsorberContent => format!("{} carbon black", number::percent(value, 2)),
        Axis::Gap => format!("gap {}", number::length(value, 3)),
    }
}
