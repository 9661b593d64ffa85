//! Problems with writing results down.

/// A result could not be drawn or written as text.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReportProblem {
    /// A drawing did not become a picture.
    #[error("cannot turn the drawing into a picture: {reason}")]
    Picture {
        /// The reason of the drawing library.
        reason: String,
    },
    /// A table did not become text.
    #[error("cannot write the table: {reason}")]
    Table {
        /// The reason of the table library.
        reason: String,
    },
    /// A page did not become HTML.
    #[error("cannot write the page: {reason}")]
    Page {
        /// The reason of the template library.
        reason: String,
    },
}
