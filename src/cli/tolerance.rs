//! `tolerance`: how often the weld is sound when inputs scatter, and which input matters.

use crate::cli::args::{self, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::{Error, InputProblem};
use crate::report::answer;
use crate::report::tolerance_report::{self, tolerance_report};
use crate::study::chance_window::chance_window;
use crate::study::tolerance::{Plan, SAMPLES, tolerance};
use crate::weld::{Settings, Verdict};

/// Reads, scatters, reports.
///
/// # Errors
/// The joint cannot be read, or the light or heat of a drawn joint cannot be followed.
pub fn run(it: &args::Tolerance, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    if !(SAMPLES.0..=SAMPLES.1).contains(&it.samples) {
        return Err(Error::new(InputProblem::OutOfRange {
            what: "--samples".into(),
            value: it.samples.to_string(),
            least: SAMPLES.0.to_string(),
            most: SAMPLES.1.to_string(),
        })
        .cure("100000 is usual; a tenth gives a first look"));
    }
    let (joint, notes) = load::joint(&it.file)?;
    let settings = Settings::standard();
    let plan = Plan {
        samples: it.samples,
        seed: it.seed,
    };
    let found = tolerance(
        &joint,
        &plan,
        &settings,
        &terminal.progress("drawing welds"),
    )?;
    let window = if it.no_map {
        None
    } else {
        let progress = terminal.progress("mapping the chance");
        Some(chance_window(&joint, &plan, &settings, &progress)?)
    };
    let mut remarks = load::remarks(&notes, &joint, &found.nominal);
    remarks.extend(tolerance_report::remark(&found));
    if manner.json {
        let value = tolerance_report::json(&joint, &found, window.as_ref(), &remarks);
        deliver::json(terminal, &value);
    } else {
        let mut facts = tolerance_report::facts(&joint, &found, window.as_ref());
        facts.push(tolerance_report::scattered(&found));
        terminal.result(&format!(
            "{}\n{}\n\n{}",
            joint.question,
            tolerance_report::headline(&found),
            answer::lines(&facts),
        ));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        let report = tolerance_report(&joint, &found, window.as_ref(), &remarks);
        deliver::report(terminal, dir, &report)?;
    }
    Ok(match found.nominal.verdict {
        Verdict::Sound => Answer::Yes,
        _ => Answer::No,
    })
}
