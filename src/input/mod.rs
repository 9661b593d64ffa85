//! Text to checked SI values: joint files, material cards, spectra as instruments export them.
//!
//! Nothing here touches the disk. Text comes in as arguments, files that text names come through a
//! function the caller gives, and every refusal names file, line, value, range and cure. What is
//! accepted but worth a remark comes back as [`Note`]s.

use crate::error::Error;

pub mod quantity;

pub mod note;

pub mod repeated;

pub mod document;

pub mod spectrum_file;

pub mod jcamp;

pub mod plaques;

pub mod trials;

pub mod colour_file;

pub mod specification;

pub mod material_file;

pub mod library;

pub mod pair_table;

pub mod joint_file;

pub use note::Note;

/// Gives the bytes of a file that text names; the path is as written there.
pub type Read<'r> = dyn Fn(&str) -> Result<Vec<u8>, Error> + 'r;

/// `name` as seen from the folder of `file`: names in a card count from the card.
pub fn beside(file: &str, name: &str) -> String {
    let rooted = name.starts_with('/') || name.chars().nth(1) == Some(':');
    match file.rfind(['/', '\\']) {
        Some(end) if !rooted => format!("{}{name}", &file[..=end]),
        _ => name.into(),
    }
}
