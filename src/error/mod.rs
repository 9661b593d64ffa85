//! What can go wrong, as one error type: the problem, the place it was found, and the cure.
//!
//! Each stage has its own list of problems in a file of this folder, as plain numbers and text, so
//! that this folder needs no stage. A weld that burns or stays cold is not an error but a verdict.

use std::fmt;

pub mod colour;
pub mod file;
pub mod heat;
pub mod input;
pub mod jcamp;
pub mod material;
pub mod optics;
pub mod report;
pub mod trials;
pub mod weld;

pub use colour::ColourProblem;
pub use file::FileProblem;
pub use heat::HeatProblem;
pub use input::InputProblem;
pub use jcamp::JcampProblem;
pub use material::MaterialProblem;
pub use optics::OpticsProblem;
pub use report::ReportProblem;
pub use trials::TrialsProblem;
pub use weld::WeldProblem;

/// Everything that can go wrong, by the stage that notices it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Problem {
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] FileProblem),
    /// Text could not be understood.
    #[error(transparent)]
    Input(#[from] InputProblem),
    /// A JCAMP-DX file could not be understood.
    #[error(transparent)]
    Jcamp(#[from] JcampProblem),
    /// A material lacks data or its data do not make sense.
    #[error(transparent)]
    Material(#[from] MaterialProblem),
    /// Light could not be followed.
    #[error(transparent)]
    Optics(#[from] OpticsProblem),
    /// Colour could not be told.
    #[error(transparent)]
    Colour(#[from] ColourProblem),
    /// Heat could not be followed.
    #[error(transparent)]
    Heat(#[from] HeatProblem),
    /// A weld or a study was posed that has no answer.
    #[error(transparent)]
    Weld(#[from] WeldProblem),
    /// A table of weld trials could not be understood.
    #[error(transparent)]
    Trials(#[from] TrialsProblem),
    /// Results could not be drawn or written as text.
    #[error(transparent)]
    Report(#[from] ReportProblem),
}

/// Where in the user's files a problem was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// File name as the user wrote it.
    pub file: String,
    /// Line, counted from 1.
    pub line: Option<usize>,
    /// Column, counted from 1.
    pub column: Option<usize>,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        Ok(())
    }
}

/// A problem, where it was found and how to cure it.
#[derive(Clone, Debug, PartialEq)]
pub struct Error(Box<Inside>);

#[derive(Clone, Debug, PartialEq)]
struct Inside {
    problem: Problem,
    place: Option<Place>,
    cure: Option<String>,
}

impl Error {
    /// An error without place or cure; add them with [`Error::at`] and [`Error::cure`].
    pub fn new(problem: impl Into<Problem>) -> Self {
        Error(Box::new(Inside {
            problem: problem.into(),
            place: None,
            cure: None,
        }))
    }

    /// The same error with the place it was found, unless a closer place is already known.
    pub fn at(mut self, place: Place) -> Self {
        self.0.place.get_or_insert(place);
        self
    }

    /// The same error with a cure, unless a closer cure is already known.
    pub fn cure(mut self, cure: impl Into<String>) -> Self {
        self.0.cure.get_or_insert_with(|| cure.into());
        self
    }

    /// What is wrong.
    pub fn problem(&self) -> &Problem {
        &self.0.problem
    }

    /// Where it was found.
    pub fn place(&self) -> Option<&Place> {
        self.0.place.as_ref()
    }

    /// What the user can do about it.
    pub fn cure_text(&self) -> Option<&str> {
        self.0.cure.as_deref()
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.problem)?;
        if let Some(place) = &self.0.place {
            write!(f, "\n  in:   {place}")?;
        }
        if let Some(cure) = &self.0.cure {
            write!(f, "\n  cure: {cure}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Error {}

impl<P: Into<Problem>> From<P> for Error {
    fn from(problem: P) -> Self {
        Error::new(problem)
    }
}
