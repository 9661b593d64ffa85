//! Power against gap: where a joint welds when its parts do not touch, and the widest gap bridged.
//!
//! At every gap the lowest and the highest sound power are roots (`power_limits`). The widest gap at
//! which the machine has a sound power is closed in on; the recommended power is the one that welds
//! from contact on to as wide a gap as one power can, which is what a line needs whose gap nobody
//! measures.
//!
//! Holds for: what `heat::closure` holds for. At zero gap the parts are in contact and have no faces
//! that reflect, so the powers there stand apart from those of the narrowest gap.
//!
//! Checked in: `tests/study/gap_window.rs`.

use crate::error::Error;
use crate::study::power_limits::{Guess, PowerLimits, power_limits_near};
use crate::study::progress::Progress;
use crate::study::window::ranges;
use crate::weld::joint::{Interface, Joint, Machine};
use crate::weld::settings::Settings;

/// Narrowest and widest gap looked at first, m.
const LOOKED_AT_M: (f64, f64) = (1e-6, 2e-3);

/// Gaps looked at first.
const FIRST_GAPS: usize = 20;

/// Gaps in each round of closing in on the widest.
const CLOSER: usize = 8;

/// Rounds of closing in: the ratio of neighbours, 1.5 at first, falls to 1.0006.
const ROUNDS: usize = 3;

/// Gaps of the figure, evenly spaced up to [`BEYOND`] times the widest bridged.
const SHOWN: usize = 25;

/// See [`SHOWN`].
const BEYOND: f64 = 1.15;

/// Least highest over lowest power at a gap that counts as bridged: the power named, in the middle, keeps
/// clear of both boundaries by more than these are bracketed to.
const ROOM: f64 = 1.005;

/// The power limits at one gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GapLine {
    /// Gap, m; zero is contact.
    pub gap_m: f64,
    /// Lowest and highest sound power.
    pub limits: PowerLimits,
}

/// A gap and a power that bridges it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bridged {
    /// Gap, m.
    pub gap_m: f64,
    /// Power, W.
    pub power_w: f64,
}

/// Power against gap for one joint at its setting.
#[derive(Clone, Debug, PartialEq)]
pub struct GapWindow {
    /// Limits at each gap, ascending.
    pub lines: Vec<GapLine>,
    /// Least and greatest power looked at, W.
    pub power_w: (f64, f64),
    /// What the machine can deliver.
    pub machine: Option<Machine>,
    /// Widest gap with a sound power; none where no gap is bridged.
    pub widest: Option<Bridged>,
    /// Widest gap up to which one power welds from contact on.
    pub from_contact: Option<Bridged>,
}

/// The joint with another gap, closing by expansion where its cards allow, unless its own gap is
/// held open, by its file or by a stated conductance.
pub fn at_gap(joint: &Joint, gap_m: f64) -> Joint {
    let mut interface = Interface::of_gap(gap_m);
    if let (
        Interface::Gap {
            closes,
            film_factor,
            ..
        },
        Interface::Gap {
            closes: own,
            film_factor: factor,
            ..
        },
    ) = (&mut interface, joint.interface)
    {
        (*closes, *film_factor) = (own, factor);
    }
    Joint {
        interface,
        ..joint.clone()
    }
}

impl GapWindow {
    /// Narrowest gap looked at, m.
    pub fn narrowest_m(&self) -> f64 {
        let gaps = self.lines.iter().map(|it| it.gap_m);
        gaps.filter(|it| 0.0 < *it).fold(LOOKED_AT_M.1, f64::min)
    }
}

impl GapLine {
    /// Lowest and highest power that are sound and within the machine, W; none where there are none.
    pub fn usable_w(&self, machine: Option<&Machine>) -> Option<(f64, f64)> {
        let (least, most) = machine.map_or((0.0, f64::INFINITY), |it| it.power_w);
        let low = self.limits.low.power_w()?.max(least);
        let high = self.limits.high.power_w()?.min(most);
        (low <= high).then_some((low, high))
    }
}

/// Traces power against gap.
///
/// # Errors
/// The light or the heat of the joint cannot be followed.
pub fn gap_window(
    joint: &Joint,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<GapWindow, Error> {
    let (power_w, _) = ranges(joint);
    let machine = joint.machine.as_ref();
    let mut lines: Vec<GapLine> = Vec::new();
    let trace = |lines: &mut Vec<GapLine>, gaps: &[f64]| -> Result<(), Error> {
        let joints: Vec<Joint> = gaps.iter().map(|&it| at_gap(joint, it)).collect();
        let guesses: Vec<Guess> = gaps.iter().map(|&it| guess_at(lines, it)).collect();
        let found = power_limits_near(&joints, &guesses, power_w, settings, progress);
        for (&gap_m, limits) in gaps.iter().zip(found) {
            let limits = limits?;
            lines.push(GapLine { gap_m, limits });
        }
        lines.sort_by(|a, b| a.gap_m.total_cmp(&b.gap_m));
        Ok(())
    };
    let ratio = LOOKED_AT_M.1 / LOOKED_AT_M.0;
    let mut first = vec![0.0];
    first.extend(
        (0..FIRST_GAPS).map(|i| LOOKED_AT_M.0 * ratio.powf(i as f64 / (FIRST_GAPS - 1) as f64)),
    );
    trace(&mut lines, &first)?;
    let widest_open = |lines: &[GapLine]| {
        lines
            .iter()
            .rposition(|it| 0.0 < it.gap_m && it.usable_w(machine).is_some_and(has_room))
    };
    for _ in 0..ROUNDS {
        let Some((open, shut)) =
            widest_open(&lines).and_then(|it| Some((lines[it].gap_m, lines.get(it + 1)?.gap_m)))
        else {
            break;
        };
        let closer: Vec<f64> = (1..=CLOSER)
            .map(|i| open * (shut / open).powf(i as f64 / (CLOSER + 1) as f64))
            .collect();
        trace(&mut lines, &closer)?;
    }
    let widest = widest_open(&lines).map(|it| lines[it].gap_m);
    if let Some(widest_m) = widest {
        let shown_m = BEYOND * widest_m;
        let even: Vec<f64> = (1..=SHOWN)
            .map(|i| shown_m * i as f64 / SHOWN as f64)
            .filter(|it| lines.iter().all(|line| line.gap_m != *it))
            .collect();
        trace(&mut lines, &even)?;
        lines.retain(|it| it.gap_m <= shown_m);
    }
    Ok(GapWindow {
        widest: widest_open(&lines).and_then(|it| {
            let (low, high) = lines[it].usable_w(machine)?;
            Some(Bridged {
                gap_m: lines[it].gap_m,
                power_w: (low * high).sqrt(),
            })
        }),
        from_contact: from_contact(&lines, machine),
        lines,
        power_w,
        machine: joint.machine,
    })
}

/// The limits at a gap as the nearest line suggests them; `lines` ascend.
fn guess_at(lines: &[GapLine], gap_m: f64) -> Guess {
    let right = lines.partition_point(|it| it.gap_m <= gap_m);
    let near = |i: usize| lines.get(i).map(|it| it.limits.found_w());
    near(right)
        .or_else(|| near(right.checked_sub(1)?))
        .unwrap_or([None; 2])
}

fn has_room((low, high): (f64, f64)) -> bool {
    ROOM * low <= high
}

/// The widest gap to which the powers of all gaps from contact on have one in common.
fn from_contact(lines: &[GapLine], machine: Option<&Machine>) -> Option<Bridged> {
    let (mut least, mut most) = (0.0_f64, f64::INFINITY);
    let mut found = None;
    for line in lines {
        let Some((low, high)) = line.usable_w(machine) else {
            break;
        };
        (least, most) = (least.max(low), most.min(high));
        if !has_room((least, most)) {
            break;
        }
        found = Some(Bridged {
            gap_m: line.gap_m,
            power_w: (least * most).sqrt(),
        });
    }
    found.filter(|it| 0.0 < it.gap_m)
}
