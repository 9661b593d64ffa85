//! A report as JSON: all that its page says, tables as rows, figures by the files beside it.

use serde_json::{Map, Value, json};

use crate::report::bundle::Report;
use crate::report::page::{Section, Tone};
use crate::report::table::Table;

/// Question, answer, warnings, sections, the tables behind the figures, cautions, and version, seed
/// and settings by name.
pub fn report(report: &Report) -> Value {
    let page = &report.page;
    let by_name = |all: &[(String, String)]| -> Map<String, Value> {
        all.iter()
            .map(|(name, value)| (name.clone(), value.as_str().into()))
            .collect()
    };
    let mut files = report.figures.iter().map(|it| it.0.as_str());
    let sections: Vec<Value> = page
        .sections
        .iter()
        .map(|it| section(it, &mut files))
        .collect();
    let behind: Map<String, Value> = report
        .tables
        .iter()
        .map(|(name, table)| (name.clone(), table.json()))
        .collect();
    json!({
        "title": page.title,
        "question": page.question,
        "answer": {
            "headline": page.answer.headline,
            "sound": match page.answer.tone {
                Tone::Sound => Some(true),
                Tone::NotSound => Some(false),
                Tone::Open => None,
            },
            "text": page.answer.text,
            "facts": by_name(&page.answer.facts),
        },
        "warnings": page.warnings,
        "sections": sections,
        "tables_behind_figures": behind,
        "cautions": page.cautions.iter().map(|it| json!({
            "title": it.title, "text": it.text, "source": it.source,
        })).collect::<Vec<_>>(),
        "version": env!("CARGO_PKG_VERSION"),
        "settings": by_name(&page.colophon),
    })
}

/// One section; its figures take the next names of files.
fn section<'f>(it: &Section, files: &mut impl Iterator<Item = &'f str>) -> Value {
    let figures: Vec<Value> = it
        .figures
        .iter()
        .map(|figure| {
            json!({
                "file": files.next().map(|it| format!("{it}.svg")),
                "title": figure.figure.title,
                "caption": figure.caption,
            })
        })
        .collect();
    json!({
        "heading": it.heading,
        "text": it.text,
        "figures": figures,
        "tables": it.tables.iter().map(Table::json).collect::<Vec<_>>(),
    })
}
