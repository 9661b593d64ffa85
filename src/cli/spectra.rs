//! Temporary.
use crate::cli::Answer;
use crate::cli::args::Manner;
use crate::cli::terminal::Terminal;
use crate::error::Error;
/// Temporary.
///
/// # Errors
/// None.
pub fn run(_n: &crate::cli::args::Spectra, _m: &Manner, _t: &Terminal) -> Result<Answer, Error> {
    Ok(Answer::Yes)
}
