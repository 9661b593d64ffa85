//! One weld, from its statement to a verdict.
//!
//! ```text
//! joint ──► stack of slabs ──► optics::absorb ──► Absorbed ─┐
//!   └─────► column of bodies ◄──────────────────────────────┘
//!               └──► heat::run ──► History ──► criteria ──► verdict, margin
//! ```
//!
//! [`simulate()`] is the only way in: one joint is a batch of one.

pub mod joint;

pub mod setpoint;

pub mod settings;

pub mod light;

pub mod light_lattice;

pub(crate) mod spread_nodes;

pub mod simulate;

pub mod clearing;

pub mod criteria;

pub mod cross_section;

pub mod across;

pub mod verdict;

pub mod warning;

pub use criteria::{Criterion, Rule};
pub use joint::{
    Clamp, Interface, Joint, Limits, Machine, Motion, Part, Surroundings, Uncertainty,
};
pub use setpoint::{Energy, Lever};
pub use settings::Settings;
pub use simulate::{Outcome, simulate};
pub use verdict::Verdict;
pub use warning::Warning;
