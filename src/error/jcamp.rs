//! Problems with JCAMP-DX files.

/// A JCAMP-DX file could not be understood.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum JcampProblem {
    /// The first labelled record is not a title.
    #[error("this is not a JCAMP-DX file: it begins with \"{start}\", not with ##TITLE=")]
    NotJcamp {
        /// The first words of the file.
        start: String,
    },
    /// A block has no end.
    #[error("the block \"{title}\" has no ##END=")]
    NoEnd {
        /// Title of the block.
        title: String,
    },
    /// A labelled record the standard requires is not there.
    #[error("the block \"{title}\" has no ##{label}=")]
    Missing {
        /// Title of the block.
        title: String,
        /// The label.
        label: String,
    },
    /// The value of a labelled record is not a number.
    #[error("##{label}= {value} is not {must}")]
    BadValue {
        /// The label.
        label: String,
        /// The value as written.
        value: String,
        /// What it must be.
        must: String,
    },
    /// A unit that is not one of a spectrum.
    #[error("##{label}= {value} is not among the units understood: {known}")]
    UnknownUnit {
        /// The label.
        label: String,
        /// The value as written.
        value: String,
        /// The units understood.
        known: String,
    },
    /// A form of data that is no continuous spectrum.
    #[error("the block \"{title}\" holds {form}, not a spectrum")]
    NoSpectrum {
        /// Title of the block.
        title: String,
        /// What it holds.
        form: String,
    },
    /// Characters that are no ordinate in any of the standard's forms.
    #[error("\"{found}\" is not {must}")]
    BadOrdinate {
        /// The text as written.
        found: String,
        /// What must stand there.
        must: String,
    },
    /// The ordinate that repeats the end of the line before differs from it.
    #[error(
        "the line begins with the ordinate {found}, but the differences before it lead to {expected}"
    )]
    CheckFails {
        /// Ordinate written.
        found: f64,
        /// Ordinate the line before ends with.
        expected: f64,
    },
    /// The abscissa at the start of a line is not where the ordinates before it lead.
    #[error(
        "the line begins at X = {found}, but the {ordinates} ordinates before it lead to {expected}"
    )]
    AbscissaDiffers {
        /// Abscissa written, times ##XFACTOR.
        found: f64,
        /// Abscissa counted from ##FIRSTX.
        expected: f64,
        /// Ordinates before the line.
        ordinates: usize,
    },
    /// The number of points is not the one stated.
    #[error("##NPOINTS= {stated}, but there are {found} points")]
    PointCount {
        /// Number stated.
        stated: usize,
        /// Number found.
        found: usize,
    },
    /// Stated step and stated ends do not go together.
    #[error("##DELTAX= {stated} is not the step {found} from ##FIRSTX= to ##LASTX=")]
    StepDiffers {
        /// Step stated.
        stated: f64,
        /// Step from the ends and the number of points.
        found: f64,
    },
    /// An abscissa that no wavelength belongs to.
    #[error("X = {value} {unit} is not a wavelength")]
    NotAWavelength {
        /// The abscissa.
        value: f64,
        /// Its unit.
        unit: String,
    },
    /// The same wavelength twice.
    #[error("{wavelength_nm} nm appears twice")]
    Twice {
        /// The wavelength, nm.
        wavelength_nm: f64,
    },
    /// Fewer points than a spectrum needs.
    #[error("the block \"{title}\" has {found} points; at least 2 are needed")]
    TooFew {
        /// Title of the block.
        title: String,
        /// Points found.
        found: usize,
    },
}
