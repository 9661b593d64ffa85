//! `compare`: one joint by every optical method, side by side.

use crate::cli::args::{CompareFile, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::Error;
use crate::report::answer;
use crate::report::compare_report::{self, compare_report};
use crate::study::method_comparison::compare_methods;
use crate::weld::Settings;
use crate::weld::light::stack_of;

/// Said where no part scatters.
const NOTHING_SCATTERS: &str = "no part of this joint scatters as it is described, so the methods \
     agree; give the upper part plaques with T and R (`spectra`), or `scattering`";

/// Reads, follows the light by every method, reports.
///
/// # Errors
/// The joint cannot be read, or its light or heat cannot be followed.
pub fn run(file: &CompareFile, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint_of(&file.joint)?;
    let progress = terminal.progress("seeking sound powers");
    let comparison = compare_methods(&joint, &Settings::standard(), &progress)?;
    drop(progress);
    let mut remarks = load::remarks(&notes, &joint, &comparison.exact().outcome);
    if !stack_of(&joint)?.scatters() {
        remarks.push(NOTHING_SCATTERS.into());
    }

    if manner.json {
        let value = compare_report::json(&joint, &comparison, &remarks);
        deliver::json(terminal, &value);
    } else {
        terminal.result(&format!(
            "{}\n{}\n\n{}\n{}",
            joint.question,
            compare_report::headline(&comparison),
            answer::lines(&compare_report::facts(&comparison)),
            compare_report::table(&comparison).terminal(terminal.width()),
        ));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        deliver::report(
            terminal,
            dir,
            &compare_report(&joint, &comparison, &remarks),
        )?;
    }
    Ok(Answer::Yes)
}
