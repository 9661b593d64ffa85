//! The page on one joint: its weld, its window, its light, its inputs and how all was computed.

use serde_json::{Value, json as object};

use crate::report::answer;
use crate::report::bundle::{Part, Report};
use crate::report::clearing_report;
use crate::report::light_figures::light_part;
use crate::report::page::{Answer, Section, Tone};
use crate::report::process;
use crate::report::settings_table::settings_table;
use crate::report::weld_report::weld_part;
use crate::report::window_report::{WindowResult, window_part};
use crate::report::{json, page_json};
use crate::study::clearing_sensitivity::ClearingSensitivity;
use crate::weld::clearing::Cleared;
use crate::weld::light::SEED;
use crate::weld::{Joint, Outcome, Settings, Verdict};

/// All that is known of one joint.
#[derive(Clone, Debug)]
pub struct JointResult {
    /// The joint as its file states it.
    pub joint: Joint,
    /// The weld at the setpoint of the file, with its record.
    pub outcome: Outcome,
    /// Its window, and the weld at the recommended setpoint.
    pub window: WindowResult,
    /// What a clearer melt changes, where the joint asks for it.
    pub clearing: Option<(Cleared, ClearingSensitivity)>,
    /// What is remarked, one cause each.
    pub remarks: Vec<String>,
}

impl JointResult {
    /// Sound at the setpoint of its file.
    pub fn is_sound(&self) -> bool {
        self.outcome.verdict == Verdict::Sound
    }

    /// Sound at some setpoint that the machine can deliver.
    pub fn is_open(&self) -> bool {
        self.window.window.setpoint.is_some()
    }

    /// Power of the file, and what is set beside it, in words.
    pub fn setpoint_words(&self) -> String {
        process::setpoint(&self.joint)
    }
}

/// Page, figures and tables.
pub fn joint_report(it: &JointResult, settings: &Settings) -> Report {
    let mut facts = answer::weld_facts(&it.joint, &it.outcome);
    facts.extend(answer::window_facts(
        &it.joint,
        &it.window.window,
        Some(&it.window.band),
    ));
    if let Some((cleared, powers)) = &it.clearing {
        facts.extend(clearing_report::setpoint_facts(cleared));
        facts.extend(clearing_report::power_facts(powers));
    }
    let answer = Answer {
        headline: format!(
            "At {}, {}",
            it.setpoint_words(),
            answer::weld_headline(&it.outcome)
        ),
        tone: if it.is_sound() {
            Tone::Sound
        } else {
            Tone::NotSound
        },
        text: format!(
            "Over {}, {}.",
            process::power_and(it.window.window.lever),
            answer::window_headline(&it.window.window)
        ),
        facts,
    };
    let mut stated = weld_part(&it.joint, &it.outcome);
    stated.heading = "The weld at the setpoint of the joint file".into();
    let mut parts = vec![window_part(&it.joint, &it.window), stated];
    if it.window.window.setpoint.is_some() {
        let mut best = weld_part(&it.window.best, &it.window.outcome);
        best.heading = "The weld at the recommended setpoint".into();
        parts.push(renamed(best, "recommended-"));
    }
    parts.extend(light_part(&it.joint));
    let mut report = Report::of(&it.joint, settings, answer, &it.remarks, parts);
    if let Some((cleared, powers)) = &it.clearing {
        report = report.with_part(clearing_report::clearing_part(cleared, powers));
    }
    report.page.sections.push(Section {
        heading: "How it was computed".into(),
        tables: vec![settings_table(&it.joint, &it.outcome, settings)],
        ..Section::default()
    });
    report
}

/// The part with all its file names begun by a word.
fn renamed(mut part: Part, word: &str) -> Part {
    for (name, _) in &mut part.figures {
        name.insert_str(0, word);
    }
    for (name, _) in &mut part.tables_behind {
        name.insert_str(0, word);
    }
    part
}

/// The page as JSON, with weld and window under the keys of their commands.
pub fn joint_json(it: &JointResult, report: &Report) -> Value {
    let mut value = page_json::report(report);
    if let Value::Object(all) = &mut value {
        all.insert("seed".into(), object!(SEED));
        all.insert(
            "weld".into(),
            json::weld(&it.joint, &it.outcome, &it.remarks),
        );
        let (window, band) = (&it.window.window, &it.window.band);
        all.insert(
            "window".into(),
            json::window(&it.joint, window, Some(band), &it.remarks),
        );
    }
    value
}
