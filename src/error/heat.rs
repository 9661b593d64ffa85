//! Problems of the heat conduction stage.

/// Heat could not be followed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HeatProblem {
    /// A quantity is outside what physics allows.
    #[error("{quantity} of {value:e} (SI units) has no meaning for heat conduction")]
    NotPhysical {
        /// What it is.
        quantity: &'static str,
        /// Its value, SI.
        value: f64,
    },
    /// The step control asked for steps shorter than the limit.
    #[error(
        "the temperature step fell to {step_s:.3e} s (limit {limit_s:.3e} s) at {time_s:.3e} s \
         with an error of {error_k:.3e} K against {tolerance_k:.3e} K asked"
    )]
    StepTooShort {
        /// Step reached, s.
        step_s: f64,
        /// Shortest step allowed, s.
        limit_s: f64,
        /// Time reached, s.
        time_s: f64,
        /// Estimated error of the step, K.
        error_k: f64,
        /// Error allowed, K.
        tolerance_k: f64,
    },
    /// More steps were needed than the limit.
    #[error("{steps} steps were not enough to reach the end of cooling; {time_s:.3e} s reached")]
    TooManySteps {
        /// Steps taken.
        steps: usize,
        /// Time reached, s.
        time_s: f64,
    },
    /// A column was lost on the way: a fault of the program.
    #[error("a column was not solved; this is a fault of the program")]
    Unsolved,
}
