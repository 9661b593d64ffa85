//! From values to places along an axis, and the round numbers written beside it.
//!
//! ```text
//! linear   share = (v − first) / (last − first)
//! log      share = ln(v / first) / ln(last / first)
//! place    p = p_first + share (p_last − p_first)
//! ```
//!
//! The coordinates of plotters say the same in whole units, rounded down, and overflow far outside
//! the axis. Curves are clipped and labels kept clear of them in fractions of a unit, so places are
//! computed here; what lies on the axis and needs no clipping, plotters places itself.
//!
//! Checked in: `tests/report/axis.rs`, among others against plotters.

use std::ops::Range;

use plotters::coord::combinators::IntoLogRange;
use plotters::coord::combinators::LogCoord;
use plotters::coord::ranged1d::KeyPointHint;
use plotters::coord::ranged1d::NoDefaultFormatting;
use plotters::coord::ranged1d::Ranged;
use plotters::coord::types::RangedCoordf64;

use crate::report::figure::Axis;
use crate::report::figure::Scale;
use crate::report::figure::Tick;
use crate::report::number::short;
use crate::report::number::superscript;

/// Places this far outside the plot, px, are as good as infinity; keeps coordinates finite.
const FAR_PX: f64 = 1e5;

/// Numbers that an axis has at least.
const LEAST_TICKS: usize = 2;

/// How many more are asked for until it has.
const MORE_TICKS: usize = 4;

/// An axis with its range settled and its place on the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    scale: Scale,
    range: [f64; 2],
    place_px: [f64; 2],
}

impl Placed {
    /// Puts `axis` between two places; `data` are the values it must show when it has no range.
    pub fn new(axis: &Axis, data: impl Iterator<Item = f64>, place_px: [f64; 2]) -> Self {
        Placed {
            scale: axis.scale,
            range: settled_range(axis, data),
            place_px,
        }
    }

    /// First and last value.
    pub fn range(&self) -> [f64; 2] {
        self.range
    }

    /// Place of `value`, px; `None` if it has none on this axis.
    pub fn place(&self, value: f64) -> Option<f64> {
        let [first, last] = self.range;
        let share = match self.scale {
            // Quarters keep the difference of huge values finite and are exact otherwise.
            Scale::Linear => (value / 4.0 - first / 4.0) / (last / 4.0 - first / 4.0),
            Scale::Log if value <= 0.0 => return None,
            Scale::Log => (value.ln() - first.ln()) / (last.ln() - first.ln()),
        };
        let [from, to] = self.place_px;
        let place = from + share * (to - from);
        place.is_finite().then(|| place.clamp(-FAR_PX, FAR_PX))
    }

    /// Place of `value` for the edge of an area: what lies below a logarithmic axis is far below.
    pub fn edge(&self, value: f64) -> Option<f64> {
        if self.scale == Scale::Log && value <= 0.0 {
            let [from, to] = self.place_px;
            let downwards = (from - to) * (self.range[1] - self.range[0]).signum();
            return Some(from + 2.0 * downwards);
        }
        self.place(value)
    }

    /// Value at a place.
    pub fn value(&self, place_px: f64) -> f64 {
        let [from, to] = self.place_px;
        let share = (place_px - from) / (to - from);
        let [first, last] = self.range;
        match self.scale {
            Scale::Linear => first * (1.0 - share) + last * share,
            Scale::Log => (first.ln() * (1.0 - share) + last.ln() * share).exp(),
        }
    }

    /// Whether `value` lies on the axis, ends included.
    pub fn holds(&self, value: f64) -> bool {
        let [first, last] = self.range;
        first.min(last) <= value && value <= first.max(last)
    }

    /// Ticks with labels, and the values of the finer grid.
    pub fn ticks(&self, axis: &Axis, about: usize) -> (Vec<Tick>, Vec<f64>) {
        let (mut major, mut minor) = self.round_ticks(about);
        if let Some(own) = &axis.ticks {
            major = own.clone();
            minor = Vec::new();
        }
        major.retain(|it| self.holds(it.at));
        minor.retain(|it| self.holds(*it));
        (major, minor)
    }

    fn round_ticks(&self, about: usize) -> (Vec<Tick>, Vec<f64>) {
        let range = sorted(self.range);
        let ticks = |about: usize| match self.scale {
            Scale::Linear => linear_ticks(range, about),
            Scale::Log => log_ticks(range, about),
        };
        let held = |it: &(Vec<Tick>, Vec<f64>)| {
            LEAST_TICKS <= it.0.iter().filter(|it| self.holds(it.at)).count()
        };
        // Where round numbers leave one alone, which shows no scale, closer ones are written.
        (about..=about + MORE_TICKS)
            .map(ticks)
            .find(held)
            .unwrap_or_else(|| ticks(about))
    }
}

/// An axis of plotters, for values it [`holds`](Placed::holds).
impl Ranged for Placed {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        let [first, last] = self.range;
        match self.scale {
            Scale::Linear => RangedCoordf64::from(first..last).map(value, limit),
            Scale::Log => LogCoord::from((first..last).log_scale()).map(value, limit),
        }
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        let (major, minor) = self.round_ticks(hint.max_num_points().max(1));
        if hint.weight().allow_light_points() {
            minor
        } else {
            major.iter().map(|it| it.at).collect()
        }
    }

    fn range(&self) -> Range<f64> {
        let [first, last] = self.range;
        first..last
    }
}

/// Round values from `low` to `high`, about `about` of them.
pub fn round_values(low: f64, high: f64, about: usize) -> Vec<f64> {
    let step = round_step(low, high, about);
    if !(step.is_finite() && 0.0 < step) {
        return Vec::new();
    }
    let first = (low / step - 1e-9).ceil();
    let last = (high / step + 1e-9).floor();
    let count = (last - first).clamp(-1.0, 200.0) as i64;
    (0..=count)
        .map(|i| {
            // The detour by text makes 3 × 0.1 the number one would type, 0.3.
            let value = (first + i as f64) * step;
            format!("{value:.12e}").parse().unwrap_or(value) + 0.0
        })
        .collect()
}

fn settled_range(axis: &Axis, data: impl Iterator<Item = f64>) -> [f64; 2] {
    let usable = |it: &f64| match axis.scale {
        Scale::Linear => it.is_finite(),
        // Leaves room to halve and double.
        Scale::Log => 1e-300 < *it && *it < 1e300,
    };
    if let Some([first, last]) = axis.range
        && usable(&first)
        && usable(&last)
    {
        return parted(axis.scale, [first, last]);
    }
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in data.filter(usable) {
        low = low.min(value);
        high = high.max(value);
    }
    if high < low {
        return match axis.scale {
            Scale::Linear => [0.0, 1.0],
            Scale::Log => [1.0, 10.0],
        };
    }
    let [low, high] = parted(axis.scale, [low, high]);
    match axis.scale {
        Scale::Linear => {
            let margin = 0.04 * (high / 2.0 - low / 2.0) * 2.0;
            let widened = [low - margin, high + margin];
            // A quantity that is never negative keeps its axis at zero.
            let floor = if 0.0 <= low && widened[0] < 0.0 {
                0.0
            } else {
                widened[0]
            };
            if floor.is_finite() && widened[1].is_finite() {
                [floor, widened[1]]
            } else {
                [low, high]
            }
        }
        Scale::Log => {
            let margin = (high / low).powf(0.04).min(1e3);
            [(low / margin).max(1e-300), (high * margin).min(1e300)]
        }
    }
}

/// The range itself, or one around it when it has no width worth the name.
fn parted(scale: Scale, [first, last]: [f64; 2]) -> [f64; 2] {
    let size = first.abs().max(last.abs());
    match scale {
        Scale::Linear if (last / 2.0 - first / 2.0).abs() <= 1e-12 * size || first == last => {
            let half = if size == 0.0 { 1.0 } else { 0.1 * size };
            [first - half, first + half].map(|it| it.clamp(f64::MIN, f64::MAX))
        }
        Scale::Log if (last / first).ln().abs() <= 1e-9 => [first / 2.0, first * 2.0],
        _ => [first, last],
    }
}

fn sorted([first, last]: [f64; 2]) -> [f64; 2] {
    [first.min(last), first.max(last)]
}

/// 1, 2 or 5 times a power of ten that gives about `about` steps.
fn round_step(low: f64, high: f64, about: usize) -> f64 {
    let rough = (high / about as f64) - (low / about as f64);
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|it| rough <= it * power * 1.000_001)
        .unwrap_or(10.0);
    step * power
}

fn linear_ticks([low, high]: [f64; 2], about: usize) -> (Vec<Tick>, Vec<f64>) {
    let values = round_values(low, high, about);
    let step = round_step(low, high, about);
    let largest = low.abs().max(high.abs());
    let decimals = (-(step.log10() + 1e-9).floor()).clamp(0.0, 12.0) as usize;
    let plain = largest < 1e6 && decimals <= 4;
    let digits = ((largest / step).log10().max(0.0) as usize + 2).min(15);
    let major = values
        .iter()
        .map(|&at| Tick {
            at,
            label: if plain {
                format!("{at:.decimals$}").replace('-', "−")
            } else {
                short(at, digits)
            },
        })
        .collect();
    let parts = if (step / 10f64.powf((step.log10() + 1e-9).floor())).round() == 2.0 {
        4
    } else {
        5
    };
    (major, round_values(low, high, about * parts))
}

fn log_ticks([low, high]: [f64; 2], about: usize) -> (Vec<Tick>, Vec<f64>) {
    let decades = (high / low).log10();
    if decades < 0.7 {
        let (major, minor) = linear_ticks([low, high], about);
        return (major, minor);
    }
    let first = low.log10().floor() as i32;
    let last = high.log10().ceil() as i32;
    let every = ((f64::from(last - first) / about as f64).ceil() as i32).max(1);
    let figures: &[u32] = if decades < 2.6 {
        &[1, 2, 5]
    } else if decades < 4.1 {
        &[1, 3]
    } else {
        &[1]
    };
    let mut major = Vec::new();
    let mut minor = Vec::new();
    for power in first..=last {
        for figure in 1..10u32 {
            let at = format!("{figure}e{power}").parse().unwrap_or(f64::NAN);
            if figures.contains(&figure) && power.rem_euclid(every) == 0 {
                let label = if (-4..6).contains(&power) {
                    short(at, 2)
                } else if figure == 1 {
                    format!("10{}", superscript(power))
                } else {
                    format!("{figure} × 10{}", superscript(power))
                };
                major.push(Tick { at, label });
            } else if decades < 12.0 {
                minor.push(at);
            }
        }
    }
    (major, minor)
}
