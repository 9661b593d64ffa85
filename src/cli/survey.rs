//! `survey`: maps over two of wavelength, thickness, speed, power and absorber content.

use rayon::prelude::*;
use serde_json::Value;

use crate::cli::args::{self, AxisName, FieldName, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::{Error, InputProblem};
use crate::input::{Note, quantity};
use crate::report::survey_report::survey_report;
use crate::report::{Report, answer, json};
use crate::study::progress::Told;
use crate::study::survey::{Axis, Field, Plan, Survey, spaced, survey, usual_range};
use crate::weld::{Joint, Outcome, Settings, simulate};

/// The maps drawn when no axes are given.
fn usual_axes(joint: &Joint) -> [(Axis, Axis); 3] {
    let lever = Axis::of_lever(joint.motion.lever());
    [
        (Axis::Wavelength, Axis::UpperThickness),
        (lever, Axis::UpperThickness),
        (Axis::Wavelength, lever),
    ]
}

/// Reads, maps, reports.
///
/// # Errors
/// The joint or the plan cannot be read, or the plan has no meaning.
pub fn run(it: &args::Survey, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint(&it.file)?;
    let answered = Answered::of(&joint, &notes, &plans_of(it, &joint)?, terminal)?;
    answered.say(manner, terminal);
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &answered.report())?;
    }
    Ok(Answer::Yes)
}

/// Maps with all that is said of them.
pub struct Answered<'j> {
    joint: &'j Joint,
    maps: Vec<Survey>,
    outcome: Outcome,
    remarks: Vec<String>,
}

impl<'j> Answered<'j> {
    /// Makes the maps of a joint.
    ///
    /// # Errors
    /// A plan has no meaning, or the joint itself cannot be followed.
    pub fn of(
        joint: &'j Joint,
        notes: &[Note],
        plans: &[Plan],
        terminal: &Terminal,
    ) -> Result<Self, Error> {
        let settings = Settings::standard();
        let bar = terminal.progress("mapping");
        let told = Told::new(&bar, plans.len());
        let maps = plans
            .par_iter()
            .enumerate()
            .map(|(map, plan)| survey(joint, plan, &settings, &told.of(map)))
            .collect::<Result<Vec<Survey>, Error>>()?;
        let outcome = simulate(std::slice::from_ref(joint), &settings).remove(0)?;
        let remarks = load::remarks(notes, joint, &outcome);
        Ok(Answered {
            joint,
            maps,
            outcome,
            remarks,
        })
    }

    fn say(&self, manner: &Manner, terminal: &Terminal) {
        if manner.json {
            let mut values: Vec<Value> = self
                .maps
                .iter()
                .map(|it| json::survey(self.joint, it, &self.remarks))
                .collect();
            let value = if values.len() == 1 {
                values.remove(0)
            } else {
                Value::Array(values)
            };
            deliver::json(terminal, &value);
        } else {
            let lines: String = self
                .maps
                .iter()
                .map(|it| {
                    let axes = format!("{} × {}", it.x.word(), it.y.word());
                    format!("  {axes}: {}\n", answer::survey_headline(it))
                })
                .collect();
            terminal.result(&format!("{}\n\n{lines}", self.joint.question));
        }
        terminal.warnings(&self.remarks);
    }

    /// Page, figures and tables.
    pub fn report(&self) -> Report {
        survey_report(self.joint, &self.outcome, &self.maps, &self.remarks)
    }
}

fn plans_of(it: &args::Survey, joint: &Joint) -> Result<Vec<Plan>, Error> {
    let cells = cells_of(&it.cells)?;
    let field = field_of(it.field);
    match (it.x, it.y) {
        (Some(x), Some(y)) => {
            let (x, y) = (axis_of(x), axis_of(y));
            Ok(vec![Plan {
                x: (x, values(joint, x, it.x_range.as_deref(), cells.0)?),
                y: (y, values(joint, y, it.y_range.as_deref(), cells.1)?),
                field,
            }])
        }
        _ => usual_plans(joint, field, cells),
    }
}

/// The maps drawn when no axes are given; power makes room for itself where latitude cannot be.
///
/// # Errors
/// Never for the usual ranges; the type is that of stated ones.
pub fn usual_plans(joint: &Joint, field: Field, cells: (usize, usize)) -> Result<Vec<Plan>, Error> {
    usual_axes(joint)
        .into_iter()
        .map(|(x, y)| {
            Ok(Plan {
                x: (x, values(joint, x, None, cells.0)?),
                y: (y, values(joint, y, None, cells.1)?),
                field,
            })
        })
        .collect()
}

fn axis_of(name: AxisName) -> Axis {
    match name {
        AxisName::Wavelength => Axis::Wavelength,
        AxisName::Thickness => Axis::UpperThickness,
        AxisName::Speed => Axis::Speed,
        AxisName::Passes => Axis::Passes,
        AxisName::Turns => Axis::Turns,
        AxisName::Time => Axis::Time,
        AxisName::PowerDensity => Axis::PowerDensity,
        AxisName::Power => Axis::Power,
        AxisName::Absorber => Axis::AbsorberContent,
        AxisName::Gap => Axis::Gap,
    }
}

fn field_of(name: FieldName) -> Field {
    match name {
        FieldName::Peak => Field::InterfacePeak,
        FieldName::Margin => Field::Margin,
        FieldName::Latitude => Field::Latitude,
    }
}

/// Most cells along one side of a map.
const MOST_CELLS: usize = 500;

fn cells_of(text: &str) -> Result<(usize, usize), Error> {
    let count = |text: &str| {
        text.trim()
            .parse::<usize>()
            .ok()
            .filter(|it| (2..=MOST_CELLS).contains(it))
    };
    text.split_once(['x', '×'])
        .and_then(|(x, y)| Some((count(x)?, count(y)?)))
        .ok_or_else(|| {
            Error::new(InputProblem::OutOfRange {
                what: "--cells".into(),
                value: format!("\"{text}\""),
                least: "2x2".into(),
                most: format!("{MOST_CELLS}x{MOST_CELLS}"),
            })
            .cure("write two whole numbers, such as 60x30")
        })
}

fn values(joint: &Joint, axis: Axis, range: Option<&str>, count: usize) -> Result<Vec<f64>, Error> {
    let (from, to) = match range {
        None => usual_range(joint, axis),
        Some(text) => range_of(axis_field(axis), text)?,
    };
    let mut values = spaced(from, to, count, axis.is_logarithmic() && 0.0 < from);
    if axis.is_whole() {
        values.iter_mut().for_each(|it| *it = it.round().max(1.0));
        values.dedup();
    }
    Ok(values)
}

fn axis_field(axis: Axis) -> &'static quantity::Field {
    match axis {
        Axis::Wavelength => &quantity::WAVELENGTH,
        Axis::UpperThickness => &quantity::THICKNESS,
        Axis::Speed => &quantity::SPEED,
        Axis::Passes | Axis::Turns => &quantity::PASSES,
        Axis::Time => &quantity::SHOT,
        Axis::PowerDensity => &quantity::POWER_DENSITY,
        Axis::Power => &quantity::POWER,
        Axis::AbsorberContent => &quantity::CONTENT,
        Axis::Gap => &quantity::GAP,
    }
}

/// Two quantities with `..` between them.
fn range_of(field: &quantity::Field, text: &str) -> Result<(f64, f64), Error> {
    let Some((from, to)) = text.split_once("..") else {
        return Err(Error::new(InputProblem::WrongType {
            key: format!("range of {}", field.what),
            found: format!("\"{}\"", text.trim()),
            needed: "two values with .. between them".into(),
        })
        .cure(match meant(field, text) {
            Some((from, to)) => format!("write \"{from} .. {to}\""),
            None => format!(
                "write the smaller value, two points and the larger, such as \"{} .. {}\"",
                field.example, field.most
            ),
        }));
    };
    let (from, to) = (from.trim(), to.trim_start_matches('.').trim());
    let (from_si, to_si) = (field.parse(from)?, field.parse(to)?);
    if to_si <= from_si {
        return Err(Error::new(InputProblem::NotARange {
            what: format!("range of {}", field.what),
            least: from.into(),
            most: to.into(),
        })
        .cure(if to_si < from_si {
            format!("write the smaller value first: \"{to} .. {from}\"")
        } else {
            "write two values that differ, the smaller first".into()
        }));
    }
    Ok((from_si, to_si))
}

/// Two values that were parted by a dash or a word.
fn meant<'t>(field: &quantity::Field, text: &'t str) -> Option<(&'t str, &'t str)> {
    [" - ", "–", "—", "…", " to ", ",", ":", "-"]
        .into_iter()
        .filter_map(|sign| text.split_once(sign))
        .map(|(from, to)| (from.trim(), to.trim()))
        .find(|(from, to)| match (field.parse(from), field.parse(to)) {
            (Ok(from), Ok(to)) => from < to,
            _ => false,
        })
}
