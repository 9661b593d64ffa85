//! Paths that lead to one file.

use std::fs;
use std::path::PathBuf;

use crate::input::repeated::{Firsts, NAMED_TWICE};

/// The paths without those that lead to a file named before, and a sentence for each left away.
pub fn named_once(paths: Vec<PathBuf>) -> (Vec<PathBuf>, Vec<String>) {
    let mut firsts = Firsts::default();
    let (mut kept, mut said) = (Vec::with_capacity(paths.len()), Vec::new());
    for path in paths {
        let place = fs::canonicalize(&path).unwrap_or_else(|_| path.clone());
        let name = path.display().to_string();
        if firsts.of(&name, place).is_some() {
            said.push(format!("{name} {NAMED_TWICE}"));
        } else {
            kept.push(path);
        }
    }
    said.dedup();
    (kept, said)
}
