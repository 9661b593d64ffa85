//! From a joint file on the command line to a checked joint with its remarks.

use std::path::Path;

use crate::cli::args::{JointFile, MethodName};
use crate::cli::files;
use crate::error::Error;
use crate::input::joint_file::Grade;
use crate::input::{Note, joint_file};
use crate::optics::Method;
use crate::report::answer;
use crate::weld::warning::warnings;
use crate::weld::{Joint, Outcome};

/// Reads the joint file and all it names.
///
/// # Errors
/// A file cannot be read or understood.
pub fn joint(file: &JointFile) -> Result<(Joint, Vec<Note>), Error> {
    let (mut joint, notes) = joint_of(&file.joint)?;
    if let Some(method) = file.method {
        joint.method = Some(method_of(method));
    }
    Ok((joint, notes))
}

/// Reads the joint file of a path and all it names.
///
/// # Errors
/// A file cannot be read or understood.
pub fn joint_of(path: &Path) -> Result<(Joint, Vec<Note>), Error> {
    let text = files::read_text(path)?;
    joint_file::parse(&text, &path.display().to_string(), &files::beside(path))
}

/// Reads the joint file with a grade as its upper part.
///
/// # Errors
/// A file cannot be read or understood.
pub fn graded(file: &JointFile, grade: &Grade<'_>) -> Result<(Joint, Vec<Note>), Error> {
    let path = &file.joint;
    let text = files::read_text(path)?;
    let name = path.display().to_string();
    let (mut joint, notes) = joint_file::parse_graded(&text, &name, &files::beside(path), grade)?;
    if let Some(method) = file.method {
        joint.method = Some(method_of(method));
    }
    Ok((joint, notes))
}

fn method_of(name: MethodName) -> Method {
    match name {
        MethodName::BeerLambert => Method::BeerLambert,
        MethodName::TwoFlux => Method::TwoFlux,
        MethodName::AddingDoubling => Method::AddingDoubling,
    }
}

/// What is remarked on a joint: by its files, and by what became of it.
pub fn remarks(notes: &[Note], joint: &Joint, outcome: &Outcome) -> Vec<String> {
    let warnings = warnings(joint, outcome);
    notes
        .iter()
        .map(ToString::to_string)
        .chain(warnings.iter().map(ToString::to_string))
        .chain(answer::beyond_machine(joint))
        .collect()
}
