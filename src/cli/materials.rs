//! `materials`: the cards, or one card with its sources.

use std::path::Path;

use crate::cli::args::Manner;
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, files};
use crate::error::{Error, InputProblem};
use crate::input::document::nearest_or_list;
use crate::input::{Note, library, material_file, pair_table};
use crate::material::Material;
use crate::report::pair_table as report_of_pair;
use crate::report::{answer, card};

/// Lists the built-in cards, or prints one.
///
/// # Errors
/// There is no such card, or a card file cannot be read.
pub fn run(name: Option<&str>, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    match name {
        None => list(manner, terminal),
        Some(name) => print(name, manner, terminal),
    }
}

fn list(manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let mut cards = Vec::new();
    for id in library::ids() {
        if let Some(card) = library::material(id) {
            cards.push(card?.0);
        }
    }
    let table = card::overview(&cards);
    if manner.json {
        deliver::json(terminal, &table.json());
    } else {
        terminal.result(&table.terminal(terminal.width()));
        terminal.remark("one card with its sources: lightseam materials NAME");
    }
    if let Some(dir) = &manner.out {
        let path = dir.join("materials.csv");
        files::write(&path, table.csv()?.as_bytes())?;
    }
    Ok(Answer::Yes)
}

/// Puts two cards side by side.
///
/// # Errors
/// There is no such card, or a card file cannot be read.
pub fn pair(names: [&String; 2], manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let [upper, lower] = names.map(|name| card_of(name));
    let (upper, lower) = (upper?.0, lower?.0);
    let pair = pair_table::of(&upper, &lower)?;
    if manner.json {
        deliver::json(terminal, &report_of_pair::json(&pair));
    } else {
        terminal.result(&format!(
            "{} with {}\n\n{}",
            upper.name,
            lower.name,
            answer::lines(&report_of_pair::facts(&pair))
        ));
    }
    terminal.warnings(&pair.warning());
    Ok(Answer::Yes)
}

/// The card of a name or path, with remarks.
fn card_of(name: &str) -> Result<(Material, Vec<Note>), Error> {
    if name.ends_with(".toml") || name.contains(['/', '\\']) {
        let path = Path::new(name);
        let id = path.file_stem().unwrap_or_default().to_string_lossy();
        material_file::parse(&files::read_text(path)?, name, &id, &|it| {
            files::read(Path::new(it))
        })
    } else {
        library::material(name).ok_or_else(|| unknown(name))?
    }
}

fn print(name: &str, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (material, notes) = card_of(name)?;
    let tables = card::tables(&material);
    if manner.json {
        deliver::json(terminal, &as_json(&material, &tables));
    } else {
        terminal.result(&as_text(&material, &tables, terminal.width()));
    }
    terminal.warnings(&notes.iter().map(ToString::to_string).collect::<Vec<_>>());
    Ok(Answer::Yes)
}

fn unknown(name: &str) -> Error {
    let known: Vec<&str> = library::ids().collect();
    Error::new(InputProblem::UnknownMaterial { name: name.into() })
        .cure(nearest_or_list(name, &known))
}

fn as_text(
    material: &Material,
    tables: &[crate::report::table::Table],
    width: Option<u16>,
) -> String {
    let mut text = format!("{} ({})\n", material.name, card::kind_word(material.kind));
    for table in tables {
        text.push_str(&format!("\n{}\n{}\n", table.title, table.terminal(width)));
    }
    if let Some(fume) = &material.fume {
        text.push_str(&format!(
            "\nFume when overheated: {}\n  {} ({})\n",
            fume.value, fume.source, fume.status
        ));
    }
    for note in &material.notes {
        text.push_str(&format!("\nNote: {note}\n"));
    }
    text
}

fn as_json(material: &Material, tables: &[crate::report::table::Table]) -> serde_json::Value {
    serde_json::json!({
        "id": material.id,
        "name": material.name,
        "kind": card::kind_word(material.kind),
        "tables": tables.iter().map(crate::report::table::Table::json).collect::<Vec<_>>(),
        "fume": material.fume.as_ref().map(|it| serde_json::json!({
            "contains": it.value, "source": it.source, "status": it.status.to_string() })),
        "notes": material.notes,
    })
}
