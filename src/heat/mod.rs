//! How hot it gets: transient conduction through clamp, upper and lower part, melting included.

pub mod column;
pub mod history;

pub use column::{Body, Column, Contact, Face};
pub use history::{Counters, History, Ledger, Record, StopReason};
/// Temp.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// r
    pub record: bool,
}
impl Settings {
    /// s
    pub fn standard() -> Self {
        Settings { record: false }
    }
}
/// Temp.
pub fn run(_c: &[Column], _s: &Settings) -> Vec<Result<History, crate::error::Error>> {
    Vec::new()
}
