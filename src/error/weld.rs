//! Problems in how a weld or a study was posed.

/// A weld or a study was posed that has no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WeldProblem {
    /// Two axes of a map are the same, or do not go with the field.
    #[error("a map of {field} over {first} and {second} cannot be drawn")]
    AxesDoNotFit {
        /// Field of the map.
        field: String,
        /// First axis.
        first: String,
        /// Second axis.
        second: String,
    },
    /// The process mode has no such axis.
    #[error("{what} is not part of {mode} welding")]
    NotInMode {
        /// The quantity.
        what: String,
        /// The process mode.
        mode: String,
    },
    /// A search for sound powers ended without an answer.
    #[error("no sound power was looked for")]
    NoPowers,
}
