//! How hot it gets: transient conduction through clamp, upper and lower part, melting included.

pub mod closure;
pub mod column;
pub mod cross_section;
pub mod history;

mod assemble;
mod batch;
mod beginning;
mod case;
mod check;
mod correction;
mod course;
mod crossing;
mod grid;
mod landmarks;
mod lanes;
mod layout;
mod library;
mod light;
mod look_up;
pub mod melt;
mod melt_depth;
mod molten_zone;
mod outcome;
pub mod properties;
mod pulses;
mod settings;
mod stage;
mod step;
pub mod table;
mod watch;

pub use batch::run;
pub use closure::{Film, FilmOutcome};
pub use column::{Body, Column, Contact, Face};
pub use history::{Counters, History, Ledger, Record, StopReason};
pub use melt::{MeltOutcome, MeltPlan, Squeeze};
pub use settings::Settings;
