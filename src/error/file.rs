//! Problems with files on disk.

/// A file could not be read or written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FileProblem {
    /// Reading failed.
    #[error("cannot read {path}: {reason}")]
    Read {
        /// Path as the user wrote it.
        path: String,
        /// The operating system's reason.
        reason: String,
    },
    /// Writing failed.
    #[error("cannot write {path}: {reason}")]
    Write {
        /// Path as the user wrote it.
        path: String,
        /// The operating system's reason.
        reason: String,
    },
    /// A new file or folder would replace one that stands there.
    #[error("{path} already exists and is left as it is")]
    AlreadyExists {
        /// Path as the user wrote it.
        path: String,
    },
    /// A plan of trials would replace another, or one that is filled in.
    #[error("{path} is filled in or another plan, and is left as it is")]
    AnotherPlan {
        /// Path as the user wrote it.
        path: String,
    },
    /// A report would go among the files it is made from.
    #[error("files are read from {path}, which is no place for the report")]
    OutIsRead {
        /// Path as the user wrote it.
        path: String,
    },
    /// A report would replace a file that is not of one.
    #[error("{path} was not written by lightseam, and is left as it is")]
    Foreign {
        /// Path as the user wrote it.
        path: String,
    },
}
