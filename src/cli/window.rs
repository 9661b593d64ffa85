//! `window`: where the joint welds over power and speed.

use crate::cli::args::{JointFile, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::Error;
use crate::input::Note;
use crate::report::window_report::{WindowResult, window_report};
use crate::report::{Report, answer, clearing_report, json};
use crate::study::band::band;
use crate::study::clearing_sensitivity::{ClearingSensitivity, clearing_sensitivity};
use crate::study::window::{at_setpoint, window};
use crate::weld::clearing;
use crate::weld::warning::matters_dry;
use crate::weld::{Joint, Outcome, Settings, simulate};

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
    /// Sound powers at the setpoint's speed when the melt is clearer, where the joint asks for it.
    clearing: Option<ClearingSensitivity>,
    /// What becomes of the recommended setpoint where the faces lie dry, if that lets much less light
    /// through.
    dry: Option<Outcome>,
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
        let clearing = if clearing::matters(&best) {
            let progress = terminal.progress("seeking sound powers with a clearer melt");
            Some(clearing_sensitivity(&best, &settings, &progress)?)
        } else {
            None
        };
        let dry = matters_dry(&best, &outcome)
            .filter(|_| window.setpoint.is_some())
            .and_then(|it| it.computed.ok())
            .map(|dry| simulate(&[dry], &settings).remove(0))
            .transpose()?;
        let remarks = load::remarks(notes, &best, &outcome);
        Ok(Answered {
            joint,
            result: WindowResult {
                window,
                band,
                best,
                outcome,
            },
            clearing,
            dry,
            remarks,
        })
    }

    /// Prints the answer and its warnings.
    pub fn say(&self, manner: &Manner, terminal: &Terminal) {
        let (window, band) = (&self.result.window, &self.result.band);
        if manner.json {
            let mut value = json::window(self.joint, window, Some(band), &self.remarks);
            if let (Some((factor, it)), Some(object)) = (self.clearing(), value.as_object_mut()) {
                object.insert(
                    "melt_clearing".into(),
                    clearing_report::window_json(factor, it),
                );
            }
            if let (Some(dry), Some(object)) = (&self.dry, value.as_object_mut()) {
                object.insert("setpoint_dry".into(), json::verdict(dry));
            }
            deliver::json(terminal, &value);
        } else {
            let mut facts = answer::window_facts(self.joint, window, Some(band));
            if let Some((factor, it)) = self.clearing() {
                facts.extend(clearing_report::window_facts(factor, it));
            }
            facts.extend(self.dry.as_ref().map(answer::setpoint_dry));
            facts.push(answer::band_inputs(band));
            terminal.result(&format!(
                "{}\n{}\n\n{}",
                self.joint.question,
                answer::window_headline(window),
                answer::lines(&facts),
            ));
        }
        terminal.warnings(&self.remarks);
    }

    fn clearing(&self) -> Option<(f64, &ClearingSensitivity)> {
        Some((self.joint.melt_clearing?, self.clearing.as_ref()?))
    }

    /// Page, figures and tables.
    pub fn report(&self) -> Report {
        let mut report = window_report(self.joint, &self.result, &self.remarks);
        if let Some((factor, it)) = self.clearing() {
            report
                .page
                .answer
                .facts
                .extend(clearing_report::window_facts(factor, it));
        }
        let dry = self.dry.as_ref().map(answer::setpoint_dry);
        report.page.answer.facts.extend(dry);
        report
    }

    /// Whether there is a setpoint.
    pub fn answer(&self) -> Answer {
        match self.result.window.setpoint {
            Some(_) => Answer::Yes,
            None => Answer::No,
        }
    }
}
