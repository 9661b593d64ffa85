//! `require`: what must hold of the parts so that the weld forgives as much as is asked.

use crate::cli::args::{self, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::{Error, InputProblem, Problem};
use crate::input::quantity::{Dimension, Field};
use crate::report::answer;
use crate::report::require_report::{self, require_report};
use crate::study::requirement::{Ask, requirement};
use crate::weld::{Settings, simulate};

/// Drift that can be asked.
const LATITUDE: Field = Field {
    what: "--latitude",
    dimension: Dimension::Fraction,
    least: "0.1 %",
    most: "90 %",
    example: "15 %",
};

/// Said where the joint does not say what the laser delivers.
const NO_MACHINE: &str = "no [machine] is stated, so the drift is judged within the powers looked at, \
     which are not those of a laser; state what it delivers, such as power = [\"5 W\", \"60 W\"]";

/// Reads, searches, reports.
///
/// # Errors
/// The joint cannot be read, or the light or heat of a joint on the way cannot be followed.
pub fn run(it: &args::Require, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let ask = Ask {
        drift: drift_of(&it.latitude)?,
    };
    let (joint, notes) = load::joint(&it.file)?;
    let settings = Settings::standard();
    let found = requirement(&joint, ask, &settings, &terminal.progress("seeking limits"))?;
    let outcome = simulate(std::slice::from_ref(&joint), &settings).remove(0)?;
    let mut remarks = load::remarks(&notes, &joint, &outcome);
    if joint.machine.is_none() {
        remarks.push(NO_MACHINE.into());
    }
    if manner.json {
        deliver::json(terminal, &require_report::json(&joint, &found, &remarks));
    } else {
        let specification = require_report::specification(&joint, &found)
            .map_or(String::new(), |it| format!("\nfor the drawing: {it}\n"));
        terminal.result(&format!(
            "{}\n{}\n{specification}\n{}",
            joint.question,
            require_report::headline(&joint, &found),
            answer::lines(&require_report::facts(&joint, &found)),
        ));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &require_report(&joint, &found, &remarks))?;
    }
    Ok(if found.complies() {
        Answer::Yes
    } else {
        Answer::No
    })
}

/// The drift asked, with or without its sign of both ways.
fn drift_of(text: &str) -> Result<f64, Error> {
    let range = LATITUDE.range()?;
    let plain = text.trim().trim_start_matches(['±', '+']).trim();
    LATITUDE
        .parse(plain)
        .map_err(|error| match error.problem() {
            Problem::Input(InputProblem::MissingUnit { .. }) => {
                Error::new(error.problem().clone()).cure(bare_number(plain.parse().ok(), range))
            }
            Problem::Input(InputProblem::OutOfRange { .. }) => {
                Error::new(InputProblem::OutOfRange {
                    what: LATITUDE.what.into(),
                    value: format!("\"{text}\""),
                    least: LATITUDE.least.into(),
                    most: LATITUDE.most.into(),
                })
                .cure("write a share of the power such as --latitude \"15 %\", meaning ± 15 %")
            }
            _ => error,
        })
}

/// How a bare number is to be written, within a range of shares.
fn bare_number(number: Option<f64>, range: (f64, f64)) -> String {
    let share = |percent: f64| {
        let percent = (10.0 * percent).round() / 10.0;
        format!("--latitude \"{percent} %\" for ± {percent} % of the power")
    };
    let (least, most) = (100.0 * range.0, 100.0 * range.1);
    match number {
        Some(ratio) if 1.0 < ratio && ratio < 3.0 => format!(
            "write {}; or, where {ratio} is the highest over the lowest power, {}",
            share(ratio),
            share(100.0 * (ratio - 1.0) / (ratio + 1.0))
        ),
        Some(percent) if 1.0 <= percent && percent <= most => format!("write {}", share(percent)),
        Some(part) if range.0 <= part && part < 1.0 && 100.0 * part <= most => {
            format!("write {}", share(100.0 * part))
        }
        _ => format!(
            "write a share of the power from {least} % to {most} %: {}",
            share(15.0)
        ),
    }
}
