//! Each criterion a weld is judged by: quantity, limit, source, and one common measure of margin.
//!
//! Every margin is a share of a temperature rise, so that margins of different criteria compare
//! and each is close to the share by which the power may change:
//!
//! ```text
//! must be hot enough    m = (T − T_limit) / (T_limit − T_ambient)     −1 at no power, 0 at the limit
//! must stay cool        m = (T_limit − T) / (T_limit − T_ambient)      1 at no power, 0 at the limit
//! ```
//!
//! A melt depth is a temperature at a depth: T is the highest temperature at the depth asked for.
//! For damage, T_limit is the temperature at which the same history would just reach the limit:
//! 1/T_limit = 1/T − (R/E) ln(I_limit / I) with I = ∫A exp(−E/RT) dt. A time is compared with its
//! limit directly. So is healing, by ( ∫dt/t_r / D_limit⁴ )^¼ − 1, which goes on growing where the
//! degree of healing itself stops at one; and collapse; and the swelling of the parts with their gap.
//! Parts that are held apart, or of which no card says how it swells, swell by nothing: an open gap
//! does not weld at any power, and what is not known to close is not called sound.
//!
//! Checked in: `tests/weld/verdicts.rs`, `tests/weld/gap.rs`.

use crate::heat::History;
use crate::material::{Material, Status};
use crate::units::GAS_CONSTANT_J_PER_MOL_K;
use crate::weld::joint::Joint;

/// A criterion.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rule {
    /// Both sides of the interface reach their flow temperature.
    Fusion,
    /// The parts swell until they meet across the gap.
    GapClosure,
    /// The upper part melts deep enough.
    UpperMeltDepth,
    /// The lower part melts deep enough.
    LowerMeltDepth,
    /// The interface stays above flow long enough to heal.
    TimeAboveFlow,
    /// The interface heals far enough.
    Healing,
    /// The parts come together far enough.
    Collapse,
    /// The damaged share stays below its limit everywhere.
    Damage,
    /// The hottest point stays below the onset of decomposition (cards without kinetics).
    Decomposition,
    /// The laser-side surface stays below its softening temperature.
    SurfaceMarking,
}

impl Rule {
    /// All rules in the order they are judged and printed.
    pub const ALL: [Rule; 10] = [
        Rule::Fusion,
        Rule::GapClosure,
        Rule::UpperMeltDepth,
        Rule::LowerMeltDepth,
        Rule::TimeAboveFlow,
        Rule::Healing,
        Rule::Collapse,
        Rule::Damage,
        Rule::Decomposition,
        Rule::SurfaceMarking,
    ];

    /// Name in words.
    pub fn name(self) -> &'static str {
        match self {
            Rule::Fusion => "fusion at the interface",
            Rule::GapClosure => "closing of the gap",
            Rule::UpperMeltDepth => "melt depth, upper part",
            Rule::LowerMeltDepth => "melt depth, lower part",
            Rule::TimeAboveFlow => "time above flow",
            Rule::Healing => "healing of the interface",
            Rule::Collapse => "collapse",
            Rule::Damage => "thermal damage",
            Rule::Decomposition => "decomposition onset",
            Rule::SurfaceMarking => "surface marking",
        }
    }

    /// Name of the rule in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Rule::Fusion => "fusion",
            Rule::GapClosure => "gap_closure",
            Rule::UpperMeltDepth => "upper_melt_depth",
            Rule::LowerMeltDepth => "lower_melt_depth",
            Rule::TimeAboveFlow => "time_above_flow",
            Rule::Healing => "healing",
            Rule::Collapse => "collapse",
            Rule::Damage => "damage",
            Rule::Decomposition => "decomposition",
            Rule::SurfaceMarking => "surface_marking",
        }
    }

    /// True for rules that more power helps to meet.
    pub fn wants_heat(self) -> bool {
        matches!(
            self,
            Rule::Fusion
                | Rule::GapClosure
                | Rule::UpperMeltDepth
                | Rule::LowerMeltDepth
                | Rule::TimeAboveFlow
                | Rule::Healing
                | Rule::Collapse
        )
    }
}

/// One criterion, judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criterion {
    /// Which rule.
    pub rule: Rule,
    /// What was found, SI (K, m, s, or a share).
    pub value: f64,
    /// Its limit, SI.
    pub limit: f64,
    /// Signed margin, dimensionless; negative where the rule is broken.
    pub margin: f64,
}

/// Where a limit comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitSource {
    /// Source of the limit.
    pub source: String,
    /// How the limit came to be.
    pub status: Status,
}

/// Judges every rule that has a limit, in the order of [`Rule::ALL`].
pub fn judge(joint: &Joint, history: &History) -> Vec<Criterion> {
    let ambient_k = joint.surroundings.ambient_k;
    let limits = &joint.limits;
    let upper_flow_k = joint.upper.material.thermal.flow_temperature_k.value;
    let lower_flow_k = joint.lower.material.thermal.flow_temperature_k.value;
    let hot = |t_k: f64, limit_k: f64| (t_k - limit_k) / (limit_k - ambient_k);
    let cool = |t_k: f64, limit_k: f64| (limit_k - t_k) / (limit_k - ambient_k);

    let mut judged = Vec::with_capacity(Rule::ALL.len());
    let sides = [
        (history.interface_peak_upper_k, upper_flow_k),
        (history.interface_peak_lower_k, lower_flow_k),
    ];
    let (value, limit) = if hot(sides[0].0, sides[0].1) <= hot(sides[1].0, sides[1].1) {
        sides[0]
    } else {
        sides[1]
    };
    judged.push(Criterion {
        rule: Rule::Fusion,
        value,
        limit,
        margin: hot(value, limit),
    });
    if let Some(gap_m) = joint.interface.gap_m() {
        // What is held open, or not known to swell, closes nothing.
        let swelling_m = history.film.and_then(|it| it.swelling_m).unwrap_or(0.0);
        judged.push(Criterion {
            rule: Rule::GapClosure,
            value: swelling_m,
            limit: gap_m,
            margin: swelling_m / gap_m - 1.0,
        });
    }
    judged.push(Criterion {
        rule: Rule::UpperMeltDepth,
        value: history.upper_melt_depth_m,
        limit: limits.upper_melt_depth_m.value,
        margin: hot(history.upper_probe_peak_k, upper_flow_k),
    });
    judged.push(Criterion {
        rule: Rule::LowerMeltDepth,
        value: history.lower_melt_depth_m,
        limit: limits.lower_melt_depth_m.value,
        margin: hot(history.lower_probe_peak_k, lower_flow_k),
    });
    if let Some(limit) = &limits.time_above_flow_s {
        judged.push(Criterion {
            rule: Rule::TimeAboveFlow,
            value: history.time_above_flow_s,
            limit: limit.value,
            margin: history.time_above_flow_s / limit.value - 1.0,
        });
    }
    if let (Some(limit), Some(integral)) = (&limits.healing, history.melt.healing) {
        judged.push(Criterion {
            rule: Rule::Healing,
            value: integral.powf(0.25).min(1.0),
            limit: limit.value,
            margin: integral.powf(0.25) / limit.value - 1.0,
        });
    }
    if let (Some(limit), Some(collapse_m)) = (&limits.collapse_m, history.melt.collapse_m) {
        judged.push(Criterion {
            rule: Rule::Collapse,
            value: collapse_m,
            limit: limit.value,
            margin: collapse_m / limit.value - 1.0,
        });
    }
    if let Some(integral) = history.damage_integral {
        judged.push(Criterion {
            rule: Rule::Damage,
            value: damage_share(integral),
            limit: limits.damage.value,
            margin: damage_margin(joint, history, integral),
        });
    }
    let onsets = [&joint.upper.material, &joint.lower.material]
        .into_iter()
        .zip(history.range_k)
        .filter_map(|(material, (_, peak_k))| onset_in_use_k(material).map(|it| (peak_k, it)));
    let worst = onsets.min_by(|a, b| cool(a.0, a.1).total_cmp(&cool(b.0, b.1)));
    if let Some((value, limit)) = worst {
        judged.push(Criterion {
            rule: Rule::Decomposition,
            value,
            limit,
            margin: cool(value, limit),
        });
    }
    let marking_k = joint.upper.material.thermal.surface_temperature_k.value;
    judged.push(Criterion {
        rule: Rule::SurfaceMarking,
        value: history.laser_side_peak_k,
        limit: marking_k,
        margin: cool(history.laser_side_peak_k, marking_k),
    });
    judged
}

/// Damaged share 1 − exp(−I) of a damage integral.
pub fn damage_share(integral: f64) -> f64 {
    -(-integral).exp_m1()
}

/// Onset of decomposition of a material that has no kinetics, K.
pub fn onset_in_use_k(material: &Material) -> Option<f64> {
    match (&material.damage, &material.decomposition_k) {
        (None, Some(onset)) => Some(onset.value),
        _ => None,
    }
}

fn damage_margin(joint: &Joint, history: &History, integral: f64) -> f64 {
    let upper_m = joint.upper.thickness_m;
    let material = if history.damage_depth_m <= upper_m && joint.upper.material.damage.is_some() {
        &joint.upper.material
    } else {
        &joint.lower.material
    };
    let Some(damage) = &material.damage else {
        return 1.0;
    };
    let allowed = -(-joint.limits.damage.value).ln_1p();
    let shift = GAS_CONSTANT_J_PER_MOL_K / damage.energy_j_per_mol.value;
    let inverse = 1.0 / history.damage_peak_k - shift * (allowed / integral).ln();
    if inverse.is_nan() || inverse <= 0.0 {
        return 1.0;
    }
    let limit_k = 1.0 / inverse;
    ((limit_k - history.damage_peak_k) / (limit_k - joint.surroundings.ambient_k)).min(1.0)
}

/// Source and status of the limit of a criterion.
pub fn source_of_limit(joint: &Joint, it: &Criterion) -> LimitSource {
    let limits = &joint.limits;
    let parts = [&joint.upper.material, &joint.lower.material];
    let (source, status) = match it.rule {
        // The part that the limit is of; the weaker number where both parts have it.
        Rule::Fusion => parts
            .map(|it| &it.thermal.flow_temperature_k)
            .into_iter()
            .filter(|flow_k| flow_k.value == it.limit)
            .max_by_key(|flow_k| flow_k.status)
            .map_or((String::new(), Status::Handbook), provenance),
        Rule::GapClosure => ("the gap of the joint".into(), Status::Stated),
        Rule::UpperMeltDepth => provenance(&limits.upper_melt_depth_m),
        Rule::LowerMeltDepth => provenance(&limits.lower_melt_depth_m),
        Rule::TimeAboveFlow => stated(&limits.time_above_flow_s),
        Rule::Healing => stated(&limits.healing),
        Rule::Collapse => stated(&limits.collapse_m),
        Rule::Damage => provenance(&limits.damage),
        Rule::Decomposition => parts
            .into_iter()
            .filter(|part| onset_in_use_k(part) == Some(it.limit))
            .find_map(|part| part.decomposition_k.as_ref())
            .map_or((String::new(), Status::Handbook), provenance),
        Rule::SurfaceMarking => provenance(&joint.upper.material.thermal.surface_temperature_k),
    };
    LimitSource { source, status }
}

/// Source of a limit that is judged only where it is stated.
fn stated(limit: &Option<crate::material::Sourced<f64>>) -> (String, Status) {
    limit
        .as_ref()
        .map_or((String::new(), Status::CommonPractice), provenance)
}

fn provenance(limit: &crate::material::Sourced<f64>) -> (String, Status) {
    (limit.source.clone(), limit.status)
}
