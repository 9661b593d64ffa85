//! One weld, from its statement to a verdict.

pub mod joint;

pub use joint::{
    Clamp, Interface, Joint, Limits, Machine, Motion, Part, Surroundings, Uncertainty,
};
