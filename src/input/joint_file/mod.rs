//! The joint file: one weld posed in TOML, to a [`Joint`].
//!
//! ```toml
//! question = "Does a 1.5 mm natural lid weld to the black body at 980 nm?"
//! [upper]
//! material = "pa6"
//! thickness = "1.5 mm"
//! [lower]
//! material = "pa6"
//! thickness = "3 mm"
//! absorber = { kind = "carbon black", content = "0.3 %" }
//! [beam]
//! wavelength = "980 nm"
//! length = "1 mm"
//! width = "1 mm"
//! power = "20 W"
//! [motion]
//! mode = "contour"
//! speed = "50 mm/s"
//! ```

use std::sync::Arc;

use crate::error::Error;
use crate::input::Read;
use crate::input::document::{Section, Source};
use crate::input::note::Note;
use crate::input::pair_table;
use crate::input::quantity;
use crate::optics::reduction::Assumptions;
use crate::weld::Joint;

mod absorber;
mod motion;
mod part;
mod process;

/// What every section of a joint file needs.
pub(crate) struct Context<'c> {
    /// Gives files, as named from the joint file.
    read: &'c Read<'c>,
    /// Remarks collected so far.
    notes: Vec<Note>,
    /// Vacuum wavelength, m.
    wavelength_m: f64,
    /// What is assumed where spectra are reduced.
    assumed: Assumptions,
}

/// The joint of `text`; `file_name` names it in messages, and `read` gives files it names, with
/// paths as seen from the joint file.
///
/// # Errors
/// Not TOML, an unknown or missing key, a bad quantity, a card or spectrum that cannot be read, or
/// a material whose optical data do not reach the wavelength.
///
/// ```
/// use lightseam::input::{joint_file, library};
///
/// let text = r#"
/// upper = { material = "pc", thickness = "2 mm" }
/// lower = { material = "pc", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.2 %" } }
/// beam = { wavelength = "980 nm", diameter = "1 mm", power = "20 W" }
/// motion = { mode = "contour", speed = "50 mm/s" }
/// "#;
/// let (joint, _notes) = joint_file::parse(text, "joint.toml", &library::no_files)?;
/// assert_eq!(joint.upper.thickness_m, 2e-3);
/// # Ok::<(), lightseam::error::Error>(())
/// ```
pub fn parse(text: &str, file_name: &str, read: &Read<'_>) -> Result<(Joint, Vec<Note>), Error> {
    parse_with(text, file_name, read, None)
}

/// A grade that takes the place of the upper part of a joint.
#[derive(Clone, Copy)]
pub struct Grade<'g> {
    /// File name: spectra, or a card where it ends in .toml.
    pub file: &'g str,
    /// Content of the file.
    pub bytes: &'g [u8],
    /// Gives files that a card names.
    pub read: &'g Read<'g>,
}

impl Grade<'_> {
    /// True for a material card, false for spectra.
    pub fn is_card(&self) -> bool {
        self.file.to_lowercase().ends_with(".toml")
    }
}

/// As [`parse`], with a grade as the upper part at the same thickness: spectra keep the upper card's
/// heat and refractive index, a card replaces it altogether.
///
/// # Errors
/// As [`parse`]; or the grade cannot be understood or does not reach the wavelength.
pub fn parse_graded(
    text: &str,
    file_name: &str,
    read: &Read<'_>,
    grade: &Grade<'_>,
) -> Result<(Joint, Vec<Note>), Error> {
    parse_with(text, file_name, read, Some(grade))
}

fn parse_with(
    text: &str,
    file_name: &str,
    read: &Read<'_>,
    grade: Option<&Grade<'_>>,
) -> Result<(Joint, Vec<Note>), Error> {
    let source = Source {
        file: file_name,
        text,
    };
    let tree = source.tree()?;
    let root = Section::root(source, &tree);
    root.only(&[
        "question",
        "upper",
        "lower",
        "contact",
        "clamp",
        "beam",
        "motion",
        "machine",
        "limits",
        "surroundings",
        "optics",
        "uncertainty",
    ])?;
    let question = match root.get("question") {
        Some(item) => item.text()?.into(),
        None => "".into(),
    };
    let beam = root.need_section(
        "beam",
        "add [beam] with wavelength, power, and length and width or diameter",
    )?;
    let wavelength_m = beam.quantity("wavelength", &quantity::WAVELENGTH)?;
    let optics = process::read_optics(root.section("optics")?.as_ref())?;
    let mut context = Context {
        read,
        notes: Vec::new(),
        wavelength_m,
        assumed: optics.assumed,
    };
    let part_cure = |name: &str| format!("add [{name}] with material and thickness");
    let upper = root.need_section("upper", &part_cure("upper"))?;
    let lower = root.need_section("lower", &part_cure("lower"))?;
    let moves = root.need_section("motion", "add [motion] with mode = \"contour\" and speed")?;
    let motion = motion::read_motion(&moves, &mut context.notes)?;
    let incidence_rad = process::read_incidence(&beam)?;
    let beam = motion::read_beam(&beam, &motion)?;
    let upper = match grade {
        Some(grade) => part::read_graded(&upper, grade, &mut context)?,
        None => part::read_part(&upper, &mut context)?,
    };
    let lower_place = lower.place();
    let mut lower = part::read_part(&lower, &mut context)?;
    // One card named twice is one material.
    if lower.material == upper.material {
        lower.material = Arc::clone(&upper.material);
    }
    motion::check(&moves, &motion, &beam, [&upper, &lower])?;
    let joint = Joint {
        question,
        upper,
        lower,
        interface: process::read_contact(root.section("contact")?.as_ref())?,
        clamp: match root.section("clamp")? {
            Some(section) => Some(part::read_clamp(&section, &mut context)?),
            None => None,
        },
        pressure_pa: process::read_pressure([
            root.section("clamp")?.as_ref(),
            root.section("contact")?.as_ref(),
        ])?,
        wavelength_m,
        beam,
        incidence_rad,
        motion,
        machine: match root.section("machine")? {
            Some(section) => Some(motion::read_machine(&section, &motion, &beam)?),
            None => None,
        },
        limits: Arc::new(process::read_limits(root.section("limits")?.as_ref())?),
        surroundings: process::read_surroundings(root.section("surroundings")?.as_ref())?,
        method: optics.method,
        melt_clearing: optics.melt_clearing,
        uncertainty: process::read_uncertainty(root.section("uncertainty")?.as_ref(), &motion)?,
    };
    process::check_limits(root.section("limits")?.as_ref(), &joint)?;
    let pair = pair_table::of(&joint.upper.material, &joint.lower.material)?;
    if let Some(warning) = pair.warning() {
        context.notes.push(Note::new(warning, lower_place));
    }
    Ok((joint, context.notes))
}
