//! Files that are named more than once, or have the same content.

use std::fs;
use std::path::PathBuf;

/// The paths without those that lead to a file named before, and a sentence for each left away.
pub fn named_once(paths: Vec<PathBuf>) -> (Vec<PathBuf>, Vec<String>) {
    let mut seen: Vec<PathBuf> = Vec::with_capacity(paths.len());
    let (mut kept, mut said) = (Vec::with_capacity(paths.len()), Vec::new());
    for path in paths {
        let place = fs::canonicalize(&path).unwrap_or_else(|_| path.clone());
        if seen.contains(&place) {
            said.push(format!(
                "{} is named more than once and counts once",
                path.display()
            ));
        } else {
            seen.push(place);
            kept.push(path);
        }
    }
    said.dedup();
    (kept, said)
}

/// Contents of files read so far, by name.
#[derive(Debug, Default)]
pub struct Contents(Vec<(String, Vec<u8>)>);

impl Contents {
    /// Remembers a file; a sentence where one before it has the same content.
    pub fn add(&mut self, name: &str, bytes: &[u8]) -> Option<String> {
        let first = self.0.iter().find(|it| it.1 == bytes);
        let said = first.map(|first| {
            format!(
                "{} and {name} have the same content; both are listed",
                first.0
            )
        });
        if said.is_none() {
            self.0.push((name.to_string(), bytes.to_vec()));
        }
        said
    }
}
