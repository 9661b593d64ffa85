//! `validate`: this build against closed forms, published tables, other programs and measurements.

use std::sync::Arc;

use crate::cli::args::Manner;
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver};
use crate::error::Error;
use crate::input::{joint_file, library};
use crate::report::validation_report::{json, text, validation_report};
use crate::study::validation::sideways::SEED;
use crate::study::validation::{Given, validate};

/// Clear polycarbonate on polycarbonate with 0.1 % carbon black at 40 mm/s; the spot is set by the check.
const POLYCARBONATE: &str = r#"
upper = { material = "pc", thickness = "2 mm" }
lower = { material = "pc", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.1 %" } }
beam = { wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "40 W" }
motion = { mode = "contour", speed = "40 mm/s" }
"#;

/// Runs every check and shows deviations beside limits.
///
/// # Errors
/// A case of a check is refused, or the report cannot be written.
pub fn run(manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let found = validate(&given()?, &terminal.progress("checking"))?;
    if manner.json {
        deliver::json(terminal, &json(&found));
    } else {
        terminal.result(&text(&found, terminal.width()));
    }
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &validation_report(&found, SEED))?;
    }
    Ok(if found.holds() {
        Answer::Yes
    } else {
        Answer::No
    })
}

fn given() -> Result<Given, Error> {
    let (polycarbonate, _) = joint_file::parse(POLYCARBONATE, "joint.toml", &library::no_files)?;
    let mut damage = Vec::new();
    for id in library::ids() {
        if let Some(card) = library::material(id)
            && let Some(it) = card?.0.damage
        {
            damage.push((id.to_string(), it));
        }
    }
    Ok(Given {
        water: Arc::new(library::water()?.value),
        damage,
        polycarbonate,
    })
}
