//! Answers in a few plain lines, for the terminal and the head of a page.

use crate::report::number;

mod survey;
mod weld;
mod window;

pub use survey::{say_axis, survey_headline};
pub use weld::{
    NO_RISE_K, beyond_machine, criteria_rows, criterion_values, setpoint_dry, sound_powers,
    weld_facts, weld_headline, wetted_words,
};
pub use window::{band_inputs, window_facts, window_headline};

/// A fact in words: name, value.
pub type Fact = (String, String);

/// A signed number with its sign shown.
pub fn signed(value: f64) -> String {
    let text = number::significant(value, 2);
    if 0.0 < value {
        format!("+{text}")
    } else {
        text
    }
}

/// Facts as aligned lines.
pub fn lines(facts: &[Fact]) -> String {
    let width = facts
        .iter()
        .map(|it| it.0.chars().count())
        .max()
        .unwrap_or(0);
    facts
        .iter()
        .map(|(name, value)| {
            let gap = " ".repeat(width - name.chars().count());
            format!("  {name}{gap}  {value}\n")
        })
        .collect()
}
