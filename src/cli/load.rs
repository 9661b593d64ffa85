//! From a joint file on the command line to a checked joint with its remarks.

use std::path::Path;

use crate::cli::args::{JointFile, MethodName};
use crate::cli::files;
use crate::error::Error;
use crate::input::{Note, joint_file};
use crate::optics::Method;
use crate::weld::Joint;

/// Reads the joint file and all it names.
///
/// # Errors
/// A file cannot be read or understood.
pub fn joint(file: &JointFile) -> Result<(Joint, Vec<Note>), Error> {
    let text = files::read_text(&file.joint)?;
    let name = file.joint.display().to_string();
    let (mut joint, notes) = joint_file::parse(&text, &name, &files::beside(&file.joint))?;
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

/// The folder a file lies in, for messages.
pub fn folder_of(file: &Path) -> String {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.display().to_string(),
        _ => ".".into(),
    }
}
