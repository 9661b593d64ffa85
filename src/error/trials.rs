//! Problems with a table of weld trials.

/// A table of weld trials could not be understood.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TrialsProblem {
    /// No line names the columns.
    #[error("no line names a column for power and one for {setting}")]
    NoHeading {
        /// What is set beside the power.
        setting: String,
    },
    /// A column comes twice.
    #[error("two columns are named \"{column}\"")]
    ColumnTwice {
        /// The column.
        column: String,
    },
    /// A column is in a unit that does not fit.
    #[error("column \"{column}\" is in a unit that does not fit")]
    WrongUnit {
        /// The column as written.
        column: String,
    },
    /// A cell that should be a number is not.
    #[error("\"{cell}\" in column \"{column}\" is not a number")]
    NotANumber {
        /// The column.
        column: String,
        /// The cell.
        cell: String,
    },
    /// A cell that should be yes or no is neither.
    #[error("\"{cell}\" in column \"{column}\" is neither yes nor no")]
    NeitherYesNorNo {
        /// The column.
        column: String,
        /// The cell.
        cell: String,
    },
    /// A number no machine and no microscope shows.
    #[error("{value} in column \"{column}\" is outside {least} to {most}")]
    OutOfRange {
        /// The column.
        column: String,
        /// The value as written.
        value: String,
        /// Least allowed.
        least: f64,
        /// Most allowed.
        most: f64,
    },
    /// Depths below what a microscope shows.
    #[error(
        "the greatest depth in column \"{column}\" is {greatest_um} µm, less than a microscope shows"
    )]
    DepthsTooSmall {
        /// The column.
        column: String,
        /// The greatest depth, µm.
        greatest_um: f64,
    },
    /// A run without power or speed.
    #[error("this run has no {what}")]
    NoSetpoint {
        /// Power, or what is set beside it.
        what: &'static str,
    },
    /// No run is in the file.
    #[error("the file names columns but no run")]
    NoRuns,
}
