//! The largest tolerance box inside a window, and the settings at which the machine can weld at all.
//!
//! Both are found on the traced boundary, which is taken as straight between its points on logarithmic
//! scales: in power from the lowest to the highest sound power and within the machine's, in the setting
//! from the first to the last at which that leaves anything. Checked in: `tests/study/window.rs`.

use crate::study::window::SettingLine;
use crate::weld::joint::Machine;
use crate::weld::setpoint::Lever;

/// A setpoint and how much may drift around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setpoint {
    /// Power, W.
    pub power_w: f64,
    /// What is set beside the power, SI.
    pub setting: f64,
    /// Ratio by which power and setting may both drift, either way, above one.
    pub ratio: f64,
}

impl Setpoint {
    /// Share by which power and setting may both fall, 0 to 1: the smaller side of the box.
    pub fn tolerance(&self) -> f64 {
        1.0 - 1.0 / self.ratio
    }
}

/// One boundary point.
#[derive(Clone, Copy)]
pub(super) struct Node {
    /// What is set beside the power, SI.
    pub(super) setting: f64,
    /// Its logarithm, and those of the lowest and highest power.
    x: f64,
    low: f64,
    high: f64,
}

impl Node {
    /// Of a line that is open.
    fn of(line: &SettingLine) -> Option<Self> {
        let (low, high) = (line.limits.low.power_w()?, line.limits.high.power_w()?);
        (low <= high).then(|| Node {
            setting: line.setting,
            x: line.setting.ln(),
            low: low.ln(),
            high: high.ln(),
        })
    }

    /// True where some sound power lies between two.
    fn is_within(&self, reach: (f64, f64)) -> bool {
        self.low <= reach.1 && reach.0 <= self.high
    }

    /// With no power outside.
    fn cut(&self, reach: (f64, f64)) -> Self {
        Node {
            low: self.low.max(reach.0),
            high: self.high.min(reach.1),
            ..*self
        }
    }

    /// The last setting on the way to a node outside at which some sound power lies inside, by
    /// interpolation; none where settings are whole numbers and there is none on the way.
    fn towards(&self, outside: &Node, reach: (f64, f64), lever: Lever) -> Option<Self> {
        let share = if reach.1 < outside.low {
            (reach.1 - self.low) / (outside.low - self.low)
        } else {
            (reach.0 - self.high) / (outside.high - self.high)
        };
        let step = outside.x - self.x;
        let mut setting = (self.x + share * step).exp();
        if lever.is_whole() {
            setting = if 0.0 < step {
                setting.floor()
            } else {
                setting.ceil()
            };
        }
        let share = (setting.ln() - self.x) / step;
        let at = Node {
            setting,
            x: setting.ln(),
            low: self.low + share * (outside.low - self.low),
            high: self.high + share * (outside.high - self.high),
        };
        (0.0 < share).then(|| at.cut(reach))
    }
}

/// Largest box of equal ratios in power and setting that fits between the boundaries.
pub(super) fn largest_box(
    lever: Lever,
    lines: &[SettingLine],
    machine: Option<&Machine>,
) -> Option<Setpoint> {
    let mut best: Option<(f64, f64, f64)> = None;
    for run in open_runs(lever, lines, machine) {
        let (first, last) = (run.first()?.x, run.last()?.x);
        for centre in centres(lever, first, last) {
            let reach = (centre - first).min(last - centre);
            let room = |half: f64| {
                let (low, high) = extremes(&run, centre - half, centre + half);
                high - low - 2.0 * half
            };
            if room(0.0) < 0.0 {
                continue;
            }
            let (mut fits, mut fails) = (0.0, reach);
            if 0.0 <= room(reach) {
                fits = reach;
            } else {
                for _ in 0..40 {
                    let half = 0.5 * (fits + fails);
                    if 0.0 <= room(half) {
                        fits = half;
                    } else {
                        fails = half;
                    }
                }
            }
            if best.is_none_or(|it| it.0 < fits) {
                let (low, high) = extremes(&run, centre - fits, centre + fits);
                best = Some((fits, centre, 0.5 * (low + high)));
            }
        }
    }
    best.map(|(half, setting, power)| Setpoint {
        power_w: power.exp(),
        setting: lever.rounded(setting.exp()),
        ratio: half.exp(),
    })
}

/// Logarithms of the settings a box may be centred on.
fn centres(lever: Lever, first: f64, last: f64) -> Vec<f64> {
    const CENTRES: usize = 241;
    let mut all: Vec<f64> = (0..CENTRES)
        .map(|i| first + (last - first) * i as f64 / (CENTRES - 1) as f64)
        .map(|it| {
            if lever.is_whole() {
                lever.rounded(it.exp()).ln().clamp(first, last)
            } else {
                it
            }
        })
        .collect();
    all.dedup();
    all
}

/// Runs of neighbouring settings at which the machine has a sound power; a run goes on to where the
/// boundary leaves the machine's powers.
pub(super) fn open_runs(
    lever: Lever,
    lines: &[SettingLine],
    machine: Option<&Machine>,
) -> Vec<Vec<Node>> {
    let reach = machine.map_or((f64::NEG_INFINITY, f64::INFINITY), |it| {
        (it.power_w.0.ln(), it.power_w.1.ln())
    });
    let nodes: Vec<Option<Node>> = lines.iter().map(Node::of).collect();
    let mut runs: Vec<Vec<Node>> = vec![Vec::new()];
    let mut before: Option<Node> = None;
    for node in nodes {
        let leaves =
            |inside: Option<Node>, outside: Option<Node>| inside?.towards(&outside?, reach, lever);
        let within = node.filter(|it| it.is_within(reach));
        let was_within = before.filter(|it| it.is_within(reach));
        if let Some(run) = runs.last_mut() {
            match (was_within, within) {
                (Some(_), None) => run.extend(leaves(was_within, node)),
                (None, Some(_)) => run.extend(leaves(within, before)),
                _ => {}
            }
            run.extend(within.map(|it| it.cut(reach)));
        }
        if within.is_none() {
            runs.push(Vec::new());
        }
        before = node;
    }
    runs.retain(|run| !run.is_empty());
    runs
}

/// Highest lower boundary and lowest upper boundary between two settings.
fn extremes(run: &[Node], from: f64, to: f64) -> (f64, f64) {
    let at = |x: f64| {
        let i = run
            .partition_point(|node| node.x < x)
            .clamp(1, run.len().max(2) - 1);
        let (a, b) = (run[i - 1], run[i.min(run.len() - 1)]);
        let share = if a.x < b.x {
            ((x - a.x) / (b.x - a.x)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (
            a.low + share * (b.low - a.low),
            a.high + share * (b.high - a.high),
        )
    };
    let ends = [at(from), at(to)];
    let inside = run
        .iter()
        .filter(|node| from < node.x && node.x < to)
        .map(|node| (node.low, node.high));
    ends.into_iter()
        .chain(inside)
        .fold((f64::NEG_INFINITY, f64::INFINITY), |(low, high), it| {
            (low.max(it.0), high.min(it.1))
        })
}
