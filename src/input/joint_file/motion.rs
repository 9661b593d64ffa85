//! Sections about how the light moves: beam, motion and machine, each in the words of its mode.

use crate::error::{Error, InputProblem};
use crate::input::document::{Item, Section};
use crate::input::note::Note;
use crate::input::quantity::{self, Field};
use crate::optics::beam::{Beam, Shape};
use crate::weld::setpoint::{SHORTEST_PATH, least_inner_m};
use crate::weld::{Lever, Machine, Motion, Part};

/// A process mode by its word.
#[derive(Clone, Copy)]
enum Mode {
    Contour,
    QuasiSimultaneous,
    Simultaneous,
    Mask,
    Radial,
}

const MODES: [(&str, Mode); 5] = [
    ("contour", Mode::Contour),
    ("quasi-simultaneous", Mode::QuasiSimultaneous),
    ("simultaneous", Mode::Simultaneous),
    ("mask", Mode::Mask),
    ("radial", Mode::Radial),
];

/// A share of a pass below which a time is taken as a whole number of passes.
const WHOLE: f64 = 1e-6;

pub(super) fn read_motion(section: &Section<'_>, notes: &mut Vec<Note>) -> Result<Motion, Error> {
    let mode = section.need("mode", "\"contour\"")?.word(&MODES)?;
    let speed = || section.quantity("speed", &quantity::SPEED);
    Ok(match mode {
        Mode::Contour => {
            section.only(&["mode", "speed"])?;
            Motion::Contour {
                speed_m_per_s: speed()?,
            }
        }
        Mode::Mask => {
            section.only(&["mode", "speed", "opening"])?;
            Motion::Mask {
                speed_m_per_s: speed()?,
                opening_m: section.quantity("opening", &quantity::OPENING)?,
            }
        }
        Mode::Simultaneous => {
            section.only(&["mode", "time"])?;
            Motion::Simultaneous {
                time_s: section.quantity("time", &quantity::SHOT)?,
            }
        }
        Mode::QuasiSimultaneous => {
            section.only(&["mode", "path_length", "speed", "passes", "time"])?;
            let path_m = section.quantity("path_length", &quantity::PATH)?;
            let speed_m_per_s = speed()?;
            Motion::QuasiSimultaneous {
                path_m,
                speed_m_per_s,
                passes: passes(section, path_m / speed_m_per_s, notes)?,
            }
        }
        Mode::Radial => {
            section.only(&["mode", "diameter", "turns", "rotation", "turn_time"])?;
            let turn_s = match (section.get("rotation"), section.get("turn_time")) {
                (Some(_), Some(other)) => {
                    return Err(conflict(&other, "rotation", "give rotation or turn_time"));
                }
                (None, Some(item)) => item.quantity(&quantity::SHOT)?,
                _ => 1.0 / section.quantity("rotation", &quantity::ROTATION)?,
            };
            Motion::Radial {
                diameter_m: section.quantity("diameter", &quantity::DIAMETER)?,
                turn_s,
                turns: whole(&section.need("turns", "3")?, &quantity::TURNS)?,
            }
        }
    })
}

/// Number of passes, stated or from the time they take together.
fn passes(section: &Section<'_>, period_s: f64, notes: &mut Vec<Note>) -> Result<u32, Error> {
    let Some(item) = section.get("time") else {
        return whole(&section.need("passes", "30")?, &quantity::PASSES);
    };
    if let Some(other) = section.get("passes") {
        return Err(conflict(&other, "time", "give passes or time"));
    }
    let time_s = item.quantity(&quantity::SHOT)?;
    let count = time_s / period_s;
    let done = (count * (1.0 + WHOLE)).floor();
    let most = quantity::PASSES.range()?.1;
    if done < 1.0 || most < done {
        return Err(item
            .error(InputProblem::OutOfRange {
                what: "time of all passes".into(),
                value: item.echo(),
                least: format!("{period_s:.3} s (one pass)"),
                most: format!("{:.3} s ({most} passes)", most * period_s),
            })
            .cure("one pass takes path_length / speed; or give passes in place of time"));
    }
    if WHOLE < (count - count.round()).abs() / count {
        notes.push(Note::new(
            format!(
                "the time holds {count:.2} passes; the weld is judged at the part of the seam that \
                 gets {done}"
            ),
            item.place(),
        ));
    }
    Ok(done as u32)
}

/// A whole number in the range of a field.
fn whole(item: &Item<'_>, field: &Field) -> Result<u32, Error> {
    let number = item.quantity(field)?;
    if number.fract() != 0.0 {
        return Err(item
            .error(InputProblem::WrongType {
                key: item.key.clone(),
                found: item.echo(),
                needed: "a whole number".into(),
            })
            .cure(format!("write {} = {}", item.key, number.round().max(1.0))));
    }
    Ok(number as u32)
}

fn conflict(item: &Item<'_>, other: &str, cure: &str) -> Error {
    item.error(InputProblem::Conflict {
        first: item.key.clone(),
        second: other.into(),
    })
    .cure(cure)
}

pub(super) fn read_beam(section: &Section<'_>, motion: &Motion) -> Result<Beam, Error> {
    let shot = motion.lever() == Lever::Time;
    let line = matches!(motion, Motion::Mask { .. });
    let mut known = vec![
        "wavelength",
        "shape",
        "length",
        "width",
        "power",
        "incidence",
    ];
    if shot {
        known.push("power_density");
    } else if !line {
        known.push("diameter");
    }
    section.only(&known)?;
    let shape = match section.get("shape") {
        Some(item) => {
            let shape = item.word(&[("top-hat", Shape::TopHat), ("gaussian", Shape::Gaussian)])?;
            if shape == Shape::Gaussian && (shot || line) {
                return Err(item
                    .error(InputProblem::NotYet {
                        what: format!("a Gaussian beam in {} welding", motion.mode()),
                    })
                    .cure("leave shape out and state the power or width that the middle of the seam sees"));
            }
            shape
        }
        None => Shape::TopHat,
    };
    let (length_m, width_m) = match section.get("diameter") {
        Some(item) => {
            if let Some(other) = section.get("length").or_else(|| section.get("width")) {
                return Err(conflict(
                    &other,
                    "diameter",
                    "give length and width, or diameter",
                ));
            }
            let diameter_m = item.quantity(&quantity::SPOT)?;
            (diameter_m, diameter_m)
        }
        None if shot => (
            section.quantity("length", &quantity::PATH)?,
            section.quantity("width", &quantity::SPOT)?,
        ),
        None => (
            section.quantity("length", &quantity::SPOT)?,
            section.quantity("width", &quantity::SPOT)?,
        ),
    };
    let power_w = match (section.get("power"), section.get("power_density")) {
        (Some(_), Some(other)) => {
            return Err(conflict(&other, "power", "give power or power_density"));
        }
        (None, Some(item)) => item.quantity(&quantity::POWER_DENSITY)? * length_m * width_m,
        _ => section.quantity("power", &quantity::POWER)?,
    };
    Ok(Beam {
        shape,
        length_m,
        width_m,
        power_w,
    })
}

pub(super) fn read_machine(
    section: &Section<'_>,
    motion: &Motion,
    beam: &Beam,
) -> Result<Machine, Error> {
    let lever = motion.lever();
    section.only(match lever {
        Lever::Speed => &["power", "speed"],
        Lever::Passes => &["power", "passes", "time"],
        Lever::Turns => &["power", "turns"],
        Lever::Time => &["power", "power_density", "time"],
    })?;
    let power_w = match (section.get("power"), section.get("power_density")) {
        (Some(_), Some(other)) => {
            return Err(conflict(&other, "power", "give power or power_density"));
        }
        (None, Some(item)) => {
            let area_m2 = beam.length_m * beam.width_m;
            let (least, most) = item.pair(&quantity::POWER_DENSITY)?;
            (least * area_m2, most * area_m2)
        }
        _ => section
            .need("power", "[\"5 W\", \"60 W\"]")?
            .pair(&quantity::POWER)?,
    };
    let setting = match lever {
        Lever::Speed => section
            .need("speed", "[\"5 mm/s\", \"200 mm/s\"]")?
            .pair(&quantity::SPEED)?,
        Lever::Time => section
            .need("time", "[\"0.2 s\", \"5 s\"]")?
            .pair(&quantity::SHOT)?,
        Lever::Turns => whole_pair(&section.need("turns", "[1, 20]")?, &quantity::TURNS)?,
        Lever::Passes => match (section.get("time"), motion.period_s()) {
            (Some(item), Some(period_s)) => {
                if let Some(other) = section.get("passes") {
                    return Err(conflict(&other, "time", "give passes or time"));
                }
                let (least, most) = item.pair(&quantity::SHOT)?;
                let count = |time_s: f64| time_s / period_s;
                let range = (count(least).ceil().max(1.0), count(most).floor());
                if range.1 <= range.0 {
                    return Err(item
                        .error(InputProblem::NotARange {
                            what: "passes within the times".into(),
                            least: format!("{}", range.0),
                            most: format!("{}", range.1),
                        })
                        .cure(format!("one pass takes {period_s:.3} s: widen the times")));
                }
                range
            }
            _ => whole_pair(&section.need("passes", "[5, 60]")?, &quantity::PASSES)?,
        },
    };
    Ok(Machine { power_w, setting })
}

fn whole_pair(item: &Item<'_>, field: &Field) -> Result<(f64, f64), Error> {
    let pair = item.pair(field)?;
    for end in item.items()? {
        whole(&end, field)?;
    }
    Ok(pair)
}

/// Refuses what does not fit together: a path shorter than the spot, a wall thicker than the part,
/// an opening wider than the line.
pub(super) fn check(
    section: &Section<'_>,
    motion: &Motion,
    beam: &Beam,
    parts: [&Part; 2],
) -> Result<(), Error> {
    let out = |key: &str, least: String, most: String, cure: &str| {
        let item = section.need(key, "…")?;
        Err(item
            .error(InputProblem::OutOfRange {
                what: key.replace('_', " "),
                value: item.echo(),
                least,
                most,
            })
            .cure(cure))
    };
    let mm = |it: f64| format!("{} mm", (it * 1e6).round() / 1e3);
    match *motion {
        Motion::QuasiSimultaneous { path_m, .. } if path_m < SHORTEST_PATH * beam.length_m => out(
            "path_length",
            format!("{} (two spots)", mm(SHORTEST_PATH * beam.length_m)),
            quantity::PATH.most.into(),
            "a path as short as the spot is lit all the time: use mode = \"simultaneous\"",
        ),
        Motion::Mask { opening_m, .. } if beam.width_m < opening_m => out(
            "opening",
            quantity::OPENING.least.into(),
            format!("{} (the width of the line)", mm(beam.width_m)),
            "the line must cover the opening: state its width across the travel in [beam]",
        ),
        Motion::Radial { diameter_m, .. } => {
            let [upper_m, lower_m] = parts.map(|it| it.thickness_m);
            let least = 2.0 * upper_m + least_inner_m(lower_m, beam);
            if diameter_m < least * (1.0 - 1e-9) {
                return out(
                    "diameter",
                    format!("{} (both walls, and two spots around)", mm(least)),
                    quantity::DIAMETER.most.into(),
                    "state the outer diameter of the upper part; a solid shaft as lower part is as \
                     thick as its radius",
                );
            }
            Ok(())
        }
        _ => Ok(()),
    }
}
