//! Problems with what a material card or spectrum says.

/// A material lacks data or its data do not make sense.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MaterialProblem {
    /// A spectrum does not reach the wavelength asked for.
    #[error(
        "{quantity} is known from {from_nm:.0} nm to {to_nm:.0} nm, not at {wavelength_nm:.0} nm"
    )]
    OutsideSpectrum {
        /// Which quantity.
        quantity: String,
        /// Wavelength asked for, nm.
        wavelength_nm: f64,
        /// Shortest wavelength known, nm.
        from_nm: f64,
        /// Longest wavelength known, nm.
        to_nm: f64,
    },
    /// A spectrum has a gap at the wavelength asked for.
    #[error(
        "{quantity} is not told by the data between {from_nm:.0} nm and {to_nm:.0} nm, and so not at \
         {wavelength_nm:.0} nm"
    )]
    InsideGap {
        /// Which quantity.
        quantity: String,
        /// Wavelength asked for, nm.
        wavelength_nm: f64,
        /// Last wavelength known before the gap, nm.
        from_nm: f64,
        /// First wavelength known after the gap, nm.
        to_nm: f64,
    },
    /// A table is not in strictly ascending order.
    #[error(
        "{quantity} table: entry {entry} ({value}) does not come after the one before it ({before})"
    )]
    NotAscending {
        /// Which table.
        quantity: String,
        /// Entry, counted from 1.
        entry: usize,
        /// The offending abscissa.
        value: f64,
        /// The one before it.
        before: f64,
    },
    /// A table has too few entries.
    #[error("{quantity} table has {entries} entries; at least {needed} are needed")]
    TooShort {
        /// Which table.
        quantity: String,
        /// Entries found.
        entries: usize,
        /// Entries needed.
        needed: usize,
    },
    /// A property has no value on the card.
    #[error("{material} has no {quantity}")]
    Missing {
        /// Name on the card.
        material: String,
        /// Which quantity.
        quantity: String,
    },
    /// A number is not finite or not of the allowed sign.
    #[error("{quantity} is {value}; it must be {must}")]
    BadNumber {
        /// Which quantity.
        quantity: String,
        /// The value.
        value: f64,
        /// What it must be.
        must: String,
    },
}
