//! Remarks about accepted input: true, worth reading, and no error.

use std::fmt;

use crate::error::Place;

/// One remark, with the place it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// The remark, one sentence.
    pub text: String,
    /// Where in the user's files.
    pub place: Option<Place>,
}

impl Note {
    /// A remark about a place.
    pub fn new(text: impl Into<String>, place: Place) -> Self {
        Note {
            text: text.into(),
            place: Some(place),
        }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)?;
        if let Some(place) = &self.place {
            write!(f, " ({place})")?;
        }
        Ok(())
    }
}
