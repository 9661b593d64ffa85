//! From judged criteria to one verdict and the criterion that governs it.

use std::fmt;

use crate::weld::criteria::{Criterion, Rule};

/// What becomes of the weld.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// The interface never reaches the flow temperature on both sides, or the parts never meet.
    Unfused,
    /// Fused, but too shallow, too short, or with too little collapse.
    Weak,
    /// Meets every criterion.
    Sound,
    /// Too much thermal damage.
    Degraded,
    /// The laser-side surface softens.
    Marked,
}

impl Verdict {
    /// The word used everywhere.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Unfused => "unfused",
            Verdict::Weak => "weak",
            Verdict::Sound => "sound",
            Verdict::Degraded => "degraded",
            Verdict::Marked => "marked",
        }
    }

    /// What a broken rule makes of the weld.
    pub fn of_broken(rule: Rule) -> Verdict {
        match rule {
            Rule::Fusion | Rule::GapClosure => Verdict::Unfused,
            Rule::UpperMeltDepth
            | Rule::LowerMeltDepth
            | Rule::TimeAboveFlow
            | Rule::Healing
            | Rule::Collapse => Verdict::Weak,
            Rule::Damage | Rule::Decomposition => Verdict::Degraded,
            Rule::SurfaceMarking => Verdict::Marked,
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The verdict and the criterion that decides it.
///
/// A weld that meets every rule is sound and its governing criterion has the smallest margin. A
/// broken rule of fusion or of closing a gap outranks all others, since without fusion there is no weld to judge; then
/// damage, marking, and weakness; among equals the smaller margin governs.
///
/// Returns none for an empty list.
pub fn decide(criteria: &[Criterion]) -> Option<(Verdict, Criterion)> {
    let rank = |it: &Criterion| {
        if 0.0 <= it.margin {
            return 4;
        }
        match Verdict::of_broken(it.rule) {
            Verdict::Unfused => 0,
            Verdict::Degraded => 1,
            Verdict::Marked => 2,
            _ => 3,
        }
    };
    let governing = criteria
        .iter()
        .min_by(|a, b| rank(a).cmp(&rank(b)).then(a.margin.total_cmp(&b.margin)))?;
    let verdict = if 0.0 <= governing.margin {
        Verdict::Sound
    } else {
        Verdict::of_broken(governing.rule)
    };
    Some((verdict, *governing))
}
