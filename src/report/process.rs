//! The process modes in words: setpoints, axes, energies and input rows, each in the trade's terms.

use serde_json::{Map, Value, json};

use crate::heat;
use crate::report::answer::Fact;
use crate::report::figure::Tick;
use crate::report::number;
use crate::study::window::Window;
use crate::units::MM;
use crate::weld::joint::{Joint, Motion};
use crate::weld::setpoint::{Energy, Lever};

/// One W/mm² in SI.
const W_PER_MM2: f64 = 1e6;

/// One J/mm in SI.
const J_PER_MM: f64 = 1e3;

/// One J/mm² in SI.
const J_PER_MM2: f64 = 1e6;

/// How the power of a mode is read: in W, or over the seam in W/mm².
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerScale {
    /// Words for an axis.
    pub label: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// What one W is in that unit.
    pub per_w: f64,
}

impl PowerScale {
    fn of(lever: Lever, area_m2: f64) -> Self {
        if lever == Lever::Time {
            PowerScale {
                label: "Power density at the part",
                unit: "W/mm²",
                per_w: 1.0 / (area_m2 * W_PER_MM2),
            }
        } else {
            PowerScale {
                label: "Laser power at the part",
                unit: "W",
                per_w: 1.0,
            }
        }
    }

    /// The scale of a joint's mode.
    pub fn of_joint(joint: &Joint) -> Self {
        PowerScale::of(joint.motion.lever(), joint.lit_area_m2())
    }

    /// The scale of a window.
    pub fn of_window(window: &Window) -> Self {
        PowerScale::of(window.lever, window.lit_area_m2)
    }

    /// A power with its unit.
    pub fn say(&self, power_w: f64, digits: usize) -> String {
        format!(
            "{} {}",
            number::significant(power_w * self.per_w, digits),
            self.unit
        )
    }

    /// Two powers with their unit once.
    pub fn say_range(&self, low_w: f64, high_w: f64) -> String {
        format!("{} to {}", self.say(low_w, 3), self.say(high_w, 3))
    }

    /// Lowest and highest sound power with their latitude; `more` stands behind it.
    pub fn say_sound(&self, low_w: f64, high_w: f64, more: &str) -> String {
        format!(
            "{} (latitude {}{more})",
            self.say_range(low_w, high_w),
            number::significant(high_w / low_w, 3)
        )
    }
}

/// Words and unit of an axis over a lever.
pub fn heading(lever: Lever) -> (&'static str, &'static str) {
    match lever {
        Lever::Speed => ("Feed rate", "mm/s"),
        Lever::Passes => ("Passes", ""),
        Lever::Turns => ("Turns", ""),
        Lever::Time => ("Time of the shot", "s"),
    }
}

/// A setting in the unit it is shown in.
pub fn shown(lever: Lever, value: f64) -> f64 {
    match lever {
        Lever::Speed => value / MM,
        _ => value,
    }
}

/// The word for a lever in a sentence.
pub fn word(lever: Lever) -> &'static str {
    match lever {
        Lever::Speed => "speed",
        Lever::Passes => "passes",
        Lever::Turns => "turns",
        Lever::Time => "time",
    }
}

/// What is searched over: the power, and what is set beside it.
pub fn power_and(lever: Lever) -> String {
    format!("power and {}", word(lever))
}

/// What is searched over in two joints, each named where they are set by different things.
pub fn power_and_both([a, b]: [Lever; 2], letters: [&str; 2]) -> String {
    if a == b {
        return power_and(a);
    }
    format!(
        "power and {} ({}), power and {} ({})",
        word(a),
        letters[0],
        word(b),
        letters[1]
    )
}

/// The word for several settings of a lever.
pub fn plural(lever: Lever) -> &'static str {
    match lever {
        Lever::Speed => "speeds",
        Lever::Passes => "passes",
        Lever::Turns => "turns",
        Lever::Time => "times",
    }
}

/// A setting with its unit.
pub fn say(lever: Lever, value: f64) -> String {
    let counted = |one: &str, many: &str| {
        let word = if value == 1.0 { one } else { many };
        format!("{} {word}", number::short(value, 6))
    };
    match lever {
        Lever::Speed => number::speed(value, 3),
        Lever::Passes => counted("pass", "passes"),
        Lever::Turns => counted("turn", "turns"),
        Lever::Time => number::duration(value, 3),
    }
}

/// Power and what is set beside it, with what does not change.
pub fn setpoint(joint: &Joint) -> String {
    let power = PowerScale::of_joint(joint).say(joint.beam.power_w, 3);
    let lever = joint.motion.lever();
    let set = say(lever, joint.motion.setting());
    match joint.motion {
        Motion::QuasiSimultaneous { speed_m_per_s, .. } => {
            format!("{power}, {set} at {}", number::speed(speed_m_per_s, 3))
        }
        Motion::Radial { turn_s, .. } => {
            format!("{power}, {set} of {}", number::duration(turn_s, 3))
        }
        _ => format!("{power}, {set}"),
    }
}

/// Size of what is lit.
pub fn spot(joint: &Joint) -> String {
    let size = format!(
        "{} × {}",
        number::length(joint.beam.length_m, 2),
        number::length(joint.beam.width_m, 2)
    );
    match joint.motion {
        Motion::Simultaneous { .. } => format!("seam {size}"),
        Motion::Mask { opening_m, .. } => {
            format!("line {size}, opening {}", number::length(opening_m, 2))
        }
        _ => format!("spot {size}"),
    }
}

/// Energy of the setpoint.
pub fn energy(joint: &Joint) -> Fact {
    match joint.energy() {
        Energy::PerLength(it) if joint.motion.passes() == 1 => {
            ("line energy".into(), number::line_energy(it, 2))
        }
        Energy::PerLength(it) => (
            format!("line energy of all {}", word(joint.motion.lever())),
            number::line_energy(it, 2),
        ),
        Energy::PerArea(it) => (
            "energy over the seam".into(),
            format!("{} J/mm²", number::significant(it / J_PER_MM2, 2)),
        ),
    }
}

/// How long the light is at work, for modes in which it returns or stays.
pub fn time_facts(joint: &Joint) -> Vec<Fact> {
    let Some(period_s) = joint.motion.period_s() else {
        return match joint.motion {
            Motion::Simultaneous { .. } => vec![(
                "power over the whole seam".into(),
                number::power(joint.beam.power_w, 3),
            )],
            _ => Vec::new(),
        };
    };
    let mut facts = vec![(
        "process time, period".into(),
        format!(
            "{}, {}",
            number::duration(joint.process_s(), 3),
            number::duration(period_s, 3)
        ),
    )];
    if let Some((_, last)) = spread_passes(joint) {
        let resolved = joint.motion.passes() - last;
        facts.push((
            format!("{} followed one by one", word(joint.motion.lever())),
            format!("the first and the last {resolved}; those between with their mean"),
        ));
    }
    facts
}

/// The first and the last of the passes, counted from 1, that are not followed one by one.
fn spread_passes(joint: &Joint) -> Option<(u32, u32)> {
    let resolved = heat::Settings::standard().most_resolved_passes;
    let passes = joint.motion.passes();
    (resolved + 1 < passes).then(|| (2, passes - resolved))
}

/// What a figure over time shows of passes that are not followed one by one; none where all are.
pub fn spread_words(joint: &Joint) -> Option<String> {
    let (first, last) = spread_passes(joint)?;
    let (one, many) = match joint.motion.lever() {
        Lever::Turns => ("Turn", "Turns"),
        Lever::Speed | Lever::Passes | Lever::Time => ("Pass", "Passes"),
    };
    Some(if first == last {
        format!("{one} {first} is spread evenly over its period: it shows no peak.")
    } else {
        format!(
            "{many} {first} to {last} are spread evenly over their periods: they show as one smooth \
             rise without peaks."
        )
    })
}

/// Quantities of the mode as name, value, unit.
pub fn rows(joint: &Joint) -> Vec<(&'static str, f64, &'static str)> {
    let beam = &joint.beam;
    let mut rows = match joint.motion {
        Motion::Simultaneous { .. } => vec![
            ("Seam, length", beam.length_m / MM, "mm"),
            ("Seam, width", beam.width_m / MM, "mm"),
        ],
        Motion::Mask { .. } => vec![
            ("Line, in the direction of travel", beam.length_m / MM, "mm"),
            ("Line, across the travel", beam.width_m / MM, "mm"),
        ],
        _ => vec![
            ("Spot, along the seam", beam.length_m / MM, "mm"),
            ("Spot, across the seam", beam.width_m / MM, "mm"),
        ],
    };
    rows.push(("Power at the part", beam.power_w, "W"));
    match joint.motion {
        Motion::Contour { speed_m_per_s } => rows.push(("Feed rate", speed_m_per_s / MM, "mm/s")),
        Motion::Mask {
            speed_m_per_s,
            opening_m,
        } => {
            rows.push(("Feed rate of the line", speed_m_per_s / MM, "mm/s"));
            rows.push(("Opening of the mask", opening_m / MM, "mm"));
        }
        Motion::Simultaneous { time_s } => {
            let density = beam.power_w / joint.lit_area_m2() / W_PER_MM2;
            rows.push(("Power density at the part", density, "W/mm²"));
            rows.push(("Time of the shot", time_s, "s"));
        }
        Motion::QuasiSimultaneous {
            path_m,
            speed_m_per_s,
            passes,
        } => {
            rows.push(("Path of the spot", path_m / MM, "mm"));
            rows.push(("Speed of the spot", speed_m_per_s / MM, "mm/s"));
            rows.push(("Passes", f64::from(passes), ""));
        }
        Motion::Radial {
            diameter_m,
            turn_s,
            turns,
        } => {
            rows.push(("Outer diameter of the upper part", diameter_m / MM, "mm"));
            rows.push(("Time of one turn", turn_s, "s"));
            rows.push(("Turns", f64::from(turns), ""));
        }
    }
    rows
}

/// Quantities of the mode for JSON, SI.
pub fn json(joint: &Joint) -> Map<String, Value> {
    let mut object = Map::new();
    object.insert("mode".into(), json!(joint.motion.mode()));
    object.insert("speed_m_per_s".into(), json!(joint.speed_m_per_s()));
    let lever = joint.motion.lever();
    object.insert(lever.key().into(), json!(joint.motion.setting()));
    if let Some(period_s) = joint.motion.period_s() {
        object.insert("period_s".into(), json!(period_s));
        object.insert("process_s".into(), json!(joint.process_s()));
    }
    match joint.motion {
        Motion::Contour { .. } => {}
        Motion::QuasiSimultaneous { path_m, .. } => {
            object.insert("path_m".into(), json!(path_m));
        }
        Motion::Simultaneous { .. } => {
            let density = joint.beam.power_w / joint.lit_area_m2();
            object.insert("power_density_w_per_m2".into(), json!(density));
        }
        Motion::Mask { opening_m, .. } => {
            object.insert("opening_m".into(), json!(opening_m));
        }
        Motion::Radial { diameter_m, .. } => {
            object.insert("diameter_m".into(), json!(diameter_m));
        }
    }
    match joint.energy() {
        Energy::PerLength(it) => object.insert("energy_j_per_m".into(), json!(it)),
        Energy::PerArea(it) => object.insert("energy_j_per_m2".into(), json!(it)),
    };
    object
}

/// Curves of constant energy in a window: exponent, and round constants with their labels.
pub struct EnergyGuides {
    /// Exponent of the setting, in shown units.
    pub exponent: f64,
    /// Constants that cross the plot.
    pub constants: Vec<Tick>,
    /// What they are, for a caption.
    pub words: &'static str,
}

/// Curves of constant energy over shown settings and shown powers.
pub fn energy_guides(joint: &Joint, settings: (f64, f64), powers: (f64, f64)) -> EnergyGuides {
    let lever = joint.motion.lever();
    let exponent = if lever == Lever::Speed { 1.0 } else { -1.0 };
    // Energy at one unit of power and one unit of the setting.
    let unit_joint = Joint {
        beam: crate::optics::beam::Beam {
            power_w: 1.0 / PowerScale::of_joint(joint).per_w,
            ..joint.beam
        },
        motion: joint.motion.at_setting(match lever {
            Lever::Speed => MM,
            _ => 1.0,
        }),
        ..joint.clone()
    };
    let (per_unit, unit) = match unit_joint.energy() {
        Energy::PerLength(it) => (it / J_PER_MM, "J/mm"),
        Energy::PerArea(it) => (it / J_PER_MM2, "J/mm²"),
    };
    let at = |setting: f64, power: f64| per_unit * power / setting.powf(exponent);
    let corners = [
        at(settings.0, powers.0),
        at(settings.1, powers.0),
        at(settings.0, powers.1),
        at(settings.1, powers.1),
    ];
    let least = corners.iter().copied().fold(f64::INFINITY, f64::min);
    let most = corners.iter().copied().fold(0.0, f64::max);
    EnergyGuides {
        exponent,
        constants: round_between(least, most)
            .into_iter()
            .map(|energy| Tick {
                at: energy / per_unit,
                label: format!("{} {unit}", number::short(energy, 2)),
            })
            .collect(),
        words: match unit_joint.energy() {
            Energy::PerLength(_) => "line energy",
            Energy::PerArea(_) => "energy over the seam",
        },
    }
}

/// Round numbers well inside a range, seven at most where it is narrow enough.
fn round_between(least: f64, most: f64) -> Vec<f64> {
    let mut all = Vec::new();
    for decade in -9i32..9 {
        for digit in [1.0, 2.0, 5.0] {
            let at = digit * 10f64.powi(decade);
            if least * 1.3 < at && at < most / 1.3 {
                all.push(at);
            }
        }
    }
    // More than seven guides crowd the plot: keep whole decades and halves of them.
    if 7 < all.len() {
        all.retain(|it| {
            let digit = it / 10f64.powf(it.log10().floor());
            (digit - 2.0).abs() > 0.5
        });
    }
    all
}
