//! Problems with telling the colour of a spectrum.

/// Colour could not be told.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ColourProblem {
    /// A spectrum does not cover what the eye sees.
    #[error(
        "{spectrum} reaches from {from_nm:.0} nm to {to_nm:.0} nm; colour needs {least_nm:.0} nm to \
         {most_nm:.0} nm"
    )]
    VisibleMissing {
        /// Which spectrum.
        spectrum: String,
        /// Shortest wavelength, nm.
        from_nm: f64,
        /// Longest wavelength, nm.
        to_nm: f64,
        /// Longest wavelength it may begin at, nm.
        least_nm: f64,
        /// Shortest wavelength it may end at, nm.
        most_nm: f64,
    },
    /// Entries too far apart for a colour.
    #[error(
        "{spectrum} has entries {step_nm:.0} nm apart near {at_nm:.0} nm; colour needs {most_nm:.0} nm or less"
    )]
    StepTooWide {
        /// Which spectrum.
        spectrum: String,
        /// Largest distance of neighbours, nm.
        step_nm: f64,
        /// Where, nm.
        at_nm: f64,
        /// Largest distance allowed, nm.
        most_nm: f64,
    },
    /// A file holds no spectrum that has a colour.
    #[error("{file} has no reflectance and no transmittance")]
    NoSpectrum {
        /// Name of the file.
        file: String,
    },
    /// Files whose colours were measured in different ways.
    #[error("{file} shows {found}, {first_file} {first}")]
    MeasuredOtherwise {
        /// Name of the file.
        file: String,
        /// What its colour is of.
        found: String,
        /// The first file.
        first_file: String,
        /// What the first file's colour is of.
        first: String,
    },
    /// A file without the colour that the others are compared by.
    #[error("{file} has no {missing}, which the others are compared by; it shows {found}")]
    NotCompared {
        /// Name of the file.
        file: String,
        /// What the others are compared by.
        missing: String,
        /// What its colour is of.
        found: String,
    },
    /// A part is to be welded whose light at the laser line nobody measured.
    #[error("{file} has no transmittance, which tells how the part lets the laser through")]
    NoTransmittance {
        /// Name of the file.
        file: String,
    },
    /// A limit of something nobody knows.
    #[error("`{name}` in \"{limit}\" is not known")]
    UnknownLimit {
        /// The limit as written.
        limit: String,
        /// The unknown word.
        name: String,
    },
    /// A limit without its sign.
    #[error("\"{limit}\" has no >= or <=")]
    LimitWithoutSign {
        /// The limit as written.
        limit: String,
    },
    /// A limit that contradicts one before it.
    #[error("\"{limit}\" contradicts a limit before it")]
    LimitsDisagree {
        /// The limit as written.
        limit: String,
    },
    /// A second limit of the same kind.
    #[error("\"{limit}\" repeats a limit before it: {name} has one {sign} already")]
    LimitTwice {
        /// The limit as written.
        limit: String,
        /// What is limited, as it is written.
        name: String,
        /// The sign of both.
        sign: &'static str,
    },
    /// A limit of something that was not measured, or that an option has to bring.
    #[error("the limit of {limit} cannot be judged: {missing}")]
    LimitNotJudged {
        /// What is limited, as it is written.
        limit: String,
        /// What is missing.
        missing: String,
    },
    /// A folder without spectrometer files.
    #[error("{folder} holds no spectrometer file")]
    EmptyFolder {
        /// Name of the folder.
        folder: String,
    },
}
