//! What may be typed; nothing derived.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::study::calibration::parameter::Parameter;

/// Will this pair of plastics weld by a laser shone through the upper part, at which wavelength,
/// power and speed, and how much can go wrong before it stops welding?
#[derive(Debug, Parser)]
#[command(name = "lightseam", version, max_term_width = 100, after_help = AFTER)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// How to answer.
    #[command(flatten)]
    pub manner: Manner,
}

const AFTER: &str = "\
Exit codes: 0 answered (one weld: sound; batches: all weld and keep to their limits), 1 answered and
not so, 2 could not answer, or not for all that was named.
lightseam is a feasibility aid, not a safety assessment: welding lasers are class 4 and invisible.";

/// How to answer; goes with every command.
#[derive(Args, Clone, Debug)]
pub struct Manner {
    /// Print the result as JSON (SI units unless a name says otherwise).
    #[arg(long, global = true)]
    pub json: bool,
    /// Write the page, figures (SVG, PNG) and tables (CSV) into this folder.
    #[arg(long, global = true, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print results and errors only, no progress and no warnings.
    #[arg(long, short, global = true)]
    pub quiet: bool,
    /// Use this many threads (all cores if left out); results do not depend on it.
    #[arg(long, global = true, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Run the main job on a built-in scenario and write its report to reports/demo/.
    Demo,
    /// Write a starter joint file with spectra and material cards into a new folder.
    New {
        /// Folder to make; must not exist or be empty.
        dir: PathBuf,
        /// Add invented batches of a black lid, a standard and the natural grade.
        #[arg(long)]
        colour: bool,
    },
    /// Judge one weld at its setpoint.
    Weld(WeldFile),
    /// Trace where the joint welds over power and speed, and recommend a setpoint.
    Window(WindowFile),
    /// Map two of wavelength, thickness, speed, power, absorber content and gap.
    Survey(Survey),
    /// Scatter the inputs: how often the weld is sound, and which input to hold tighter.
    Tolerance(Tolerance),
    /// Find what the parts must be: least transmittance, greatest thickness, range of absorber.
    Require(Require),
    /// Rank grades: each file of spectra or card as the upper part of one joint.
    Rank(Rank),
    /// Follow the light by every method: what a spreadsheet, a fast and the exact way make of a joint.
    Compare(CompareFile),
    /// List the material cards, or print one with its sources.
    Materials {
        /// Name of a built-in card, or path of a card file.
        name: Option<String>,
        /// A second card: shows whether the two are known to weld to each other.
        second: Option<String>,
    },
    /// Read spectrometer files and show what they say about a part.
    Spectra(Spectra),
    /// Plan weld trials around the recommended setpoint, as a table to fill in.
    Trials(Trials),
    /// Correct power, absorber and contact by filled-in trials, and redraw the window.
    Calibrate(Calibrate),
    /// Tell the colour of plaques, how they let the laser through, and which batches weld.
    Colour(Colour),
    /// Write one page on a joint, to print and file, or two joints side by side.
    Report(ReportFiles),
    /// Check this build against closed forms, published tables, other programs and measurements.
    Validate,
    /// Print a completion script for a shell.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page, or write one for each command with --out.
    Manual {
        /// A command, such as "weld"; all of lightseam if left out.
        name: Option<String>,
    },
}

/// One joint file, or two to compare.
#[derive(Args, Clone, Debug)]
pub struct ReportFiles {
    /// The joint file (TOML); a second one is set beside it.
    #[arg(required = true, num_args = 1..=2, value_name = "JOINT")]
    pub joints: Vec<PathBuf>,
}

/// A joint file, and what may be changed from the command line.
#[derive(Args, Clone, Debug)]
pub struct JointFile {
    /// The joint file (TOML).
    pub joint: PathBuf,
    /// How to follow the light (default: the joint file's, or by the parts).
    #[arg(long, value_enum)]
    pub method: Option<MethodName>,
}

/// A joint file, and what more to say of its weld.
#[derive(Args, Clone, Debug)]
pub struct WeldFile {
    /// The joint.
    #[command(flatten)]
    pub file: JointFile,
    /// Follow heat across the seam as well: seam width and shape of the melt.
    #[arg(long)]
    pub cross_section: bool,
}

/// A joint file, and what its power is traced against.
#[derive(Args, Clone, Debug)]
pub struct WindowFile {
    /// The joint.
    #[command(flatten)]
    pub file: JointFile,
    /// Trace the power against the gap between the parts, at the joint's own speed, passes or time.
    #[arg(long, value_enum)]
    pub against: Option<Against>,
}

/// What a window may be traced against in place of the setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Against {
    /// Gap between the parts.
    Gap,
}

/// A joint file, as it stands.
#[derive(Args, Clone, Debug)]
pub struct CompareFile {
    /// The joint file (TOML).
    pub joint: PathBuf,
}

/// A scatter of inputs.
#[derive(Args, Clone, Debug)]
pub struct Tolerance {
    /// The joint; its `[uncertainty]` says how inputs scatter.
    #[command(flatten)]
    pub file: JointFile,
    /// Most welds to simulate for the chance and the effects of inputs: as many are drawn as powers of
    /// two allow, down to half; the map takes about as many again.
    #[arg(long, value_name = "N", default_value_t = 100_000)]
    pub samples: usize,
    /// Seed of the points; the same seed gives the same answer.
    #[arg(long, value_name = "SEED", default_value_t = 1)]
    pub seed: u64,
    /// Leave out the chance over power and speed.
    #[arg(long)]
    pub no_map: bool,
}

/// What must hold of the parts.
#[derive(Args, Clone, Debug)]
pub struct Require {
    /// The joint; its `[machine]` is the laser at hand.
    #[command(flatten)]
    pub file: JointFile,
    /// Share by which the power may drift either way at the joint's speed.
    #[arg(long, value_name = "SHARE", default_value = "15 %")]
    pub latitude: String,
}

/// Grades to rank.
#[derive(Args, Clone, Debug)]
pub struct Rank {
    /// The joint; each grade takes the place of its upper part, at the same thickness.
    #[command(flatten)]
    pub file: JointFile,
    /// Files of spectra (CSV, JCAMP-DX) or cards (TOML), folders of them, or names of built-in cards
    /// such as "pp"; one grade a file. A file of spectra keeps the joint's upper card for heat, a card
    /// replaces it.
    #[arg(required = true, value_name = "FILES|FOLDER")]
    pub grades: Vec<PathBuf>,
}

/// Names of optical methods.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MethodName {
    /// Faces and absorption, no scattering.
    BeerLambert,
    /// A beam and two diffuse fluxes: fast, approximate.
    TwoFlux,
    /// Exact where parts scatter.
    AddingDoubling,
}

/// A map.
#[derive(Args, Clone, Debug)]
pub struct Survey {
    /// The joint.
    #[command(flatten)]
    pub file: JointFile,
    /// What varies along x; the three usual maps if --x and --y are left out.
    #[arg(long, value_enum, requires = "y")]
    pub x: Option<AxisName>,
    /// What varies along y.
    #[arg(long, value_enum, requires = "x")]
    pub y: Option<AxisName>,
    /// What the map shows.
    #[arg(long, value_enum, default_value = "latitude")]
    pub field: FieldName,
    /// Range along x, such as "800 nm .. 2000 nm".
    #[arg(long, value_name = "FROM .. TO", requires = "x")]
    pub x_range: Option<String>,
    /// Range along y, such as "0.5 mm .. 4 mm".
    #[arg(long, value_name = "FROM .. TO", requires = "x")]
    pub y_range: Option<String>,
    /// Cells along x and y.
    #[arg(long, value_name = "NXxNY", default_value = "60x30")]
    pub cells: String,
}

/// Axes of a map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum AxisName {
    /// Laser wavelength.
    Wavelength,
    /// Thickness of the upper part.
    Thickness,
    /// Feed rate, scan speed, or speed of the joint under the spot.
    Speed,
    /// Passes of quasi-simultaneous welding.
    Passes,
    /// Turns of radial welding.
    Turns,
    /// Time of a simultaneous shot.
    Time,
    /// Power over the seam of a simultaneous shot.
    PowerDensity,
    /// Laser power.
    Power,
    /// Carbon black in the lower part.
    Absorber,
    /// Gap between the parts.
    Gap,
}

/// Fields of a map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FieldName {
    /// Highest temperature of the interface.
    Peak,
    /// Signed margin at the joint's setpoint.
    Margin,
    /// Highest over lowest sound power.
    Latitude,
}

/// Spectrometer files.
#[derive(Args, Clone, Debug)]
pub struct Spectra {
    /// Files as the instrument exports them: CSV (comma, semicolon or tab) or JCAMP-DX. Several files
    /// are plaques of one material.
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Thickness of plaques whose file does not say, such as "2 mm".
    #[arg(long, value_name = "LENGTH")]
    pub thickness: Option<String>,
    /// Refractive index of the material.
    #[arg(long, value_name = "N", default_value = "1.5")]
    pub index: String,
    /// Anisotropy of scattering that the reduction assumes.
    #[arg(long, value_name = "G", default_value = "0.9")]
    pub g: String,
    /// Show this wavelength in place of the laser lines, such as "980 nm"; may be repeated.
    #[arg(long, value_name = "WAVELENGTH")]
    pub at: Vec<String>,
    /// Predict the light in a part of this thickness, such as "1.5 mm".
    #[arg(long, value_name = "LENGTH")]
    pub part: Option<String>,
    /// Standard uncertainty of the instrument, as a share of the incident light.
    #[arg(long, value_name = "SHARE", default_value = "0.3 %")]
    pub photometric: String,
    /// Share of scattered light that misses the sphere at its port.
    #[arg(long, value_name = "SHARE", default_value = "0 %")]
    pub port_loss: String,
    /// Reflectance of the reference plaque that the instrument read as 100 %.
    #[arg(long, value_name = "SHARE", default_value = "100 %")]
    pub reference: String,
    /// Whether total reflectance includes the specular beam (no gloss trap).
    #[arg(long, value_enum, default_value = "included")]
    pub specular: Specular,
    /// Whether absorption and scattering are told apart where the data can.
    #[arg(long, value_enum, default_value = "auto")]
    pub invert: Inversion,
}

/// What becomes of the specular beam.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Specular {
    /// It stays in the sphere.
    Included,
    /// A gloss trap takes it out.
    Excluded,
}

/// How spectra are reduced.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Inversion {
    /// Absorption and scattering where the data tell them apart.
    Auto,
    /// One extinction from transmittance alone.
    No,
}

/// A plan of weld trials.
#[derive(Args, Clone, Debug)]
pub struct Trials {
    /// The joint.
    #[command(flatten)]
    pub file: JointFile,
    /// How often every run is welded in its block.
    #[arg(long, value_name = "N", default_value = "1", value_parser = clap::value_parser!(u8).range(1..=20))]
    pub repeats: u8,
    /// Seed of the random order.
    #[arg(long, value_name = "SEED", default_value = "1")]
    pub seed: u64,
}

/// Filled-in trials.
#[derive(Args, Clone, Debug)]
pub struct Calibrate {
    /// The joint.
    #[command(flatten)]
    pub file: JointFile,
    /// The filled-in table (CSV), as `trials` wrote it.
    pub trials: PathBuf,
    /// What to correct, separated by commas; all three if left out.
    #[arg(long, value_enum, value_delimiter = ',')]
    pub fit: Vec<ParameterName>,
    /// Standard deviation of a melt depth read in a section.
    #[arg(long, value_name = "LENGTH", default_value = "10 µm")]
    pub depth_uncertainty: String,
    /// Seed of the sampler.
    #[arg(long, value_name = "SEED", default_value = "1")]
    pub seed: u64,
}

/// What trials can correct.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ParameterName {
    /// Power at the part over power set.
    Coupling,
    /// Absorption of the lower part.
    Absorber,
    /// Conductance between the parts.
    Contact,
}

impl ParameterName {
    /// The parameter of this name.
    pub fn parameter(self) -> Parameter {
        match self {
            ParameterName::Coupling => Parameter::Coupling,
            ParameterName::Absorber => Parameter::Absorber,
            ParameterName::Contact => Parameter::Contact,
        }
    }
}

/// Coloured plaques.
#[derive(Args, Clone, Debug)]
pub struct Colour {
    /// Files as the instrument exports them, one a batch, in the order they were made; or folders of
    /// such files, taken in the order of their names.
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Plaque of the colour aimed at: colour differences count from it.
    #[arg(long, value_name = "FILE")]
    pub standard: Option<PathBuf>,
    /// Plaque of the same polymer without colourant (default: the upper part of the joint).
    #[arg(long, value_name = "FILE")]
    pub natural: Option<PathBuf>,
    /// Joint file whose upper part the batches take the place of.
    #[arg(long, value_name = "JOINT")]
    pub joint: Option<PathBuf>,
    /// Standard observer by which colours are compared.
    #[arg(long, value_enum, default_value = "10")]
    pub observer: ObserverName,
    /// Wavelength of the laser (default: the joint's, or 980 nm).
    #[arg(long, value_name = "WAVELENGTH")]
    pub line: Option<String>,
    /// Thickness of plaques whose file does not say, such as "2 mm".
    #[arg(long, value_name = "LENGTH")]
    pub thickness: Option<String>,
    /// Thickness of the part (default: the joint's, or that of the plaque).
    #[arg(long, value_name = "LENGTH", conflicts_with = "joint")]
    pub part: Option<String>,
    /// Refractive index of the material (default: the joint's, or 1.5).
    #[arg(long, value_name = "N", conflicts_with = "joint")]
    pub index: Option<String>,
    /// A limit of the specification, such as "T >= 30 %", "L <= 26" or "dE00 <= 1"; may be repeated.
    /// Names: L, a, b, dE00 (needs --standard), opacity (needs R over black and over white), T,
    /// retained (needs --natural or --joint), extinction, latitude (needs --joint).
    #[arg(long, value_name = "LIMIT")]
    pub limit: Vec<String>,
}

/// Standard observers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ObserverName {
    /// CIE 1931.
    #[value(name = "2")]
    TwoDegrees,
    /// CIE 1964.
    #[value(name = "10")]
    TenDegrees,
}
