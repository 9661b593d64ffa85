//! Many welds, one question.
//!
//! A study makes cases out of one joint, simulates them in batches that use every core, and
//! gathers the outcomes. Studies tell their [`Progress`]; what is shown of it is not their matter.

pub mod progress;

pub mod power_limits;

pub mod window;

pub mod gap_window;

pub mod clearing_sensitivity;

pub mod method_comparison;

pub mod survey;

pub mod band;

pub mod plaques;

pub mod trial_plan;

pub mod calibration;

pub mod colours;

pub mod specification;

pub mod colour_batches;

mod colour_compared;

pub mod colour_limits;

pub mod validation;

pub mod scatter;

pub mod tolerance;

pub mod chance_window;

pub mod requirement;

mod requirement_search;

pub mod ranking;

pub use band::{Band, Input};
pub use power_limits::{PowerLimit, PowerLimits};
pub use progress::{Progress, Silent};
pub use survey::{Axis, Field, Survey};
pub use window::Window;
