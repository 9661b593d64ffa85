//! A map over any two of wavelength, upper thickness, speed, power, absorber content and gap.
//!
//! Each cell is one joint. The field is the peak temperature of the interface, the least margin of all
//! criteria at the joint's power, or the latitude: highest over lowest sound power at the cell's speed.
//!
//! Checked in: `tests/study/survey.rs`.

use crate::error::{Error, WeldProblem};
use crate::material::Absorber;
use crate::study::gap_window::at_gap;
use crate::study::power_limits::{
    Guess, PowerLimits, Scope, along, power_limits, power_limits_near,
};
use crate::study::progress::{Progress, Silent};
use crate::study::window::{at_speed, ranges};
use crate::units::MM;
use crate::weld::joint::{Interface, Joint, Machine};
use crate::weld::setpoint::Lever;
use crate::weld::settings::Settings;
use crate::weld::simulate::simulate;
use crate::weld::verdict::Verdict;

/// What a map varies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Axis {
    /// Vacuum wavelength.
    Wavelength,
    /// Thickness of the upper part.
    UpperThickness,
    /// Feed rate, scan speed, or speed of the joint under the spot.
    Speed,
    /// Number of passes of quasi-simultaneous welding.
    Passes,
    /// Number of turns of radial welding.
    Turns,
    /// Time of a simultaneous shot.
    Time,
    /// Power over the area of the seam, of a simultaneous shot.
    PowerDensity,
    /// Laser power.
    Power,
    /// Mass fraction of carbon black in the lower part.
    AbsorberContent,
    /// Gap between the parts; zero is contact.
    Gap,
}

impl Axis {
    /// All axes with the words used for them.
    pub const WORDS: [(Axis, &'static str); 10] = [
        (Axis::Wavelength, "wavelength"),
        (Axis::UpperThickness, "thickness"),
        (Axis::Speed, "speed"),
        (Axis::Passes, "passes"),
        (Axis::Turns, "turns"),
        (Axis::Time, "time"),
        (Axis::PowerDensity, "power-density"),
        (Axis::Power, "power"),
        (Axis::AbsorberContent, "absorber"),
        (Axis::Gap, "gap"),
    ];

    /// The word used for the axis.
    pub fn word(self) -> &'static str {
        Axis::WORDS
            .iter()
            .find_map(|(axis, word)| (*axis == self).then_some(*word))
            .unwrap_or("axis")
    }

    /// The axis of what is set beside the power.
    pub fn of_lever(lever: Lever) -> Axis {
        match lever {
            Lever::Speed => Axis::Speed,
            Lever::Passes => Axis::Passes,
            Lever::Turns => Axis::Turns,
            Lever::Time => Axis::Time,
        }
    }

    /// True where values are spaced by equal ratios.
    pub fn is_logarithmic(self) -> bool {
        !matches!(self, Axis::Wavelength | Axis::UpperThickness | Axis::Gap)
    }

    /// True where only whole numbers can be set.
    pub fn is_whole(self) -> bool {
        matches!(self, Axis::Passes | Axis::Turns)
    }

    /// The joint with the axis at another value, SI.
    ///
    /// # Errors
    /// The absorber is not carbon black by content, so that its content means nothing; or the
    /// process mode has no such quantity.
    pub fn apply(self, joint: &Joint, value: f64) -> Result<Joint, Error> {
        let mut changed = joint.clone();
        match self {
            Axis::Wavelength => changed.wavelength_m = value,
            Axis::UpperThickness if joint.thickest_upper_m() * (1.0 + 1e-9) < value => {
                return Err(Error::new(WeldProblem::NoRoom {
                    thickness_mm: value / MM,
                    most_mm: joint.thickest_upper_m() / MM,
                })
                .cure("let the range of thickness end there"));
            }
            Axis::UpperThickness => changed.upper.thickness_m = value,
            Axis::Speed if joint.speed_m_per_s().is_some() => changed = at_speed(joint, value),
            Axis::PowerDensity if joint.motion.lever() == Lever::Time => {
                changed.beam.power_w = value * joint.lit_area_m2();
            }
            Axis::Passes | Axis::Turns | Axis::Time
                if self == Axis::of_lever(joint.motion.lever()) =>
            {
                changed = joint.at_setting(value);
            }
            Axis::Speed | Axis::Passes | Axis::Turns | Axis::Time | Axis::PowerDensity => {
                return Err(Error::new(WeldProblem::NotInMode {
                    what: self.word().into(),
                    mode: joint.motion.mode().into(),
                })
                .cure(format!(
                    "beside power its operator sets the {}",
                    Axis::of_lever(joint.motion.lever()).word()
                )));
            }
            Axis::Power => changed.beam.power_w = value,
            Axis::Gap => changed = at_gap(joint, value),
            Axis::AbsorberContent => match &mut changed.lower.absorber {
                Some(Absorber::CarbonBlack { content, .. }) => *content = value,
                _ => {
                    return Err(Error::new(WeldProblem::NotInMode {
                        what: "absorber content".into(),
                        mode: "a lower part without carbon black by content in".into(),
                    })
                    .cure("give the lower part `absorber = { kind = \"carbon black\", content = \"0.3 %\" }`"));
                }
            },
        }
        Ok(changed)
    }
}

/// What a map shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Field {
    /// Highest temperature of the interface, K.
    InterfacePeak,
    /// Least signed margin of all criteria at the joint's setpoint.
    Margin,
    /// Highest over lowest sound power.
    Latitude,
}

impl Field {
    /// All fields with the words used for them.
    pub const WORDS: [(Field, &'static str); 3] = [
        (Field::InterfacePeak, "peak"),
        (Field::Margin, "margin"),
        (Field::Latitude, "latitude"),
    ];

    /// The word used for the field.
    pub fn word(self) -> &'static str {
        Field::WORDS
            .iter()
            .find_map(|(field, word)| (*field == self).then_some(*word))
            .unwrap_or("field")
    }
}

/// One cell of a map.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// The field, K or dimensionless; none where a latitude has no lowest or no highest power.
    pub value: Option<f64>,
    /// Verdict at the joint's power, for a field at one setpoint.
    pub verdict: Option<Verdict>,
    /// Sound powers, for a latitude.
    pub limits: Option<PowerLimits>,
}

/// A map.
#[derive(Clone, Debug)]
pub struct Survey {
    /// What varies along x.
    pub x: Axis,
    /// Values along x, SI, ascending.
    pub x_values: Vec<f64>,
    /// What varies along y.
    pub y: Axis,
    /// Values along y, SI, ascending.
    pub y_values: Vec<f64>,
    /// What is shown.
    pub field: Field,
    /// `y_values.len()` rows of `x_values.len()` cells; a cell that has no answer says why.
    pub cells: Vec<Vec<Result<Cell, Error>>>,
    /// Powers looked at for a latitude, W.
    pub power_w: (f64, f64),
    /// What the machine can deliver.
    pub machine: Option<Machine>,
}

/// The question of a map.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Axis and its values along x, SI, ascending.
    pub x: (Axis, Vec<f64>),
    /// Axis and its values along y, SI, ascending.
    pub y: (Axis, Vec<f64>),
    /// What is shown.
    pub field: Field,
}

/// Makes the map of a joint.
///
/// # Errors
/// The axes are the same, or power is an axis of a latitude, which is itself a ratio of powers; or
/// the absorber content is asked for and there is none. A single cell without an answer (a
/// spectrum that does not reach) is not an error of the map.
pub fn survey(
    joint: &Joint,
    plan: &Plan,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Survey, Error> {
    let (x, y) = (plan.x.0, plan.y.0);
    let is_power = |it: Axis| matches!(it, Axis::Power | Axis::PowerDensity);
    let power_is_axis = is_power(x) || is_power(y);
    if x == y || (is_power(x) && is_power(y)) || (plan.field == Field::Latitude && power_is_axis) {
        return Err(Error::new(WeldProblem::AxesDoNotFit {
            field: plan.field.word().into(),
            first: x.word().into(),
            second: y.word().into(),
        })
        .cure(if x == y || plan.field != Field::Latitude {
            "choose two different axes"
        } else {
            "latitude is a ratio of powers: choose `peak` or `margin`, or another axis than power"
        }));
    }
    let mut joints = Vec::with_capacity(plan.x.1.len() * plan.y.1.len());
    for &at_y in &plan.y.1 {
        let row = y.apply(joint, at_y)?;
        for &at_x in &plan.x.1 {
            joints.push(x.apply(&row, at_x)?);
        }
    }
    let (power_w, _) = ranges(joint);
    let cells = match plan.field {
        Field::Latitude => latitudes(&joints, plan, Scope::of_map(power_w), settings, progress)
            .into_iter()
            .map(|limits| {
                limits.map(|limits| Cell {
                    value: limits.latitude(),
                    verdict: None,
                    limits: Some(limits),
                })
            })
            .collect(),
        Field::InterfacePeak | Field::Margin => {
            at_setpoint(&joints, plan.field, settings, progress)
        }
    };
    let mut rows = Vec::with_capacity(plan.y.1.len());
    let mut cells: Vec<Result<Cell, Error>> = cells;
    while !cells.is_empty() {
        let rest = cells.split_off(plan.x.1.len().min(cells.len()));
        rows.push(std::mem::replace(&mut cells, rest));
    }
    Ok(Survey {
        x,
        x_values: plan.x.1.clone(),
        y,
        y_values: plan.y.1.clone(),
        field: plan.field,
        cells: rows,
        power_w,
        machine: joint.machine,
    })
}

/// Every how many columns and rows a map is solved without a guess.
const STRIDE: usize = 4;

/// Power limits of all cells, row by row: first of every fourth column and row, then of the cells
/// between, from what their neighbours suggest.
fn latitudes(
    joints: &[Joint],
    plan: &Plan,
    scope: Scope,
    settings: &Settings,
    progress: &dyn Progress,
) -> Vec<Result<PowerLimits, Error>> {
    let (columns, rows) = (plan.x.1.len(), plan.y.1.len());
    let knots = |count: usize| -> Vec<usize> {
        let mut at: Vec<usize> = (0..count).step_by(STRIDE).collect();
        if at.last().is_some_and(|it| it + 1 < count) {
            at.push(count - 1);
        }
        at
    };
    let (at_x, at_y) = (knots(columns), knots(rows));
    let first: Vec<usize> = at_y
        .iter()
        .flat_map(|row| at_x.iter().map(move |column| row * columns + column))
        .collect();
    let mut limits: Vec<Option<Result<PowerLimits, Error>>> = vec![None; joints.len()];
    let posed: Vec<Joint> = first.iter().map(|&i| joints[i].clone()).collect();
    for (&i, found) in first
        .iter()
        .zip(power_limits(&posed, scope, settings, &Silent))
    {
        limits[i] = Some(found);
    }
    progress.at(first.len(), joints.len());
    let rest: Vec<usize> = (0..joints.len()).filter(|&i| limits[i].is_none()).collect();
    let known = |column: usize, row: usize| -> Guess {
        match &limits[row * columns + column] {
            Some(Ok(it)) => it.found_w(),
            _ => [None; 2],
        }
    };
    let guesses: Vec<Guess> = rest
        .iter()
        .map(|&i| {
            let (x, along_x) = between(&at_x, i % columns);
            let (y, along_y) = between(&at_y, i / columns);
            let row = |row: usize| along(known(x.0, row), known(x.1, row), along_x);
            along(row(y.0), row(y.1), along_y)
        })
        .collect();
    let posed: Vec<Joint> = rest.iter().map(|&i| joints[i].clone()).collect();
    let found = power_limits_near(&posed, &guesses, scope, settings, progress);
    for (&i, found) in rest.iter().zip(found) {
        limits[i] = Some(found);
    }
    limits
        .into_iter()
        .map(|it| it.unwrap_or_else(|| Err(Error::new(WeldProblem::NoPowers))))
        .collect()
}

/// The knots on either side of an index, and how far between them it lies, 0 to 1.
fn between(knots: &[usize], at: usize) -> ((usize, usize), f64) {
    let right = knots
        .partition_point(|&it| it <= at)
        .clamp(1.min(knots.len() - 1), knots.len() - 1);
    let (a, b) = (knots[right.saturating_sub(1)], knots[right]);
    let share = if a < b {
        (at - a) as f64 / (b - a) as f64
    } else {
        0.0
    };
    ((a, b), share)
}

/// Cases simulated between two tellings of progress.
const CHUNK: usize = 512;

fn at_setpoint(
    joints: &[Joint],
    field: Field,
    settings: &Settings,
    progress: &dyn Progress,
) -> Vec<Result<Cell, Error>> {
    let mut cells = Vec::with_capacity(joints.len());
    for chunk in joints.chunks(CHUNK) {
        progress.at(cells.len(), joints.len());
        cells.extend(simulate(chunk, settings).into_iter().map(|outcome| {
            outcome.map(|outcome| Cell {
                value: Some(match field {
                    Field::InterfacePeak => outcome
                        .history
                        .interface_peak_upper_k
                        .min(outcome.history.interface_peak_lower_k),
                    _ => outcome.least_margin(),
                }),
                verdict: Some(outcome.verdict),
                limits: None,
            })
        }));
    }
    progress.at(joints.len(), joints.len());
    cells
}

/// Range of an axis, SI, that holds the joint and what is usual around it: the wavelengths all its
/// spectra reach, thicknesses from a third to three times its own, the machine's settings and powers,
/// contents from a tenth to ten times its own.
pub fn usual_range(joint: &Joint, axis: Axis) -> (f64, f64) {
    let (powers, settings) = ranges(joint);
    match axis {
        Axis::Wavelength => usual_wavelengths_m(joint),
        Axis::UpperThickness => {
            let own = joint.upper.thickness_m;
            (own / 3.0, own * 3.0)
        }
        Axis::Speed if joint.motion.lever() == Lever::Speed => settings,
        Axis::Speed => {
            let own = joint.speed_m_per_s().unwrap_or(1.0);
            (own / 4.0, own * 4.0)
        }
        Axis::Passes | Axis::Turns | Axis::Time => settings,
        Axis::PowerDensity => {
            let (least, most) = usual_range(joint, Axis::Power);
            (least / joint.lit_area_m2(), most / joint.lit_area_m2())
        }
        Axis::Power => match joint.machine {
            Some(machine) => (
                machine.power_w.0.max(machine.power_w.1 / 100.0),
                machine.power_w.1,
            ),
            None => powers,
        },
        Axis::AbsorberContent => match &joint.lower.absorber {
            Some(Absorber::CarbonBlack { content, .. }) if 0.0 < *content => {
                (content / 10.0, (content * 10.0).min(1.0))
            }
            _ => (1e-4, 1e-2),
        },
        Axis::Gap => match joint.interface {
            Interface::Gap { gap_m, .. } => (0.0, 2.0 * gap_m),
            Interface::Contact { .. } => (0.0, 100e-6),
        },
    }
}

/// Wavelengths welding lasers are built for, m.
const LASER_WAVELENGTHS_M: (f64, f64) = (780e-9, 2000e-9);

/// Widest range of laser wavelengths that every spectrum of the joint reaches.
fn usual_wavelengths_m(joint: &Joint) -> (f64, f64) {
    let clamp = joint.clamp.as_ref().map(|it| &it.material.optical);
    let absorber = match &joint.lower.absorber {
        Some(Absorber::Added(spectrum)) => spectrum.value.range_m(),
        _ => None,
    };
    let (from, to) = [joint.upper.optical.as_ref(), joint.lower.optical.as_ref()]
        .into_iter()
        .chain(clamp)
        .filter_map(|it| it.range_m())
        .chain(absorber)
        .fold(LASER_WAVELENGTHS_M, |(from, to), it| {
            (from.max(it.0), to.min(it.1))
        });
    if from < to {
        (from, to)
    } else {
        (joint.wavelength_m * 0.98, joint.wavelength_m * 1.02)
    }
}

/// `count` values from `from` to `to`, evenly spaced, or by equal ratios where `logarithmic`.
pub fn spaced(from: f64, to: f64, count: usize, logarithmic: bool) -> Vec<f64> {
    if count < 2 {
        return vec![from];
    }
    (0..count)
        .map(|i| {
            let share = i as f64 / (count - 1) as f64;
            if logarithmic {
                from * (to / from).powf(share)
            } else {
                from + share * (to - from)
            }
        })
        .collect()
}
