//! Problems with text the user wrote or an instrument exported.

/// Text could not be understood.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum InputProblem {
    /// The text is not TOML.
    #[error("this is not valid TOML: {reason}")]
    NotToml {
        /// The parser's reason.
        reason: String,
    },
    /// A value lies outside its range.
    #[error("{what} {value} is outside {least} to {most}")]
    OutOfRange {
        /// Which quantity.
        what: String,
        /// Value as the user wrote it.
        value: String,
        /// Least allowed, with unit.
        least: String,
        /// Most allowed, with unit.
        most: String,
    },
}
