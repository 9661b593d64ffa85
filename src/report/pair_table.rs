//! Two materials side by side as they are printed: what is published, melts, solubility.

use serde_json::{Value, json};

use crate::material::compatibility::{Compatibility, Melt, OVERLAP_K};
use crate::report::answer::Fact;
use crate::report::bundle::Part;
use crate::report::number;
use crate::report::table::{Column, Table};
use crate::units::celsius;

/// The polymers and what is known of the pair: "PP on PP, same polymer".
pub fn say(it: &Compatibility) -> String {
    let name = |it: &Option<String>| it.clone().unwrap_or_else(|| "unknown polymer".into());
    let [upper, lower] = &it.polymers;
    let word = match it.word() {
        "unknown" => "nothing published",
        word => word,
    };
    format!("{} on {}, {word}", name(upper), name(lower))
}

/// What stands beside the verdict on light and heat where a table speaks against the pair.
pub fn caveat(it: &Compatibility) -> Option<String> {
    it.is_spoken_against()
        .then(|| format!("this is about light and heat alone: {}", say(it)))
}

/// The pair in one line.
pub fn line(it: &Compatibility) -> String {
    let overlap = it.overlap_k().map_or_else(
        || "overlap of melts unknown".to_string(),
        |overlap| {
            if overlap < 0.0 {
                format!("melts {} K apart", number::short(-overlap, 2))
            } else {
                format!("melts overlap by {} K", number::short(overlap, 2))
            }
        },
    );
    format!("{}; {overlap}", it.word())
}

/// Everything that is known, as facts.
pub fn facts(it: &Compatibility) -> Vec<Fact> {
    let published = match &it.published {
        _ if it.is_same() => "same polymer".to_string(),
        Some(row) => format!("{} ({}, {})", row.word, row.source, row.status),
        None => "unknown: no published entry here".into(),
    };
    let melt = |it: &Melt| {
        let to = it.to_k.map_or("unknown".to_string(), number::temperature);
        format!("{} to {to}", number::temperature(it.from_k))
    };
    let [upper, lower] = &it.melts;
    let mut facts = vec![
        ("published".to_string(), published),
        (
            "melt, from flow to damage (1 % in 1 s, or onset)".into(),
            format!("{}; {}", melt(upper), melt(lower)),
        ),
    ];
    facts.push((
        "overlap of the melts".into(),
        match it.overlap_k() {
            Some(overlap) if overlap < OVERLAP_K && !it.is_same() => format!(
                "{} K: less than the {OVERLAP_K} K asked of dissimilar pairs (common practice)",
                number::short(overlap, 2)
            ),
            Some(overlap) => format!("{} K", number::short(overlap, 2)),
            None => "unknown: a card has neither kinetics nor onset".into(),
        },
    ));
    let range = |it: Option<(f64, f64)>| match it {
        None => "unknown".to_string(),
        Some((a, b)) if a == b => number::short(a, 3),
        Some((a, b)) => format!("{} to {}", number::short(a, 3), number::short(b, 3)),
    };
    facts.push((
        "solubility parameter, MPa^½".into(),
        match it.solubility_distance() {
            Some(distance) => format!(
                "{}; {}: {} apart ({})",
                range(it.solubility[0]),
                range(it.solubility[1]),
                number::short(distance, 2),
                it.solubility_source
            ),
            None => format!("{}; {}", range(it.solubility[0]), range(it.solubility[1])),
        },
    ));
    facts
}

/// A part of a page.
pub fn part(it: &Compatibility) -> Part {
    let facts = facts(it);
    Part {
        heading: "The pair of polymers".into(),
        text: "Whether two polymers weld to each other is a matter of chemistry that the verdict \
               does not judge."
            .into(),
        tables: vec![Table::new(
            "",
            vec![
                Column::words("What", facts.iter().map(|it| it.0.clone())),
                Column::words("Value", facts.iter().map(|it| it.1.clone())),
            ],
        )],
        ..Part::default()
    }
}

/// As JSON.
pub fn json(it: &Compatibility) -> Value {
    json!({
        "polymers": it.polymers,
        "published": it.word(),
        "source": it.published.as_ref().map(|it| &it.source),
        "status": it.published.as_ref().map(|it| it.status.to_string()),
        "melts_c": it.melts.map(|it| json!([celsius(it.from_k), it.to_k.map(celsius)])),
        "overlap_k": it.overlap_k(),
        "solubility_mpa_half": it.solubility.map(|it| it.map(|it| vec![it.0, it.1])),
        "solubility_distance_mpa_half": it.solubility_distance(),
        "solubility_source": it.solubility_source,
    })
}
