//! A table of weld trials as a plan was printed and filled in: CSV with a line of column names.
//!
//! Columns are found by their names, in any order: `Power (W)`, `Feed rate (mm/s)` or what else the
//! process mode sets (`Passes`, `Turns`, `Time of the shot (s)`), `Fused`, `Melt depth, upper part (µm)`, `Melt depth, lower part (µm)`, `Surface marked`,
//! `Burnt`. Empty cells were not looked at. Comma, semicolon and tab separate columns; with a
//! semicolon or tab, decimals may have a comma. Other columns are for people and not read.

use crate::error::{Error, Place, TrialsProblem};
use crate::input::note::Note;
use crate::input::spectrum_file::encoding::decode;
use crate::study::calibration::trial::{Seen, Trial};
use crate::units::{MM, UM};
use crate::weld::setpoint::Lever;

/// Name of the column that says whether the parts hold together.
pub const FUSED: &str = "Fused (yes or no)";
/// Name of the column of the upper part's melt depth, without unit.
pub const UPPER_DEPTH: &str = "Melt depth, upper part";
/// Name of the column of the lower part's melt depth, without unit.
pub const LOWER_DEPTH: &str = "Melt depth, lower part";
/// Name of the column that says whether the laser-side surface is marked.
pub const MARKED: &str = "Surface marked (yes or no)";
/// Name of the column that says whether the seam is burnt.
pub const BURNT: &str = "Burnt (yes or no)";

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Run,
    Power,
    Setting,
    UpperDepth,
    LowerDepth,
    Fused,
    Marked,
    Burnt,
}

/// Columns by the words that must all stand in their name, the first that fits.
const KINDS: [(&[&str], Kind); 7] = [
    (&["depth", "upper"], Kind::UpperDepth),
    (&["depth", "lower"], Kind::LowerDepth),
    (&["fused"], Kind::Fused),
    (&["marked"], Kind::Marked),
    (&["burnt"], Kind::Burnt),
    (&["power"], Kind::Power),
    (&["run"], Kind::Run),
];

/// Words that name the column of what is set beside the power; the first stands in messages.
fn words(lever: Lever) -> &'static [&'static str] {
    match lever {
        Lever::Speed => &["speed", "feed"],
        Lever::Passes => &["passes"],
        Lever::Turns => &["turns"],
        Lever::Time => &["time"],
    }
}

/// Words for yes and for no, in small letters.
const YES: [&str; 4] = ["yes", "y", "true", "1"];
const NO: [&str; 4] = ["no", "n", "false", "0"];

/// Greatest power, W; greatest speed in mm/s, number of passes or time in s; greatest depth, µm.
const MOST_POWER_W: f64 = 1e5;
const MOST_SETTING: f64 = 1e5;
const MOST_DEPTH_UM: f64 = 5e4;

/// Depth that a light microscope resolves, m: about half a wavelength of visible light (E. Abbe; from
/// memory), with some reserve.
const RESOLVED_M: f64 = 1e-6;

impl Kind {
    fn is_depth(self) -> bool {
        matches!(self, Kind::UpperDepth | Kind::LowerDepth)
    }
}

/// One column that is read.
#[derive(Clone, Debug)]
struct Column {
    at: usize,
    kind: Kind,
    name: String,
    /// SI value of one of its unit.
    unit: f64,
}

/// Trials with remarks about their file.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialsFile {
    /// The trials, in the order of the file.
    pub trials: Vec<Trial>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Reads trials; `file` is the name used in messages.
///
/// ```
/// use lightseam::weld::setpoint::Lever;
///
/// let text = "Run,Power (W),Feed rate (mm/s),Fused (yes or no)\n1,20,50,yes\n2,12,50,no\n";
/// let read = lightseam::input::trials::parse(text.as_bytes(), "trials.csv", Lever::Speed)?;
/// assert_eq!(read.trials[1].seen.fused, Some(false));
/// # Ok::<(), lightseam::error::Error>(())
/// ```
///
/// # Errors
/// No column of power or speed, a cell that is not what its column holds, depths too small to be seen,
/// or no run at all.
pub fn parse(bytes: &[u8], file: &str, lever: Lever) -> Result<TrialsFile, Error> {
    // The reader counts the line feed of CR LF to the next record, which moves line numbers.
    let text = decode(bytes).replace("\r\n", "\n").replace('\r', "\n");
    let place = |line: usize| Place {
        file: file.into(),
        line: Some(line),
        column: None,
    };
    let (separator, heading) = heading(&text, lever).ok_or_else(|| {
        Error::new(TrialsProblem::NoHeading {
            setting: words(lever)[0].into(),
        }).at(place(1)).cure(
            "keep the line of names that `lightseam trials` wrote, such as \"Power (W),Feed rate (mm/s)\"",
        )
    })?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes());
    let mut columns: Vec<Column> = Vec::new();
    let mut read = TrialsFile {
        trials: Vec::new(),
        notes: Vec::new(),
    };
    for record in reader.records() {
        // Text in memory can be read; what is no table shows as missing columns.
        let Ok(record) = record else { continue };
        let line = record.position().map_or(0, |it| it.line() as usize);
        if line < heading || record.iter().all(|it| it.trim().is_empty()) {
            continue;
        }
        if line == heading {
            columns = columns_of(&record, lever).map_err(|it| it.at(place(line)))?;
            continue;
        }
        let cells = Cells {
            record: &record,
            columns: &columns,
            lever,
            comma: separator != b',',
        };
        let trial = cells.trial(line).map_err(|it| it.at(place(line)))?;
        if trial.seen.count() == 0 {
            read.notes.push(Note::new(
                format!("run {} is not filled in and tells nothing", trial.name),
                place(line),
            ));
        }
        if let Some(note) = apart_and_molten(&trial) {
            read.notes.push(Note::new(note, place(line)));
        }
        read.trials.push(trial);
    }
    for column in columns.iter().filter(|it| it.kind.is_depth()) {
        resolvable(column, &read.trials).map_err(|it| it.at(place(heading)))?;
    }
    if read.trials.is_empty() {
        return Err(Error::new(TrialsProblem::NoRuns)
            .at(place(heading))
            .cure("one line a run, with its power and speed"));
    }
    Ok(read)
}

/// What to say of a run whose parts did not hold and in which a melt depth was read all the same.
fn apart_and_molten(trial: &Trial) -> Option<String> {
    let seen = &trial.seen;
    let depths_m = [seen.upper_melt_depth_m, seen.lower_melt_depth_m];
    if seen.depths_count() || depths_m.iter().flatten().all(|it| *it == 0.0) {
        return None;
    }
    let both = depths_m.iter().all(|it| it.is_some_and(|it| 0.0 < it));
    Some(format!(
        "run {} is not fused and has {}: the answer counts and depths do not, since a part may melt \
         below a face that stays cold{}",
        trial.name,
        if both {
            "melt depths in both parts"
        } else {
            "a melt depth"
        },
        if both {
            "; parts that both melted and do not hold did not touch, or held and came apart: in that \
             case write yes"
        } else {
            "; write yes if the parts held"
        }
    ))
}

/// Refuses a column of depths none of which a microscope shows: they are in another unit.
fn resolvable(column: &Column, trials: &[Trial]) -> Result<(), Error> {
    let greatest_m = trials
        .iter()
        .filter_map(|it| match column.kind {
            Kind::UpperDepth => it.seen.upper_melt_depth_m,
            _ => it.seen.lower_melt_depth_m,
        })
        .fold(0.0, f64::max);
    if greatest_m == 0.0 || RESOLVED_M <= greatest_m {
        return Ok(());
    }
    let error = Error::new(TrialsProblem::DepthsTooSmall {
        column: column.name.clone(),
        greatest_um: plainly(greatest_m / UM),
    });
    Err(error.cure("if the depths are in mm, write (mm) in the name of the column"))
}

/// A limit without the last digits that a change of unit leaves.
fn plainly(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

/// The separator, and the line of the column names, from 1: the first with power and setting.
fn heading(text: &str, lever: Lever) -> Option<(u8, usize)> {
    text.lines().enumerate().find_map(|(at, line)| {
        let small = line.to_lowercase();
        let separator = [';', '\t', ',']
            .into_iter()
            .find(|it| small.contains(*it))?;
        let named = |words: &[&str]| {
            small.split(separator).any(|cell| {
                words
                    .iter()
                    .any(|it| cell.trim().trim_matches('"').starts_with(it))
            })
        };
        (named(&["power", "laser power"]) && named(words(lever)))
            .then_some((separator as u8, at + 1))
    })
}

fn columns_of(record: &csv::StringRecord, lever: Lever) -> Result<Vec<Column>, Error> {
    let mut columns: Vec<Column> = Vec::new();
    for (at, name) in record.iter().enumerate() {
        let small = name.to_lowercase().replace('μ', "µ");
        let setting = words(lever).iter().any(|it| small.contains(it));
        let other = KINDS
            .iter()
            .find(|(words, _)| words.iter().all(|it| small.contains(it)))
            .map(|it| it.1);
        let Some(kind) = other.or(setting.then_some(Kind::Setting)) else {
            continue;
        };
        if columns.iter().any(|it| it.kind == kind) {
            return Err(Error::new(TrialsProblem::ColumnTwice {
                column: name.into(),
            })
            .cure("keep one of them"));
        }
        let unit = unit_of(kind, lever, &small).ok_or_else(|| {
            Error::new(TrialsProblem::WrongUnit {
                column: name.into(),
            })
            .cure("power in W, feed rate in mm/s, m/s or m/min, time in s, depths in µm or mm")
        })?;
        columns.push(Column {
            at,
            kind,
            name: name.trim().into(),
            unit,
        });
    }
    Ok(columns)
}

/// SI value of the unit in brackets in a column's name; the plan's unit where it has none.
fn unit_of(kind: Kind, lever: Lever, name: &str) -> Option<f64> {
    let inside = name
        .rsplit_once('(')
        .and_then(|(_, it)| it.split_once(')'))
        .map(|it| it.0.trim());
    match (kind, inside) {
        (Kind::Power, None | Some("w")) => Some(1.0),
        (Kind::Power, Some("kw")) => Some(1e3),
        (Kind::Setting, inside) => match (lever, inside) {
            (Lever::Speed, None | Some("mm/s")) => Some(MM),
            (Lever::Speed, Some("m/s")) => Some(1.0),
            (Lever::Speed, Some("m/min")) => Some(1.0 / 60.0),
            (Lever::Time, None | Some("s")) => Some(1.0),
            (Lever::Time, Some("ms")) => Some(1e-3),
            (Lever::Passes | Lever::Turns, None) => Some(1.0),
            _ => None,
        },
        (Kind::UpperDepth | Kind::LowerDepth, None | Some("µm" | "um")) => Some(UM),
        (Kind::UpperDepth | Kind::LowerDepth, Some("mm")) => Some(MM),
        (Kind::Power | Kind::UpperDepth | Kind::LowerDepth, Some(_)) => None,
        _ => Some(1.0),
    }
}

/// One run.
struct Cells<'r> {
    record: &'r csv::StringRecord,
    columns: &'r [Column],
    lever: Lever,
    /// True where a comma may stand before decimals.
    comma: bool,
}

impl Cells<'_> {
    fn trial(&self, line: usize) -> Result<Trial, Error> {
        let missing = |what: &'static str| {
            Error::new(TrialsProblem::NoSetpoint { what })
                .cure("write what the machine was set to, or delete the line")
        };
        Ok(Trial {
            name: self
                .text(Kind::Run)
                .map_or_else(|| format!("of line {line}"), |it| it.1.to_string()),
            power_w: self
                .number(Kind::Power, 0.0, MOST_POWER_W)?
                .ok_or_else(|| missing("power"))?,
            setting: self
                .number(Kind::Setting, 1e-3, MOST_SETTING)?
                .ok_or_else(|| missing(words(self.lever)[0]))?,
            seen: Seen {
                fused: self.answer(Kind::Fused)?,
                upper_melt_depth_m: self.number(Kind::UpperDepth, 0.0, MOST_DEPTH_UM)?,
                lower_melt_depth_m: self.number(Kind::LowerDepth, 0.0, MOST_DEPTH_UM)?,
                marked: self.answer(Kind::Marked)?,
                burnt: self.answer(Kind::Burnt)?,
            },
        })
    }

    /// Column and cell, where there is one that is not empty.
    fn text(&self, kind: Kind) -> Option<(&Column, &str)> {
        let column = self.columns.iter().find(|it| it.kind == kind)?;
        let cell = self.record.get(column.at)?.trim();
        (!cell.is_empty()).then_some((column, cell))
    }

    /// SI value of a cell; its range is in the plan's unit.
    fn number(&self, kind: Kind, least: f64, most: f64) -> Result<Option<f64>, Error> {
        let Some((column, cell)) = self.text(kind) else {
            return Ok(None);
        };
        let plain = if self.comma {
            cell.replacen(',', ".", 1)
        } else {
            cell.to_string()
        };
        let value: f64 = plain.parse().map_err(|_| {
            Error::new(TrialsProblem::NotANumber {
                column: column.name.clone(),
                cell: cell.into(),
            })
            .cure("write a bare number in the unit of the column, or leave the cell empty")
        })?;
        let si = value * column.unit;
        // Limits are in the plan's units: W, mm/s, µm.
        let plan = unit_of(kind, self.lever, "").unwrap_or(1.0);
        if !(least * plan <= si && si <= most * plan) {
            return Err(Error::new(TrialsProblem::OutOfRange {
                column: column.name.clone(),
                value: cell.into(),
                least: plainly(least * plan / column.unit),
                most: plainly(most * plan / column.unit),
            })
            .cure("look at the unit of the column"));
        }
        Ok(Some(si))
    }

    fn answer(&self, kind: Kind) -> Result<Option<bool>, Error> {
        let Some((column, cell)) = self.text(kind) else {
            return Ok(None);
        };
        let small = cell.to_lowercase();
        if YES.contains(&small.as_str()) {
            Ok(Some(true))
        } else if NO.contains(&small.as_str()) {
            Ok(Some(false))
        } else {
            Err(Error::new(TrialsProblem::NeitherYesNorNo {
                column: column.name.clone(),
                cell: cell.into(),
            })
            .cure("write yes or no, or leave the cell empty where nobody looked"))
        }
    }
}
