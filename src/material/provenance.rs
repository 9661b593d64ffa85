//! Where a number comes from, and how far it may be trusted.

use std::fmt;

/// How a number came to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Measured on this material by the user or by a named laboratory.
    Measured,
    /// Read in a named publication.
    Published,
    /// Read in a handbook or data collection.
    Handbook,
    /// Computed from numbers of better status by a stated rule.
    Computed,
    /// Usual in the trade, without a source.
    CommonPractice,
    /// Recalled, not read: an order of magnitude until checked.
    FromMemory,
    /// Written into the joint file by the user.
    Stated,
    /// Made up for a demonstration.
    Invented,
}

impl Status {
    /// All statuses with the words used for them in files.
    pub const WORDS: [(Status, &'static str); 8] = [
        (Status::Measured, "measured"),
        (Status::Published, "published"),
        (Status::Handbook, "handbook"),
        (Status::Computed, "computed"),
        (Status::CommonPractice, "common practice"),
        (Status::FromMemory, "from memory"),
        (Status::Stated, "stated"),
        (Status::Invented, "invented"),
    ];

    /// True for numbers no decision should rest on unchecked.
    pub fn is_weak(self) -> bool {
        matches!(self, Status::FromMemory | Status::Invented)
    }
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Status::WORDS
            .iter()
            .find_map(|(status, word)| (status == self).then_some(*word));
        f.write_str(word.unwrap_or("unknown"))
    }
}

/// A value with its source and status.
#[derive(Clone, Debug, PartialEq)]
pub struct Sourced<T> {
    /// The value, SI.
    pub value: T,
    /// Who says so.
    pub source: String,
    /// How it came to be.
    pub status: Status,
}

impl<T> Sourced<T> {
    /// A value with its source and status.
    pub fn new(value: T, source: impl Into<String>, status: Status) -> Self {
        Sourced {
            value,
            source: source.into(),
            status,
        }
    }

    /// Another value with the same provenance.
    pub fn map<U>(&self, change: impl FnOnce(&T) -> U) -> Sourced<U> {
        Sourced {
            value: change(&self.value),
            source: self.source.clone(),
            status: self.status,
        }
    }
}
