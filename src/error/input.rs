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
    /// The file is not text in UTF-8.
    #[error("{what} is not UTF-8 text")]
    NotText {
        /// Which file, in words.
        what: String,
    },
    /// A part to be welded is of something that does not melt.
    #[error("{material} does not melt and is not welded")]
    DoesNotMelt {
        /// Name of the card.
        material: String,
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
    /// A key nobody reads.
    #[error("unknown key `{key}` in {section}")]
    UnknownKey {
        /// The key as written.
        key: String,
        /// The section it stands in.
        section: String,
    },
    /// A key that has to be there is not.
    #[error("{section} has no `{key}`")]
    MissingKey {
        /// The key.
        key: String,
        /// The section it belongs to.
        section: String,
    },
    /// A value of another type than needed.
    #[error("`{key}` is {found}; it must be {needed}")]
    WrongType {
        /// The key.
        key: String,
        /// What stands there.
        found: String,
        /// What is needed.
        needed: String,
    },
    /// A word out of a list was needed.
    #[error("`{key}` is \"{word}\", which is not one of {allowed}")]
    UnknownWord {
        /// The key.
        key: String,
        /// The word as written.
        word: String,
        /// The words allowed.
        allowed: String,
    },
    /// Text that does not begin with a number.
    #[error("{what} \"{value}\" does not begin with a number")]
    NotANumber {
        /// Which quantity.
        what: String,
        /// Value as the user wrote it.
        value: String,
    },
    /// A decimal comma.
    #[error("{what} \"{value}\" has a decimal comma")]
    DecimalComma {
        /// Which quantity.
        what: String,
        /// Value as the user wrote it.
        value: String,
    },
    /// A number without the unit it needs.
    #[error("{what} \"{value}\" has no unit")]
    MissingUnit {
        /// Which quantity.
        what: String,
        /// Value as the user wrote it.
        value: String,
    },
    /// A unit that does not fit the quantity.
    #[error("{what} \"{value}\" has the unit \"{unit}\", which does not fit")]
    WrongUnit {
        /// Which quantity.
        what: String,
        /// Value as the user wrote it.
        value: String,
        /// The unit.
        unit: String,
    },
    /// A pair whose first value is not below its second.
    #[error("{what} from {least} to {most} is not a range")]
    NotARange {
        /// Which quantity.
        what: String,
        /// First value as written.
        least: String,
        /// Second value as written.
        most: String,
    },
    /// Two statements that exclude each other.
    #[error("`{first}` and `{second}` cannot both be given")]
    Conflict {
        /// First key.
        first: String,
        /// Second key.
        second: String,
    },
    /// Two numbers that belong together come from two sources.
    #[error("{pair} belong together but come from two sources: \"{first}\" and \"{second}\"")]
    TwoSources {
        /// The two quantities.
        pair: String,
        /// Source of the first.
        first: String,
        /// Source of the second.
        second: String,
    },
    /// A statement that needs another beside it.
    #[error("`{first}` needs `{second}` beside it")]
    NeedsBeside {
        /// The key that stands there.
        first: String,
        /// The key it needs.
        second: String,
    },
    /// Something the design names and this version does not do.
    #[error("{what} is not available yet")]
    NotYet {
        /// What was asked for.
        what: String,
    },
    /// A material name without a card.
    #[error("there is no built-in material \"{name}\"")]
    UnknownMaterial {
        /// The name as written.
        name: String,
    },
    /// A thin film that lets more light through than its faces allow.
    #[error(
        "a transmission of {transmission} is more than the faces of a film of index {index:.2} \
         let through ({most:.1} %)"
    )]
    FilmTooClear {
        /// Transmission as written.
        transmission: String,
        /// Refractive index used.
        index: f64,
        /// Largest transmission possible, percent.
        most: f64,
    },
    /// Something is wrong with an instrument's file.
    #[error("{0}")]
    Spectrum(SpectrumProblem),
}

/// What is wrong with an instrument's file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SpectrumProblem {
    /// No block of numbers in columns was found.
    #[error("no table of numbers was found")]
    NoTable,
    /// A table too short to be a spectrum.
    #[error("the table has {rows} row; a spectrum needs at least 2")]
    TooFewRows {
        /// Rows found.
        rows: usize,
    },
    /// A cell of the table is not a number.
    #[error("column \"{column}\" holds \"{cell}\" where a number is needed")]
    TextCell {
        /// Column name.
        column: String,
        /// The cell.
        cell: String,
    },
    /// A row with fewer or more cells than the table.
    #[error("cells in this row: {found}; columns in the table: {needed}")]
    UnevenRow {
        /// Cells found.
        found: usize,
        /// Columns of the table.
        needed: usize,
    },
    /// The same wavelength twice.
    #[error("the wavelength {wavelength} stands twice, first on line {first_line}")]
    DuplicateWavelength {
        /// Wavelength as written.
        wavelength: String,
        /// Line of the first.
        first_line: usize,
    },
    /// Wavelengths that go up and down.
    #[error("the wavelengths go up and down: {wavelength} after {before}")]
    NotMonotonic {
        /// Wavelength as written.
        wavelength: String,
        /// The one before it.
        before: String,
    },
    /// Wavelengths no plaque spectrometer reaches.
    #[error("the wavelength {wavelength_nm:.1} nm is outside 300 to 3000 nm")]
    WavelengthOutside {
        /// Wavelength, nm.
        wavelength_nm: f64,
    },
    /// A plaque without a thickness.
    #[error("the thickness of plaque \"{plaque}\" is not in the file")]
    ThicknessMissing {
        /// Column name.
        plaque: String,
    },
    /// A share of light above one.
    #[error("{quantity} {value} at {wavelength_nm:.0} nm is above 100 %")]
    AboveFull {
        /// Which quantity.
        quantity: String,
        /// Value as written.
        value: String,
        /// Wavelength, nm.
        wavelength_nm: f64,
    },
    /// A share of light below zero by more than noise.
    #[error(
        "{quantity} {value} at {wavelength_nm:.0} nm is below zero by more than noise ({noise} %)"
    )]
    BelowZero {
        /// Which quantity.
        quantity: String,
        /// Value as written.
        value: String,
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// Noise allowed, percent.
        noise: f64,
    },
    /// Reflected and transmitted light add up to more than came in.
    #[error(
        "transmittance and reflectance of \"{plaque}\" add up to {sum:.1} % at {wavelength_nm:.0} nm"
    )]
    MoreThanAll {
        /// Column name of the plaque.
        plaque: String,
        /// Sum, percent.
        sum: f64,
        /// Wavelength, nm.
        wavelength_nm: f64,
    },
    /// Fractions under a heading of percent.
    #[error(
        "\"{first}\" and \"{second}\" say percent, but no value is above {transmittance} % and \
         {reflectance} %: the faces of a plastic alone reflect about 4 %, so these look like fractions"
    )]
    FractionAsPercent {
        /// Column name of the transmittance.
        first: String,
        /// Column name of the reflectance.
        second: String,
        /// Largest transmittance as written.
        transmittance: f64,
        /// Largest reflectance as written.
        reflectance: f64,
    },
    /// Percent and fraction cannot be told apart.
    #[error(
        "it is not said whether \"{column}\" is in percent or a fraction (largest value {largest})"
    )]
    PercentOrFraction {
        /// Column name.
        column: String,
        /// Largest value in it.
        largest: f64,
    },
    /// Columns are separated in two ways, or comma is both separator and decimal sign.
    #[error("columns are separated in more than one way: {found}")]
    MixedSeparators {
        /// What was found.
        found: String,
    },
    /// A column whose name says nothing.
    #[error(
        "column \"{column}\" is neither transmittance, reflectance, absorbance, n, k nor absorption"
    )]
    UnknownColumn {
        /// Column name.
        column: String,
    },
    /// Two columns of one name.
    #[error("columns {first} and {second} are both called \"{column}\"")]
    RepeatedColumn {
        /// Name of both.
        column: String,
        /// Place of the first, from 1.
        first: usize,
        /// Place of the second, from 1.
        second: usize,
    },
    /// A reflectance column without the transmittance it belongs to.
    #[error("reflectance column \"{column}\" has no transmittance of the same plaque")]
    LoneReflectance {
        /// Column name.
        column: String,
    },
    /// Spectra that share no wavelengths.
    #[error(
        "{first} is known from {first_from_nm:.0} to {first_to_nm:.0} nm, {second} from \
         {second_from_nm:.0} to {second_to_nm:.0} nm: they do not overlap"
    )]
    NoOverlap {
        /// One spectrum.
        first: String,
        /// Its shortest wavelength, nm.
        first_from_nm: f64,
        /// Its longest wavelength, nm.
        first_to_nm: f64,
        /// The other.
        second: String,
        /// Its shortest wavelength, nm.
        second_from_nm: f64,
        /// Its longest wavelength, nm.
        second_to_nm: f64,
    },
    /// Plaques whose names say different polymers.
    #[error("this is a plaque of {second}, but {first_file} is of {first}")]
    AnotherMaterial {
        /// Polymer of the first file.
        first: String,
        /// The first file.
        first_file: String,
        /// Polymer of this one.
        second: String,
    },
    /// The file is of another kind than asked for.
    #[error("this file holds {found}; needed here: {needed}")]
    OtherKind {
        /// What the file holds.
        found: String,
        /// What is needed.
        needed: String,
    },
    /// A value that makes no sense for its quantity.
    #[error("{quantity} {value} at {wavelength_nm:.0} nm must be {must}")]
    BadValue {
        /// Which quantity.
        quantity: String,
        /// Value as written.
        value: String,
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// What it must be.
        must: String,
    },
}
