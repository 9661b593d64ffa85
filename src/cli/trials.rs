//! `trials`: a plan of weld trials to fill in; `calibrate`: what filled-in trials say.

use std::path::Path;

use crate::cli::args::{Calibrate, Manner, Trials};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, files, load};
use crate::error::{Error, FileProblem};
use crate::input::quantity;
use crate::input::trials::{self, BURNT, FUSED, LOWER_DEPTH, MARKED, UPPER_DEPTH};
use crate::report::answer;
use crate::report::calibration_report::Calibrated;
use crate::report::table::Table;
use crate::report::trials_report::{FORM, Planned};
use crate::study::calibration::parameter::Parameter;
use crate::study::calibration::redrawn::redrawn;
use crate::study::calibration::trial::Noise;
use crate::study::calibration::{Choices, calibrate};
use crate::study::power_limits::at_power;
use crate::study::trial_plan::trial_plan;
use crate::study::window::window;
use crate::weld::{Joint, Settings, simulate};

/// Columns to be filled in.
const BLANKS: [(&str, &str); 6] = [
    (FUSED, ""),
    (UPPER_DEPTH, "µm"),
    (LOWER_DEPTH, "µm"),
    (MARKED, ""),
    (BURNT, ""),
    ("Note", ""),
];

/// Plans trials around the recommended setpoint.
///
/// # Errors
/// The joint cannot be read, its light or heat cannot be followed, or the folder for the plan has another
/// one, or one that is filled in.
pub fn plan(it: &Trials, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint(&it.file)?;
    let settings = Settings::standard();
    let window = window(&joint, &settings, &terminal.progress("tracing the window"))?;
    let plan = trial_plan(&joint, &window, usize::from(it.repeats), it.seed);
    let cases: Vec<Joint> = plan
        .runs
        .iter()
        .map(|run| at_power(&joint.at_setting(run.setting), run.power_w))
        .collect();
    let expected = simulate(&cases, &settings)
        .into_iter()
        .collect::<Result<Vec<_>, Error>>()?;
    let planned = Planned {
        joint: &joint,
        window: &window,
        plan: &plan,
        expected: &expected,
    };
    let mut remarks: Vec<String> = notes.iter().map(ToString::to_string).collect();
    remarks.extend(planned.remarks());
    let form = manner
        .out
        .as_ref()
        .map(|dir| dir.join(format!("{FORM}.csv")));
    if let Some(form) = &form {
        must_be_the_plan(form, &planned.form(&BLANKS))?;
    }
    if manner.json {
        deliver::json(terminal, &planned.json(&remarks));
    } else {
        terminal.result(&format!(
            "{}\n{}\n\n{}\n{}",
            joint.question,
            planned.headline(),
            answer::lines(&planned.facts()),
            planned.table().terminal(terminal.width()),
        ));
    }
    terminal.warnings(&remarks);
    match manner.out.as_ref().zip(form) {
        Some((dir, form)) => {
            deliver::report(terminal, dir, &planned.report(&BLANKS, &remarks))?;
            terminal.remark(&format!("fill in: {}", form.display()));
        }
        None => terminal
            .remark("add --out DIR for trials.csv to fill in, and the page for the workshop"),
    }
    Ok(Answer::Yes)
}

/// Refuses to replace a table that is not the blank plan itself: somebody has written into it.
fn must_be_the_plan(form: &Path, plan: &Table) -> Result<(), Error> {
    if !form.exists() || files::read(form)? == plan.csv()?.as_bytes() {
        return Ok(());
    }
    Err(Error::new(FileProblem::AnotherPlan {
        path: form.display().to_string(),
    })
    .cure("name another folder after --out, or move the table elsewhere"))
}

/// Corrects a joint by filled-in trials.
///
/// # Errors
/// A file cannot be read or understood, or light or heat cannot be followed.
pub fn correct(it: &Calibrate, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, mut notes) = load::joint(&it.file)?;
    let choices = choices(it)?;
    let read = trials::parse(
        &files::read(&it.trials)?,
        &it.trials.display().to_string(),
        joint.motion.lever(),
    )?;
    notes.extend(read.notes);
    let settings = Settings::standard();
    let calibration = calibrate(
        &joint,
        &read.trials,
        &choices,
        &settings,
        &terminal.progress("simulating trials"),
    )?;
    let before = window(&joint, &settings, &terminal.progress("tracing the window"))?;
    let after = redrawn(
        &joint,
        &calibration,
        &settings,
        &terminal.progress("tracing the window by the trials"),
    )?;
    let calibrated = Calibrated {
        joint: &joint,
        calibration: &calibration,
        before: &before,
        after: &after,
    };
    let mut remarks: Vec<String> = notes.iter().map(ToString::to_string).collect();
    remarks.extend(calibrated.remarks());
    if manner.json {
        deliver::json(terminal, &calibrated.json(&remarks));
    } else {
        terminal.result(&format!(
            "{}\n{}\n\n{}",
            joint.question,
            calibrated.headline(),
            answer::lines(&calibrated.facts()),
        ));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &calibrated.report(&remarks))?;
    }
    Ok(match after.window.setpoint {
        Some(_) => Answer::Yes,
        None => Answer::No,
    })
}

fn choices(it: &Calibrate) -> Result<Choices, Error> {
    let noise = Noise {
        depth_m: quantity::DEPTH_READING.parse(&it.depth_uncertainty)?,
        ..Noise::default()
    };
    let parameters = Parameter::ALL
        .into_iter()
        .filter(|parameter| {
            it.fit.is_empty() || it.fit.iter().any(|word| word.parameter() == *parameter)
        })
        .collect();
    Ok(Choices {
        parameters,
        noise,
        seed: it.seed,
    })
}
