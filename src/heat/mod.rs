//! How hot it gets: transient conduction through clamp, upper and lower part, melting included.

pub mod column;
pub mod history;

pub use column::{Body, Column, Contact, Face};
pub use history::{Counters, History, Ledger, Record, StopReason};
