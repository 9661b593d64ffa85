//! `demo`: the main job on the built-in scenario.

use std::path::Path;

use crate::cli::args::Manner;
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, starter, survey, window};
use crate::error::Error;
use crate::input::joint_file;
use crate::study::Field;

/// Cells of its maps: coarser than those of `survey`, so that the demo takes a few seconds.
const CELLS: (usize, usize) = (36, 8);

/// Where the demo writes unless told otherwise.
const FOLDER: &str = "reports/demo";

/// Traces the window and draws the maps of the starter joint.
///
/// # Errors
/// The report cannot be written.
pub fn run(manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let text = String::from_utf8_lossy(&starter::read(starter::JOINT)?).into_owned();
    let (joint, notes) = joint_file::parse(&text, starter::JOINT, &starter::read)?;
    let folder = manner.out.as_deref().unwrap_or(Path::new(FOLDER));
    let plans = survey::usual_plans(&joint, Field::Latitude, CELLS)?;
    let (window, maps) = rayon::join(
        || window::Answered::of(&joint, &notes, terminal),
        || survey::Answered::of(&joint, &notes, &plans, terminal),
    );
    let (window, maps) = (window?, maps?);
    let report = window.report().followed_by(maps.report());
    window.say(manner, terminal);
    deliver::report(terminal, folder, &report)?;
    Ok(window.answer())
}
