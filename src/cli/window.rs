//! `window`: where the joint welds over power and speed.

use crate::cli::args::{JointFile, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::Error;
use crate::input::Note;
use crate::report::window_report::{WindowResult, window_report};
use crate::report::{Report, answer, json};
use crate::study::band::band;
use crate::study::window::{at_setpoint, window};
use crate::weld::warning::warnings;
use crate::weld::{Joint, Settings, simulate};

/// Reads, traces, reports.
///
/// # Errors
/// The joint cannot be read, or its light or heat cannot be followed.
pub fn run(file: &JointFile, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint(file)?;
    let answered = Answered::of(&joint, &notes, terminal)?;
    answered.say(manner, terminal);
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &answered.report())?;
    }
    Ok(answered.answer())
}

/// A window with all that is said of it.
pub struct Answered<'j> {
    joint: &'j Joint,
    result: WindowResult,
    remarks: Vec<String>,
}

impl<'j> Answered<'j> {
    /// Traces the window of a joint.
    ///
    /// # Errors
    /// Its light or heat cannot be followed.
    pub fn of(joint: &'j Joint, notes: &[Note], terminal: &Terminal) -> Result<Self, Error> {
        let settings = Settings::standard();
        let window = window(joint, &settings, &terminal.progress("tracing the window"))?;
        let band = band(joint, &window, &settings)?;
        let best = at_setpoint(joint, &window);
        let outcome = simulate(std::slice::from_ref(&best), &settings.recording()).remove(0)?;
        let mut remarks: Vec<String> = notes.iter().map(ToString::to_string).collect();
        remarks.extend(warnings(&best, &outcome).iter().map(ToString::to_string));
        Ok(Answered {
            joint,
            result: WindowResult {
                window,
                band,
                best,
                outcome,
            },
            remarks,
        })
    }

    /// Prints the answer and its warnings.
    pub fn say(&self, manner: &Manner, terminal: &Terminal) {
        let (window, band) = (&self.result.window, &self.result.band);
        if manner.json {
            let value = json::window(self.joint, window, Some(band), &self.remarks);
            deliver::json(terminal, &value);
        } else {
            terminal.result(&format!(
                "{}\n{}\n\n{}",
                self.joint.question,
                answer::window_headline(window),
                answer::lines(&answer::window_facts(window, Some(band))),
            ));
        }
        terminal.warnings(&self.remarks);
    }

    /// Page, figures and tables.
    pub fn report(&self) -> Report {
        window_report(self.joint, &self.result, &self.remarks)
    }

    /// Whether there is a setpoint.
    pub fn answer(&self) -> Answer {
        match self.result.window.setpoint {
            Some(_) => Answer::Yes,
            None => Answer::No,
        }
    }
}
