//! JCAMP-DX: the open exchange format of spectrometers, to wavelength and share of light.
//!
//! Read are data blocks of one spectrum, alone or linked in one file, as
//!
//! | record | form |
//! |---|---|
//! | `##XYDATA= (X++(Y..Y))` | numbers, or any of the squeezed and difference forms, mixed freely |
//! | `##XYPOINTS= (XY..XY)` | pairs at any spacing |
//!
//! with X in nm, µm or 1/cm and Y as transmittance, reflectance or absorbance. Peak tables, arrays
//! of several variables and other quantities are refused; in a linked file they are passed over
//! with a note as long as a spectrum remains.
//!
//! Sources: R. S. McDonald and P. A. Wilks, Appl. Spectrosc. 42 (1988) 151 (version 4.24);
//! P. Lampen, H. Hillig, A. N. Davies and M. Linscheid, Appl. Spectrosc. 48 (1994) 1545 (version
//! 5.0). Checked in: `tests/input/jcamp.rs` with the printed examples of the first and with public
//! domain files of the format's test disk.

use crate::error::{Error, JcampProblem};
use crate::input::jcamp::record::{Block, Record, blocks};
use crate::input::jcamp::table::{Points, points};
use crate::units::NM;

mod asdf;
mod record;
mod table;
mod unit;

pub use unit::Quantity;

/// One spectrum of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct JcampBlock {
    /// ##TITLE=.
    pub title: String,
    /// ##DATA TYPE=, empty where it is missing.
    pub data_type: String,
    /// Wavelengths in ascending order, m.
    pub wavelength_m: Vec<f64>,
    /// What was measured.
    pub quantity: Quantity,
    /// Transmittance and reflectance as a share, 0 to 1; absorbance as its decadic value. One for
    /// each wavelength.
    pub values: Vec<f64>,
    /// True where the file gives the values in percent.
    pub per_cent: bool,
    /// Line each value stands on, counted from 1.
    pub lines: Vec<usize>,
    /// Thickness of the sample, m, where the file states it.
    pub thickness_m: Option<f64>,
    /// Line of ##TITLE=, counted from 1.
    pub line: usize,
    /// What the file says of accessory, procedure and sample, to be searched for words.
    pub description: String,
    /// What the reader had to assume, or found odd.
    pub notes: Vec<String>,
}

/// Labels whose text goes into [`JcampBlock::description`].
const DESCRIBING: [&str; 7] = [
    "SAMPLEDESCRIPTION",
    "SAMPLINGPROCEDURE",
    "SPECTROMETERDATASYSTEM",
    "ACCESSORY",
    "$ACCESSORY",
    "$GEOMETRY",
    "STATE",
];

impl JcampBlock {
    /// Transmittance as a share: as measured, or 10^−A of an absorbance; none for reflectance.
    pub fn transmittance(&self) -> Option<Vec<f64>> {
        match self.quantity {
            Quantity::Transmittance => Some(self.values.clone()),
            Quantity::Absorbance => Some(self.values.iter().map(|a| 10f64.powf(-a)).collect()),
            Quantity::Reflectance => None,
        }
    }
}

/// All spectra of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct JcampFile {
    /// The spectra, in the order of the file; at least one.
    pub blocks: Vec<JcampBlock>,
    /// Blocks passed over, and why.
    pub notes: Vec<String>,
}

/// Reads the text of a JCAMP-DX file; `file` names it in messages.
///
/// ```
/// let head = "##TITLE= lid\n##XUNITS= NANOMETERS\n##YUNITS= TRANSMITTANCE\n##YFACTOR= 0.01\n";
/// let data = "##FIRSTX= 940\n##LASTX= 980\n##XYDATA= (X++(Y..Y))\n940D1%J\n980D2\n##END=\n";
/// let text = format!("{head}{data}");
/// let lid = &lightseam::input::jcamp::read(&text, "lid.jdx").unwrap().blocks[0];
/// assert!((lid.values[2] - 0.42).abs() < 1e-15);
/// assert!((lid.wavelength_m[1] - 960e-9).abs() < 1e-18);
/// ```
///
/// # Errors
/// The file is not JCAMP-DX, or no spectrum in it can be read; with line, value and cure. A block
/// that holds a spectrum with a mistake in it is an error too, never passed over.
pub fn read(text: &str, file: &str) -> Result<JcampFile, Error> {
    let lines = Lines { file };
    let mut spectra = Vec::new();
    let mut notes = Vec::new();
    let mut refused = None;
    for block in blocks(text, &lines)? {
        match block.refusal(&lines) {
            None => spectra.push(spectrum(&block, &lines)?),
            Some(error) => {
                notes.push(format!("line {}: {}", block.line, error.problem()));
                refused.get_or_insert(error);
            }
        }
    }
    match refused {
        Some(error) if spectra.is_empty() => Err(error),
        _ if spectra.is_empty() => Err(lines.error(
            1,
            JcampProblem::NoSpectrum {
                title: String::new(),
                form: "no data".to_owned(),
            },
            "export the spectrum itself, as XYDATA",
        )),
        _ => Ok(JcampFile {
            blocks: spectra,
            notes,
        }),
    }
}

/// Makes errors with the name of the file.
struct Lines<'a> {
    file: &'a str,
}

impl Lines<'_> {
    fn error(&self, line: usize, problem: JcampProblem, cure: impl Into<String>) -> Error {
        Error::new(problem)
            .at(crate::error::Place {
                file: self.file.to_owned(),
                line: Some(line),
                column: None,
            })
            .cure(cure)
    }
}

/// Largest value of a transmittance or reflectance read as a share; above it the values are per
/// cent whatever the label says. Published files in shares reach 1.51 through a poor reference.
const LARGEST_SHARE: f64 = 2.0;

/// Value from which a share is worth a note.
const WORTH_A_NOTE: f64 = 1.05;

/// Reads one block that holds a spectrum.
fn spectrum(block: &Block, lines: &Lines) -> Result<JcampBlock, Error> {
    let mut notes = Vec::new();
    let x_unit = unit::abscissa(block, lines)?;
    let (quantity, mut per_cent) = unit::ordinate(block, lines)?;
    let Points {
        x,
        mut y,
        lines: on_lines,
    } = points(block, lines, &mut notes)?;
    if x.len() < 2 {
        return Err(lines.error(
            block.line,
            JcampProblem::TooFew {
                title: block.title.clone(),
                found: x.len(),
            },
            "export the whole spectrum",
        ));
    }
    let largest = y.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if quantity != Quantity::Absorbance && !per_cent && LARGEST_SHARE < largest {
        per_cent = true;
        notes.push(format!(
            "##YUNITS= gives no per cent sign, but the values reach {largest}: read as per cent"
        ));
    }
    if quantity != Quantity::Absorbance && !per_cent && WORTH_A_NOTE < largest {
        notes.push(format!(
            "the values reach {largest}, more than all of the light; read as shares"
        ));
    }
    if per_cent {
        y.iter_mut().for_each(|value| *value *= 0.01);
    }
    let mut pairs = Vec::with_capacity(x.len());
    for ((x, y), line) in x.into_iter().zip(y).zip(on_lines) {
        let wavelength_m = x_unit.wavelength_m(x);
        match wavelength_m {
            Some(wavelength_m) => pairs.push((wavelength_m, (y, line))),
            None => {
                return Err(lines.error(
                    line,
                    JcampProblem::NotAWavelength {
                        value: x,
                        unit: x_unit.name().to_owned(),
                    },
                    "check ##FIRSTX=, ##LASTX= and ##XFACTOR=, or export a range above zero",
                ));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    if let Some(same) = pairs.windows(2).find(|pair| pair[1].0 <= pair[0].0) {
        return Err(lines.error(
            same[0].1.1.max(same[1].1.1),
            JcampProblem::Twice {
                wavelength_nm: same[0].0 / NM,
            },
            "keep one of the two points",
        ));
    }
    let (wavelength_m, found): (Vec<f64>, Vec<(f64, usize)>) = pairs.into_iter().unzip();
    let (values, on_lines) = found.into_iter().unzip();
    Ok(JcampBlock {
        title: block.title.clone(),
        data_type: block.text("DATATYPE").unwrap_or_default().to_owned(),
        wavelength_m,
        quantity,
        values,
        per_cent,
        lines: on_lines,
        thickness_m: unit::thickness_m(block, &mut notes),
        line: block.line,
        description: DESCRIBING
            .iter()
            .filter_map(|label| block.text(label))
            .collect::<Vec<_>>()
            .join("; "),
        notes,
    })
}

/// The value of a record as a number.
fn number(record: &Record, lines: &Lines) -> Result<f64, Error> {
    let text = record.value.replace(' ', "");
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => {
            let cure = if text.contains(',') {
                "write a point for the decimal comma"
            } else {
                "write a plain number, such as 0.001 or 1.0E-03"
            };
            Err(lines.error(
                record.line,
                JcampProblem::BadValue {
                    label: record.label.clone(),
                    value: record.value.clone(),
                    must: "a number".to_owned(),
                },
                cure,
            ))
        }
    }
}
