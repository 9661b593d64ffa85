//! `window --against gap`: which gap the joint bridges, and at which power.

use crate::cli::args::{JointFile, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::Error;
use crate::report::answer;
use crate::report::gap_report::{gap_facts, gap_headline, gap_json, gap_report};
use crate::study::gap_window::{at_gap, gap_window};
use crate::study::power_limits::at_power;
use crate::weld::{Settings, simulate};

/// Reads, traces, reports.
///
/// # Errors
/// The joint cannot be read, or its light or heat cannot be followed.
pub fn run(file: &JointFile, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint(file)?;
    let settings = Settings::standard();
    let window = gap_window(&joint, &settings, &terminal.progress("tracing gaps"))?;
    let best = match window.from_contact.or(window.widest) {
        Some(it) => at_power(&at_gap(&joint, it.gap_m), it.power_w),
        // What keeps the narrowest open is what to know.
        None => at_gap(&joint, window.narrowest_m()),
    };
    let outcome = simulate(std::slice::from_ref(&best), &settings.recording()).remove(0)?;
    let remarks = load::remarks(&notes, &best, &outcome);
    if manner.json {
        deliver::json(terminal, &gap_json(&joint, &window, &remarks));
    } else {
        terminal.result(&format!(
            "{}\n{}\n\n{}",
            joint.question,
            gap_headline(&joint, &window),
            answer::lines(&gap_facts(&joint, &window)),
        ));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        let report = gap_report(&joint, &window, (&best, &outcome), &remarks);
        deliver::report(terminal, dir, &report)?;
    }
    Ok(if window.widest.is_some() {
        Answer::Yes
    } else {
        Answer::No
    })
}
