//! `weld`: judge one weld at its setpoint.

use crate::cli::args::{JointFile, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::Error;
use crate::report::weld_report::weld_report;
use crate::report::{answer, json};
use crate::weld::warning::warnings;
use crate::weld::{Settings, Verdict, simulate};

/// Reads, simulates, reports.
///
/// # Errors
/// The joint cannot be read, or its light or heat cannot be followed.
pub fn run(file: &JointFile, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint(file)?;
    let settings = if manner.out.is_some() {
        Settings::standard().recording()
    } else {
        Settings::standard()
    };
    let mut outcomes = simulate(std::slice::from_ref(&joint), &settings);
    let outcome = outcomes.remove(0)?;
    let mut remarks: Vec<String> = notes.iter().map(ToString::to_string).collect();
    remarks.extend(warnings(&joint, &outcome).iter().map(ToString::to_string));

    if manner.json {
        deliver::json(terminal, &json::weld(&joint, &outcome, &remarks));
    } else {
        let facts = answer::lines(&answer::weld_facts(&joint, &outcome));
        terminal.result(&format!(
            "{}\n{}\n\n{facts}",
            joint.question,
            answer::weld_headline(&outcome),
        ));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        deliver::report(
            terminal,
            dir,
            &weld_report(&joint, &outcome, &settings, &remarks),
        )?;
    }
    Ok(match outcome.verdict {
        Verdict::Sound => Answer::Yes,
        _ => Answer::No,
    })
}
