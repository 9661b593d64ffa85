//! From the data record to points in the units the file states.

use crate::error::{Error, JcampProblem};
use crate::input::jcamp::asdf::{Fault, LineStart, Ordinates, decode};
use crate::input::jcamp::record::{Block, Record};
use crate::input::jcamp::{Lines, number};

/// Points in the order of the file.
#[derive(Clone, Debug, Default)]
pub struct Points {
    /// Abscissae in the unit of ##XUNITS=.
    pub x: Vec<f64>,
    /// Ordinates in the unit of ##YUNITS=.
    pub y: Vec<f64>,
    /// Line each of them stands on, counted from 1.
    pub lines: Vec<usize>,
}

/// Share of a step that an abscissa at the start of a line may be off: a missing ordinate is a whole
/// step. Where the abscissa is written more coarsely than a step, its last digit may be off.
const ABSCISSA_TOLERANCE: f64 = 0.6;

/// Share by which ##DELTAX= may differ from the step between the ends: it is often rounded.
const STEP_TOLERANCE: f64 = 0.01;

/// Share of the largest ordinate by which ##FIRSTY= may be off before it is worth a note.
const FIRST_TOLERANCE: f64 = 0.01;

/// The points of a block, whichever form they have.
///
/// # Errors
/// Line, value and cure of the first mistake.
pub fn points(block: &Block, lines: &Lines, notes: &mut Vec<String>) -> Result<Points, Error> {
    let record = match block.data() {
        Some(record) => record,
        None => block.required("XYDATA", lines)?,
    };
    let factor = |label: &str| match block.record(label) {
        Some(record) => number(record, lines),
        None => Ok(1.0),
    };
    let (x_factor, y_factor) = (factor("XFACTOR")?, factor("YFACTOR")?);
    let form: String = record.value.to_ascii_uppercase().replace(' ', "");
    let even = form.starts_with("(X++(Y..Y)");
    if !even && !form.starts_with("(XY..XY)") {
        return Err(lines.error(
            record.line,
            JcampProblem::BadValue {
                label: record.label.clone(),
                value: record.value.clone(),
                must: "(X++(Y..Y)) or (XY..XY)".to_owned(),
            },
            "export the spectrum as XYDATA",
        ));
    }
    let mut points = if even {
        let found = decode(&record.body).map_err(|(line, fault)| {
            lines.error(
                line,
                problem(fault),
                "export the file again: this line is damaged",
            )
        })?;
        if found.ends_unchecked {
            notes.push("the last line checks against 0 and was not used as a check".to_owned());
        }
        evenly_spaced(block, lines, &found, x_factor)?
    } else {
        pairs(record, lines, x_factor)?
    };
    points.y.iter_mut().for_each(|y| *y *= y_factor);
    if points.y.iter().any(|y| y.is_infinite()) {
        return Err(lines.error(
            block.record("YFACTOR").map_or(record.line, |it| it.line),
            JcampProblem::BadValue {
                label: "YFACTOR".to_owned(),
                value: y_factor.to_string(),
                must: "a factor that keeps the ordinates finite".to_owned(),
            },
            "write the factor the instrument states",
        ));
    }
    count(block, lines, points.x.len())?;
    let before = points.x.len();
    let mut keep = points.y.iter().map(|y| y.is_finite());
    points.x.retain(|_| keep.next().unwrap_or(false));
    let mut keep = points.y.iter().map(|y| y.is_finite());
    points.lines.retain(|_| keep.next().unwrap_or(false));
    points.y.retain(|y| y.is_finite());
    if points.x.len() < before {
        notes.push(format!(
            "{} points marked as missing are left out",
            before - points.x.len()
        ));
    }
    if let (Some(record), Some(first)) = (block.record("FIRSTY"), points.y.first()) {
        let stated = number(record, lines)?;
        let largest = points.y.iter().fold(0f64, |most, y| most.max(y.abs()));
        if FIRST_TOLERANCE * largest < (stated - first).abs() {
            notes.push(format!(
                "line {}: ##FIRSTY= {stated}, but the first ordinate is {first}",
                record.line
            ));
        }
    }
    Ok(points)
}

fn problem(fault: Fault) -> JcampProblem {
    match fault {
        Fault::Bad { found, must } => JcampProblem::BadOrdinate {
            found,
            must: must.to_owned(),
        },
        Fault::Check { found, expected } => JcampProblem::CheckFails { found, expected },
    }
}

/// Refuses a number of points other than the one stated.
fn count(block: &Block, lines: &Lines, found: usize) -> Result<(), Error> {
    let Some(record) = block.record("NPOINTS") else {
        return Ok(());
    };
    let stated = number(record, lines)?;
    if stated < 0.0 || stated.fract() != 0.0 {
        return Err(lines.error(
            record.line,
            JcampProblem::BadValue {
                label: record.label.clone(),
                value: record.value.clone(),
                must: "a number of points".to_owned(),
            },
            "write the number of points",
        ));
    }
    if stated != found as f64 {
        return Err(lines.error(
            record.line,
            JcampProblem::PointCount {
                stated: stated as usize,
                found,
            },
            "export the file again: points are missing or doubled",
        ));
    }
    Ok(())
}

/// Abscissae from the ends and the number of ordinates; every line's own abscissa is checked.
fn evenly_spaced(
    block: &Block,
    lines: &Lines,
    found: &Ordinates,
    x_factor: f64,
) -> Result<Points, Error> {
    let ordinates = found.values.len();
    count(block, lines, ordinates)?;
    let optional = |label: &str| block.record(label).map(|it| number(it, lines)).transpose();
    let first = match (optional("FIRSTX")?, found.starts.first()) {
        (Some(first), _) => first,
        (None, Some(start)) => start.x * x_factor,
        (None, None) => 0.0,
    };
    let stated = optional("DELTAX")?;
    let intervals = ordinates.saturating_sub(1).max(1) as f64;
    let step = match optional("LASTX")? {
        Some(last) => (last - first) / intervals,
        None => match stated {
            Some(step) => step,
            None => number(block.required("LASTX", lines)?, lines)?,
        },
    };
    if let (Some(stated), Some(record)) = (stated, block.record("DELTAX"))
        && STEP_TOLERANCE * step.abs() < (stated.abs() - step.abs()).abs()
        && 1 < ordinates
    {
        return Err(lines.error(
            record.line,
            JcampProblem::StepDiffers {
                stated,
                found: step,
            },
            "correct ##DELTAX=, ##LASTX= or ##NPOINTS=, or leave ##DELTAX= out",
        ));
    }
    let at = |index: usize| first + step * index as f64;
    for start in &found.starts {
        check_abscissa(start, x_factor, step, at, lines)?;
    }
    // The ordinates of a line begin where those of the lines before it end.
    let line_of = |index: usize| {
        let after = found.starts.partition_point(|it| it.before <= index);
        after.checked_sub(1).map_or(0, |i| found.starts[i].line)
    };
    Ok(Points {
        x: (0..ordinates).map(at).collect(),
        lines: (0..ordinates).map(line_of).collect(),
        y: found.values.iter().map(|y| y.unwrap_or(f64::NAN)).collect(),
    })
}

/// Refuses a line whose abscissa is not where the ordinates before it lead. A repeated ordinate
/// belongs to the abscissa by the standard; some writers give the next one instead.
fn check_abscissa(
    start: &LineStart,
    x_factor: f64,
    step: f64,
    at: impl Fn(usize) -> f64,
    lines: &Lines,
) -> Result<(), Error> {
    let written = start.x * x_factor;
    let digit = start.x_digit * x_factor.abs();
    let tolerance = if digit <= step.abs() {
        ABSCISSA_TOLERANCE * step.abs()
    } else {
        digit
    };
    let back = usize::from(start.repeats);
    let fits = (0..=back).any(|back| {
        let expected = at(start.before.saturating_sub(back));
        (written - expected).abs() <= tolerance
    });
    if fits {
        return Ok(());
    }
    Err(lines.error(
        start.line,
        JcampProblem::AbscissaDiffers {
            found: written,
            expected: at(start.before.saturating_sub(back)),
            ordinates: start.before,
        },
        "check ##FIRSTX=, ##LASTX=, ##NPOINTS= and ##XFACTOR=; if they are right, points are missing",
    ))
}

/// Pairs at any spacing, several on a line.
fn pairs(record: &Record, lines: &Lines, x_factor: f64) -> Result<Points, Error> {
    let mut points = Points::default();
    for &(line, text) in &record.body {
        let separator = |c: char| c.is_whitespace() || c == ',' || c == ';';
        let bad = |found: &str, must: &str| {
            lines.error(
                line,
                JcampProblem::BadOrdinate {
                    found: found.chars().take(40).collect(),
                    must: must.to_owned(),
                },
                "write pairs as X,Y with decimal points and a space or semicolon between pairs",
            )
        };
        let mut numbers = Vec::new();
        for part in text.split(separator).filter(|it| !it.is_empty()) {
            let value = if part == "?" {
                Some(f64::NAN)
            } else {
                part.parse::<f64>().ok().filter(|it| it.is_finite())
            };
            numbers.push(value.ok_or_else(|| bad(part, "a number"))?);
        }
        if numbers.len() % 2 == 1 {
            return Err(bad(text, "a whole number of pairs"));
        }
        for pair in numbers.chunks_exact(2) {
            points.x.push(pair[0] * x_factor);
            points.y.push(pair[1]);
            points.lines.push(line);
        }
    }
    Ok(points)
}
