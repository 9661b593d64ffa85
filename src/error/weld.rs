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
    /// An upper part that leaves no room for the lower one.
    #[error(
        "the round part has no room for an upper part of {thickness_mm:.3} mm, at most {most_mm:.3} mm"
    )]
    NoRoom {
        /// Thickness asked for, mm.
        thickness_mm: f64,
        /// Greatest thickness, mm.
        most_mm: f64,
    },
    /// Light and molten depth did not settle on each other.
    #[error(
        "melting and light do not settle within {rounds} rounds; molten depth, interface peak: {iterates}"
    )]
    ClearingDoesNotSettle {
        /// Rounds allowed.
        rounds: usize,
        /// Molten depth and interface peak of every round, in words.
        iterates: String,
    },
    /// A search for sound powers ended without an answer.
    #[error("no sound power was looked for")]
    NoPowers,
    /// Weld trials of which nothing was seen.
    #[error("nothing was seen in any of the trials")]
    NothingSeen,
}
