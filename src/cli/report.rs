//! `report`: one page on a joint, to print and file, or two joints side by side.

use std::path::{Path, PathBuf};

use crate::cli::args::{Manner, ReportFiles};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load, weld};
use crate::error::Error;
use crate::report::joint_comparison::{LETTERS, comparison_json, comparison_report, headline};
use crate::report::joint_report::{JointResult, joint_json, joint_report};
use crate::report::window_report::WindowResult;
use crate::report::{Report, answer, process};
use crate::study::band::band;
use crate::study::window::{at_setpoint, window};
use crate::weld::{Settings, simulate};

/// Where pages go unless told otherwise.
const FOLDER: &str = "reports";

/// Reads one or two joints, follows them, writes their page.
///
/// # Errors
/// A joint cannot be read, its light or heat cannot be followed, or the folder cannot be written.
pub fn run(files: &ReportFiles, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let settings = Settings::standard();
    let results = files
        .joints
        .iter()
        .map(|it| of(it, &settings, terminal))
        .collect::<Result<Vec<_>, Error>>()?;
    let names: Vec<String> = files
        .joints
        .iter()
        .map(|it| it.display().to_string())
        .collect();
    let (report, value, text) = match results.as_slice() {
        [a, b] => {
            let both = [a, b];
            let report = comparison_report(both, [&names[0], &names[1]], &settings);
            let value = comparison_json(both, &report, &settings);
            let lines: String = LETTERS
                .iter()
                .zip(both)
                .map(|(letter, it)| format!("\n{letter}: {}", one_line(it)))
                .collect();
            (report, value, format!("{}\n{lines}", headline(both)))
        }
        all => {
            let it = &all[0];
            let report = joint_report(it, &settings);
            let value = joint_json(it, &report);
            let text = format!("{}\n{}", it.joint.question, one_line(it));
            (report, value, text)
        }
    };
    if manner.json {
        deliver::json(terminal, &value);
    } else {
        terminal.result(&text);
    }
    terminal.warnings(&report.page.warnings);
    write(&report, &value, &folder(files, manner), terminal)?;
    Ok(if results.iter().all(JointResult::is_sound) {
        Answer::Yes
    } else {
        Answer::No
    })
}

fn of(path: &Path, settings: &Settings, terminal: &Terminal) -> Result<JointResult, Error> {
    let (joint, notes) = load::joint_of(path)?;
    let recording = settings.recording();
    let clearing = weld::cleared(&joint, &recording, terminal)?;
    let outcome = match &clearing {
        Some((cleared, _)) => cleared.outcome.clone(),
        None => simulate(std::slice::from_ref(&joint), &recording).remove(0)?,
    };
    let window = window(&joint, settings, &terminal.progress("tracing the window"))?;
    let band = band(&joint, &window, settings)?;
    let best = at_setpoint(&joint, &window);
    let at_best = simulate(std::slice::from_ref(&best), &recording).remove(0)?;
    let mut remarks = load::remarks(&notes, &joint, &outcome);
    for remark in load::remarks(&[], &best, &at_best) {
        if !remarks.contains(&remark) {
            remarks.push(format!("at the recommended setpoint: {remark}"));
        }
    }
    Ok(JointResult {
        joint,
        outcome,
        window: WindowResult {
            window,
            band,
            best,
            outcome: at_best,
        },
        clearing,
        remarks,
    })
}

fn one_line(it: &JointResult) -> String {
    format!(
        "at {}, {}\nover {}, {}",
        it.setpoint_words(),
        answer::weld_headline(&it.outcome),
        process::power_and(it.window.window.lever),
        answer::window_headline(&it.window.window)
    )
}

/// The folder asked for, or one named after the joints.
fn folder(files: &ReportFiles, manner: &Manner) -> PathBuf {
    manner.out.clone().unwrap_or_else(|| {
        let stems: Vec<String> = files
            .joints
            .iter()
            .map(|it| {
                it.file_stem()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        Path::new(FOLDER).join(stems.join("-and-"))
    })
}

fn write(
    report: &Report,
    value: &serde_json::Value,
    dir: &Path,
    terminal: &Terminal,
) -> Result<(), Error> {
    deliver::report_with(
        terminal,
        dir,
        report,
        &[("report.json", format!("{value:#}\n"))],
    )
}
