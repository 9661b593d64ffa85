//! What the fuzz target sends bytes to: every reader of a user's file, and where a joint can be made
//! of what was read, the steps of `weld` after it.

use std::fmt::{Debug, Write};
use std::fs;
use std::path::{Path, PathBuf};

use lightseam::error::{Error, FileProblem};
use lightseam::input::plaques::PlaqueText;
use lightseam::input::{
    colour_file, jcamp, joint_file, library, material_file, pair_table, specification,
    spectrum_file, trials,
};
use lightseam::optics::{self, Method};
use lightseam::report::{answer, json};
use lightseam::weld::light::stack_of;
use lightseam::weld::setpoint::Lever;
use lightseam::weld::simulate::fourier_number;
use lightseam::weld::warning::warnings;
use lightseam::weld::{Joint, Settings, clearing, simulate};

use crate::input::damage::{COEFFICIENTS, JCAMP, JOINT, TABLE};
use crate::weld::sensible::not_a_number;

/// How far a joint is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weld {
    /// As far as is cheap: the numbers that need no light and no heat.
    Posed,
    /// To the end, but without the scattering of the upper part: its photons take seconds.
    Clear,
    /// To the end, as `weld` does.
    Followed,
}

/// What was said about an input.
#[derive(Debug)]
pub struct Said {
    /// Without what the input itself brings: quotations and numbers.
    pub words: String,
    /// True where the reader did not refuse it.
    pub accepted: bool,
    /// True where a joint made of it was followed to the end.
    pub welded: bool,
}

/// What a reader makes of bytes.
struct Found {
    /// Remarks.
    notes: Vec<String>,
    /// All that was read, as text to look for numbers in.
    read: String,
    /// A joint to go on with.
    joint: Option<Joint>,
}

impl Found {
    fn new<N: ToString>(
        notes: &[N],
        read: &impl Debug,
        joint: Option<Joint>,
    ) -> Result<Self, Error> {
        Ok(Found {
            notes: notes.iter().map(ToString::to_string).collect(),
            read: format!("{read:?}"),
            joint,
        })
    }
}

/// A reader with files for it.
pub struct Target {
    /// Its name on the command line.
    pub name: &'static str,
    /// Files to begin with: good ones, and those that the messages are tested with.
    pub begin: fn() -> Vec<Vec<u8>>,
    read: fn(&[u8]) -> Result<Found, Error>,
}

/// All readers, the joint file first.
pub const TARGETS: [Target; 8] = [
    Target {
        name: "joint",
        begin: || {
            let mut all = of_folder("tests/input/messages", "joint-", "toml");
            for report in folders("reports") {
                all.extend(of_folder(report, "joint", "toml"));
            }
            all.extend(of_folder("src/cli/starter", "", "toml"));
            all.push(JOINT.into());
            all
        },
        read: |bytes| {
            joint(&String::from_utf8_lossy(bytes), &|name| {
                companion(name, None)
            })
        },
    },
    Target {
        name: "card",
        begin: || {
            let mut all = of_folder("tests/input/messages", "card-", "toml");
            for substance in folders("spectra") {
                all.extend(of_folder(substance, "material", "toml"));
            }
            all
        },
        read: |bytes| {
            let text = String::from_utf8_lossy(bytes);
            let read = |name: &str| companion(name, None);
            let (card, notes) = material_file::parse(&text, "card.toml", "card", &read)?;
            let found = joint(&JOINT.replacen("\"pa6\"", "\"card.toml\"", 1), &|name| {
                companion(name, Some(("card.toml", bytes)))
            });
            // A card that is in order need not reach the wavelength of the joint.
            let joint = found.ok().and_then(|it| it.joint);
            Found::new(&notes, &card, joint)
        },
    },
    Target {
        name: "plaques",
        begin: || {
            let mut all = of_folder("tests/input/messages", "plaques-", "csv");
            all.extend(of_folder("src/cli/starter/spectra", "", "csv"));
            all.push(TABLE.into());
            all
        },
        read: |bytes| {
            let file = spectrum_file::parse_plaques(bytes, "lid.csv")?;
            Found::new(&file.notes, &file, with_spectra("lid.csv", bytes))
        },
    },
    Target {
        name: "coefficients",
        begin: || {
            let mut all = of_folder("tests/input/messages", "absorption-", "csv");
            all.extend(of_folder("tests/input/messages", "index-", "csv"));
            all.push(COEFFICIENTS.into());
            all
        },
        read: |bytes| {
            let index = spectrum_file::parse_index(bytes, "lid.csv");
            let file = spectrum_file::parse_absorption(bytes, "lid.csv");
            match index {
                Ok(index) => Found::new(&index.notes, &index, None),
                Err(_) => file.and_then(|it| Found::new(&it.notes, &it, None)),
            }
        },
    },
    Target {
        name: "jcamp",
        begin: || {
            let mut all = of_folder("tests/input/jcamp", "", "jdx");
            all.extend(of_folder("tests/input/messages", "jcamp-", "jdx"));
            all.push(JCAMP.into());
            all.push(
                JCAMP
                    .replace("900F00JA%JU0kT", "900 600 602 603 604 606")
                    .into(),
            );
            all
        },
        read: |bytes| {
            let file = jcamp::read(&String::from_utf8_lossy(bytes), "lid.jdx")?;
            Found::new(&file.notes, &file, with_spectra("lid.jdx", bytes))
        },
    },
    Target {
        name: "trials",
        begin: || {
            let of = |head: &str, row: &str| format!("{head}\n{row}\n{row}\n").into_bytes();
            vec![
                of(
                    "Run,Power (W),Feed rate (mm/s),Fused (yes or no)",
                    "1,20,50,yes",
                ),
                of(
                    "Run;Power (W);Feed rate (mm/s);Upper melt depth (µm)",
                    "1;20;50;70,5",
                ),
            ]
        },
        read: |bytes| {
            let file = trials::parse(bytes, "trials.csv", Lever::Speed)?;
            Found::new(&file.notes, &file, None)
        },
    },
    Target {
        name: "colour",
        begin: || {
            let mut all = of_folder("tests/input/messages", "colour-", "csv");
            all.extend(of_folder("src/cli/starter/colour", "", "csv"));
            all
        },
        read: |bytes| {
            let (sample, notes) = colour_file::read(&plaque_text("lot.csv", bytes))?;
            Found::new(&notes, &sample, None)
        },
    },
    Target {
        name: "limits",
        begin: || {
            vec![
                b"T >= 30 %\nL <= 26\nL >= 20".to_vec(),
                b"latitude >= 1.3".to_vec(),
            ]
        },
        read: |bytes| {
            let text = String::from_utf8_lossy(bytes);
            let lines: Vec<&str> = text.lines().collect();
            let found = specification::parse(&lines)?;
            Found::new(&[] as &[String], &found, None)
        },
    },
];

impl Target {
    /// Reads bytes and goes on with the joint that comes of them.
    ///
    /// # Errors
    /// What is wrong with the answer: a refusal without words, or a number that is none.
    pub fn send(&self, bytes: &[u8], weld: Weld) -> Result<Said, String> {
        let found = match (self.read)(bytes) {
            Ok(found) => found,
            Err(error) => {
                return Ok(Said {
                    words: refusal(&error)?,
                    accepted: false,
                    welded: false,
                });
            }
        };
        only_numbers(&found.read)?;
        let mut words = "accepted".to_string();
        found.notes.iter().for_each(|it| words += &skeleton(it));
        let mut welded = false;
        if let Some(joint) = &found.joint {
            words += &posed(joint)?;
            if weld != Weld::Posed {
                welded = true;
                words += &followed(joint, weld)?;
            }
        }
        Ok(Said {
            words,
            accepted: true,
            welded,
        })
    }
}

/// The steps of `weld` that need neither light nor heat, checked for numbers.
fn posed(joint: &Joint) -> Result<String, String> {
    let spot = joint.spot();
    let exposure = joint.exposure(&spot);
    let numbers = [
        fourier_number(joint),
        exposure.heating_s(),
        exposure.fluence_j_per_m2(),
        spot.peak_irradiance_w_per_m2(),
        joint.lit_area_m2(),
    ];
    if !numbers.iter().all(|it| it.is_finite()) {
        return Err(format!("{numbers:?} of a joint"));
    }
    let mut words = format!("{} {:?}", joint.motion.mode(), joint.beam.shape);
    for part in [&joint.upper, &joint.lower] {
        match part.optical_at(joint.wavelength_m) {
            Ok(it) => only_numbers(&format!("{it:?}"))?,
            Err(error) => words += &refusal(&error)?,
        }
        write!(words, " {:?}", part.optical.reading).unwrap();
    }
    Ok(words)
}

/// Where the light of a joint goes.
fn lit(joint: &Joint) -> Result<String, String> {
    let stack = match stack_of(joint) {
        Ok(stack) => stack,
        Err(error) => return refusal(&error),
    };
    let method = joint.method.unwrap_or(Method::default_for(&stack));
    match optics::absorb(&stack, method) {
        Err(error) => refusal(&error),
        Ok(light) if light.energy_residual().abs() < 1e-9 => Ok(format!("{method:?}")),
        Ok(light) => Err(format!("light is lost: {}", light.energy_residual())),
    }
}

/// All of `weld`, and what it prints.
fn followed(joint: &Joint, weld: Weld) -> Result<String, String> {
    let settings = Settings::standard();
    let mut joint = joint.clone();
    let mut light = String::new();
    if weld == Weld::Clear && joint.upper.optical.scatters() {
        light = lit(&joint)?;
        joint.method = Some(Method::BeerLambert);
        joint.melt_clearing = None;
    }
    let joint = &joint;
    let outcome = if clearing::matters(joint) {
        clearing::simulate_cleared(std::slice::from_ref(joint), &settings)
            .remove(0)
            .map(|it| it.outcome)
    } else {
        simulate(std::slice::from_ref(joint), &settings).remove(0)
    };
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(error) => return refusal(&error),
    };
    if let Some(what) = not_a_number(&outcome) {
        return Err(what);
    }
    let warnings = warnings(joint, &outcome);
    let remarks: Vec<String> = warnings.iter().map(ToString::to_string).collect();
    let pair = pair_table::of(&joint.upper.material, &joint.lower.material)
        .map_err(|it| it.to_string())?;
    let facts = answer::lines(&answer::weld_facts(joint, &outcome));
    let headline = answer::weld_headline(&outcome);
    for text in remarks.iter().chain([&facts, &headline]) {
        if text.contains("NaN") {
            return Err(format!("not a number: {text}"));
        }
    }
    if json::weld(joint, &outcome, &remarks)["margin"].is_null() {
        return Err(format!("no margin in {headline}"));
    }
    let keys: Vec<&str> = warnings.iter().map(|it| it.key()).collect();
    Ok(format!(
        "{light} {:?} {:?} {keys:?} {}",
        outcome.verdict,
        outcome.method,
        pair.is_same()
    ))
}

/// What a refusal says, without what it quotes; a refusal without words is wrong.
fn refusal(error: &Error) -> Result<String, String> {
    let text = error.to_string();
    if error.problem().to_string().len() < 8 {
        return Err(format!("a refusal without words: {text:?}"));
    }
    let problem = format!("{:?}", error.problem());
    Ok(format!(
        "{} {}",
        skeleton(&problem),
        skeleton(error.cure_text().unwrap_or_default())
    ))
}

/// A text without quotations and numbers.
fn skeleton(text: &str) -> String {
    let mut out = String::new();
    let (mut quoted, mut escaped) = (None, false);
    for c in text.chars() {
        match quoted {
            Some(end) => {
                if c == end && !escaped {
                    quoted = None;
                }
                escaped = c == '\\' && !escaped;
            }
            None if c == '"' || c == '`' => quoted = Some(c),
            None if c.is_alphabetic() => out.push(c),
            None => {}
        }
    }
    out.truncate(out.char_indices().nth(160).map_or(out.len(), |it| it.0));
    out
}

/// A text of `Debug` in which no number is none, but for what it quotes.
fn only_numbers(text: &str) -> Result<(), String> {
    // Every second piece stands in quotation marks; escaped marks are taken out first.
    let plain = text.replace("\\\\", "").replace("\\\"", "");
    let none = |it: &str| {
        it.split(|c: char| !c.is_alphanumeric())
            .any(|word| word == "NaN" || word == "inf")
    };
    match plain.split('"').step_by(2).any(none) {
        true => Err(format!("not a number: {text}")),
        false => Ok(()),
    }
}

/// A joint file, and the files it names.
fn joint(text: &str, read: &lightseam::input::Read<'_>) -> Result<Found, Error> {
    let (joint, notes) = joint_file::parse(text, "joint.toml", read)?;
    Found::new(
        &notes,
        &(&joint.beam, &joint.motion, &joint.machine),
        Some(joint.clone()),
    )
}

/// A joint whose upper part is described by a file of spectra; none where that does not do.
fn with_spectra(name: &str, bytes: &[u8]) -> Option<Joint> {
    let text = JOINT.replacen(
        "thickness = \"1.5 mm\"",
        &format!("thickness = \"1.5 mm\", spectra = \"{name}\""),
        1,
    );
    joint(&text, &|it| companion(it, Some((name, bytes))))
        .ok()?
        .joint
}

fn plaque_text<'t>(file: &'t str, bytes: &'t [u8]) -> PlaqueText<'t> {
    PlaqueText {
        file,
        bytes,
        thickness_m: None,
    }
}

/// What a named file holds: the one at hand, or the good one of its kind.
fn companion(name: &str, at_hand: Option<(&str, &[u8])>) -> Result<Vec<u8>, Error> {
    let ending = name.rsplit('.').next().unwrap_or_default();
    match (at_hand, ending) {
        (Some((own, bytes)), _) if own == name => Ok(bytes.to_vec()),
        (_, "toml") => Ok(library::card_text("pp").unwrap_or_default().into()),
        (_, "jdx") => Ok(JCAMP.into()),
        (_, "csv") => Ok(TABLE.into()),
        _ => Err(Error::new(FileProblem::Read {
            path: name.into(),
            reason: "no such file".into(),
        })),
    }
}

fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn folders(within: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(project().join(within)).unwrap();
    let mut all: Vec<PathBuf> = entries
        .map(|it| it.unwrap().path())
        .filter(|it| it.is_dir())
        .collect();
    all.sort();
    all
}

/// The files of a folder whose names begin and end as asked, in the order of their names.
fn of_folder(folder: impl AsRef<Path>, begins: &str, ending: &str) -> Vec<Vec<u8>> {
    let entries = fs::read_dir(project().join(folder)).unwrap();
    let mut all: Vec<PathBuf> = entries
        .map(|it| it.unwrap().path())
        .filter(|it| {
            let name = it.file_name().unwrap_or_default().to_string_lossy();
            name.starts_with(begins) && it.extension().is_some_and(|it| it == ending)
        })
        .collect();
    all.sort();
    all.iter().map(|it| fs::read(it).unwrap()).collect()
}
