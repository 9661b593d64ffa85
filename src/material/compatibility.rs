//! Do two polymers weld to each other at all? What is published, and what their cards say.
//!
//! Three things are put side by side and none of them changes a verdict:
//!
//! ```text
//! published     the row of a table of pairs; unknown where there is none
//! overlap       min of the upper ends − max of the flow temperatures, of the two melts
//! solubility    distance between the ranges of the solubility parameter δ; zero where they overlap
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | – | [`Melt`] | from flow to damage: 1 % of thermal damage in 1 s, or onset of decomposition | K |
//! | δ | `solubility` | solubility parameter | MPa^½ |
//!
//! Pairs whose melts overlap by less than 50 K are said to weld badly (common practice). A small
//! distance in δ is needed for mixing and does not suffice for it.
//!
//! Does not hold for: fillers, compatibilisers, surface treatment. Checked in:
//! `tests/compatibility.rs`.

use crate::material::{Material, Status};
use crate::units::GAS_CONSTANT_J_PER_MOL_K;

/// Overlap of melts below which a pair is said to weld badly, K (common practice).
pub const OVERLAP_K: f64 = 50.0;

/// Damaged share and time that end a melt.
const DAMAGE: (f64, f64) = (0.01, 1.0);

/// What a table of pairs says about one pair.
#[derive(Clone, Debug, PartialEq)]
pub struct PairRow {
    /// The two polymers by their abbreviations.
    pub pair: [String; 2],
    /// What is said: weldable, some grades, some reports, not listed as weldable, not weldable.
    pub word: String,
    /// Who says so.
    pub source: String,
    /// How it came to be.
    pub status: Status,
}

impl PairRow {
    /// True where the source speaks against the pair.
    pub fn is_against(&self) -> bool {
        self.word.starts_with("not ")
    }
}

/// Published pairs and solubility parameters.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pairs {
    /// Pairs of different polymers.
    pub rows: Vec<PairRow>,
    /// Polymer, least and greatest solubility parameter in MPa^½.
    pub solubility: Vec<(String, f64, f64)>,
    /// Who says so.
    pub solubility_source: String,
}

/// Temperatures between which a polymer flows and is not yet damaged, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Melt {
    /// Flow temperature of the card.
    pub from_k: f64,
    /// Where 1 % is damaged in one second, or decomposition starts; none where the card has neither.
    pub to_k: Option<f64>,
}

impl Melt {
    /// Of a card.
    pub fn of(material: &Material) -> Self {
        let kinetics = material.damage.as_ref().map(|it| {
            let rate = -(-DAMAGE.0).ln_1p() / DAMAGE.1;
            it.energy_j_per_mol.value
                / (GAS_CONSTANT_J_PER_MOL_K * (it.frequency_per_s.value / rate).ln())
        });
        Melt {
            from_k: material.thermal.flow_temperature_k.value,
            to_k: kinetics.or(material.decomposition_k.as_ref().map(|it| it.value)),
        }
    }
}

/// Two materials side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Compatibility {
    /// Polymers by their abbreviations; none where a card's name tells none.
    pub polymers: [Option<String>; 2],
    /// What is published about them; none where nothing is.
    pub published: Option<PairRow>,
    /// Their melts.
    pub melts: [Melt; 2],
    /// Their ranges of the solubility parameter, MPa^½.
    pub solubility: [Option<(f64, f64)>; 2],
    /// Who says so.
    pub solubility_source: String,
}

impl Compatibility {
    /// Puts two materials side by side.
    pub fn of(upper: &Material, lower: &Material, pairs: &Pairs) -> Self {
        let polymers = [upper, lower].map(polymer_of);
        let published = match &polymers {
            [Some(a), Some(b)] => pairs.rows.iter().find(|row| {
                let [c, d] = &row.pair;
                (a == c && b == d) || (a == d && b == c)
            }),
            _ => None,
        };
        let solubility = polymers.clone().map(|it| {
            let polymer = it?;
            pairs
                .solubility
                .iter()
                .find_map(|row| (row.0 == polymer).then_some((row.1, row.2)))
        });
        Compatibility {
            published: published.cloned(),
            melts: [Melt::of(upper), Melt::of(lower)],
            solubility,
            solubility_source: pairs.solubility_source.clone(),
            polymers,
        }
    }

    /// True where both are known to be one polymer.
    pub fn is_same(&self) -> bool {
        let [a, b] = &self.polymers;
        a.is_some() && a == b
    }

    /// The pair in a word: same polymer, what is published, or unknown.
    pub fn word(&self) -> &str {
        if self.is_same() {
            return "same polymer";
        }
        self.published.as_ref().map_or("unknown", |it| &it.word)
    }

    /// True where what is published speaks against welding the two polymers to each other.
    pub fn is_spoken_against(&self) -> bool {
        !self.is_same() && self.published.as_ref().is_some_and(|it| it.is_against())
    }

    /// Overlap of the melts, K, negative where they lie apart; none where an upper end is unknown.
    pub fn overlap_k(&self) -> Option<f64> {
        let [a, b] = self.melts;
        Some(a.to_k?.min(b.to_k?) - a.from_k.max(b.from_k))
    }

    /// Distance between the ranges of the solubility parameter, MPa^½.
    pub fn solubility_distance(&self) -> Option<f64> {
        let [a, b] = self.solubility;
        let (a, b) = (a?, b?);
        Some((a.0 - b.1).max(b.0 - a.1).max(0.0))
    }

    /// What to warn of; none for a pair that nothing speaks against.
    pub fn warning(&self) -> Option<String> {
        if self.is_same() {
            return None;
        }
        let name = |it: &Option<String>| it.clone().unwrap_or_else(|| "an unknown polymer".into());
        let [a, b] = &self.polymers;
        match &self.published {
            Some(row) if row.is_against() => Some(format!(
                "{} and {} are {} to each other ({}); the verdict is about light and heat only",
                name(a),
                name(b),
                row.word,
                row.source
            )),
            None => Some(format!(
                "nothing is published here about welding {} to {}; the verdict is about light and \
                 heat only",
                name(a),
                name(b)
            )),
            Some(_) => None,
        }
    }
}

/// Abbreviations that name a polymer, with what they stand for (ISO 1043-1, and older ones).
const POLYMERS: [(&str, &str); 32] = [
    ("abs", "ABS"),
    ("asa", "ASA"),
    ("coc", "COC"),
    ("hdpe", "PE"),
    ("lcp", "LCP"),
    ("ldpe", "PE"),
    ("mppo", "mPPO"),
    ("pa11", "PA11"),
    ("pa12", "PA12"),
    ("pa6", "PA6"),
    ("pa66", "PA66"),
    ("pbt", "PBT"),
    ("pc", "PC"),
    ("pe", "PE"),
    ("peek", "PEEK"),
    ("pei", "PEI"),
    ("pes", "PES"),
    ("pet", "PET"),
    ("pmma", "PMMA"),
    ("pom", "POM"),
    ("pp", "PP"),
    ("ppo", "PPO"),
    ("pps", "PPS"),
    ("ppsu", "PPSU"),
    ("ps", "PS"),
    ("psu", "PSU"),
    ("ptfe", "PTFE"),
    ("pvc", "PVC"),
    ("pvdf", "PVDF"),
    ("san", "SAN"),
    ("tpe", "TPE"),
    ("tpu", "TPU"),
];

/// The polymer a card is about, by its name, else by its short name; none where neither tells one.
pub fn polymer_of(material: &Material) -> Option<String> {
    [&material.name, &material.id].into_iter().find_map(|text| {
        let mut found: Vec<&str> = text
            .split(|it: char| !it.is_alphanumeric())
            .filter_map(|word| {
                let word = word.to_lowercase();
                POLYMERS
                    .iter()
                    .find_map(|(short, name)| (*short == word).then_some(*name))
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        match found[..] {
            [one] => Some(one.to_string()),
            ["ABS", "PC"] => Some("ABS/PC".into()),
            _ => None,
        }
    })
}
