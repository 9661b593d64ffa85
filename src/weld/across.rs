//! Which criteria a cross-section of the weld meets: what the verdict, which rests on depth alone, does
//! not see of the heat that leaves sideways.
//!
//! Healing, time above flow and collapse are not followed across the seam.
//!
//! Checked in: `tests/weld/across.rs`.

use crate::heat::cross_section::CrossSection;
use crate::weld::criteria::{Criterion, Rule, damage_share};
use crate::weld::joint::Joint;
use crate::weld::simulate::Outcome;
use crate::weld::verdict::Verdict;

/// The criteria of a weld in its cross-section, with the values there.
#[derive(Clone, Debug, PartialEq)]
pub struct Across {
    /// Those that are not met.
    pub missed: Vec<Criterion>,
    /// The one that decides against the weld in depth alone, where it is met across the seam.
    pub relieved: Option<Criterion>,
    /// Those that are not followed, or not decided when the run ended.
    pub open: Vec<Rule>,
    /// True where the parts are fused nowhere.
    pub no_seam: bool,
}

impl Across {
    /// Judges a cross-section by the criteria of its weld.
    pub fn new(joint: &Joint, outcome: &Outcome, cut: &CrossSection) -> Self {
        let mut across = Across {
            missed: Vec::new(),
            relieved: None,
            open: Vec::new(),
            no_seam: cut.seam_width_m <= 0.0,
        };
        for it in &outcome.criteria {
            let Some((value, met)) = judged(joint, it, cut) else {
                across.open.push(it.rule);
                continue;
            };
            let here = Criterion { value, ..*it };
            if !met {
                across.missed.push(here);
            } else if outcome.verdict != Verdict::Sound && it.rule == outcome.governing.rule {
                across.relieved = Some(here);
            }
        }
        across
    }

    /// True where nothing that is followed speaks against the weld.
    pub fn is_sound(&self) -> bool {
        self.missed.is_empty() && !self.no_seam
    }
}

/// What a criterion comes to in the cross-section and whether it is met; none where that is not known.
fn judged(joint: &Joint, it: &Criterion, cut: &CrossSection) -> Option<(f64, bool)> {
    let compared = |value: f64| {
        let met = if it.rule.wants_heat() {
            it.limit <= value
        } else {
            value <= it.limit
        };
        Some((value, met))
    };
    match it.rule {
        Rule::Fusion => {
            let parts = [&joint.upper.material, &joint.lower.material];
            let flow_k = parts.map(|it| it.thermal.flow_temperature_k.value);
            let over = |side: usize| cut.interface_peak_k[side] - flow_k[side];
            let cooler = usize::from(over(1) < over(0));
            Some((cut.interface_peak_k[cooler], 0.0 <= over(cooler)))
        }
        Rule::GapClosure => compared(cut.bridge?.swelling_m?),
        Rule::UpperMeltDepth => compared(cut.melt_depth_m[0]),
        Rule::LowerMeltDepth => compared(cut.melt_depth_m[1]),
        Rule::Damage => compared(damage_share(cut.damage_integral?)),
        Rule::Decomposition => compared(cut.body_peak_k),
        Rule::SurfaceMarking => {
            // After the end of the run it gets no hotter than the hottest point then.
            let most_k = cut.laser_side_peak_k.max(cut.final_above_k);
            if it.limit < cut.laser_side_peak_k {
                Some((cut.laser_side_peak_k, false))
            } else {
                (most_k <= it.limit).then_some((most_k, true))
            }
        }
        Rule::Healing | Rule::TimeAboveFlow | Rule::Collapse => None,
    }
}
