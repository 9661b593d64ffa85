//! Labelled records and blocks: `##LABEL= value` up to the next `##`.

use crate::error::{Error, JcampProblem};
use crate::input::jcamp::Lines;

/// One labelled record.
#[derive(Clone, Debug)]
pub struct Record<'a> {
    /// The label in capitals, without spaces, hyphens, slashes and underscores, which the standard
    /// says do not count.
    pub label: String,
    /// What stands behind the equals sign on the same line, comment and outer spaces removed.
    pub value: String,
    /// Line of the label, counted from 1.
    pub line: usize,
    /// The lines below it that belong to it, numbered, comments removed.
    pub body: Vec<(usize, &'a str)>,
}

/// One block between `##TITLE=` and `##END=`, without the blocks inside it.
#[derive(Clone, Debug)]
pub struct Block<'a> {
    /// The title.
    pub title: String,
    /// Line of the title, counted from 1.
    pub line: usize,
    records: Vec<Record<'a>>,
}

/// Records that hold data of a kind this program does not read, and their names.
const REFUSED: [(&str, &str); 6] = [
    ("NTUPLES", "an array of several variables (NTUPLES)"),
    ("PEAKTABLE", "a peak table"),
    ("PEAKASSIGNMENTS", "peak assignments"),
    ("ASSIGNMENTS", "peak assignments"),
    ("RADATA", "an interferogram (RADATA)"),
    ("MOLFILE", "a structure"),
];

impl<'a> Block<'a> {
    /// The first record with this label.
    pub fn record(&self, label: &str) -> Option<&Record<'a>> {
        self.records.iter().find(|it| it.label == label)
    }

    /// The value of the first record with this label.
    pub fn text(&self, label: &str) -> Option<&str> {
        self.record(label).map(|it| it.value.as_str())
    }

    /// The first record with this label.
    ///
    /// # Errors
    /// There is none.
    pub fn required(&self, label: &str, lines: &Lines) -> Result<&Record<'a>, Error> {
        self.record(label).ok_or_else(|| {
            lines.error(
                self.line,
                JcampProblem::Missing {
                    title: self.title.clone(),
                    label: label.to_owned(),
                },
                format!("add ##{label}= as the instrument states it"),
            )
        })
    }

    /// The record that holds the points.
    pub fn data(&self) -> Option<&Record<'a>> {
        self.record("XYDATA").or_else(|| self.record("XYPOINTS"))
    }

    /// Why this block is no spectrum; none where it is one.
    pub fn refusal(&self, lines: &Lines) -> Option<Error> {
        let held = REFUSED
            .iter()
            .find(|(label, _)| self.record(label).is_some());
        let (line, form) = match (held, self.data()) {
            (Some((label, form)), _) => (self.record(label).map_or(self.line, |it| it.line), *form),
            (None, Some(_)) => return None,
            (None, None) => (self.line, "no XYDATA and no XYPOINTS"),
        };
        Some(lines.error(
            line,
            JcampProblem::NoSpectrum {
                title: self.title.clone(),
                form: form.to_owned(),
            },
            "export the spectrum itself, as XYDATA",
        ))
    }
}

/// All blocks that are not mere links, in the order of their titles.
///
/// # Errors
/// The text does not begin with a title, or a block does not end.
pub fn blocks<'a>(text: &'a str, lines: &Lines) -> Result<Vec<Block<'a>>, Error> {
    let mut done: Vec<Block> = Vec::new();
    let mut open: Vec<Block> = Vec::new();
    for record in records(text, lines)? {
        match record.label.as_str() {
            "TITLE" => open.push(Block {
                title: record.value,
                line: record.line,
                records: Vec::new(),
            }),
            "END" => done.extend(open.pop()),
            // Behind the last ##END= stands nothing of interest.
            _ => {
                if let Some(block) = open.last_mut() {
                    block.records.push(record);
                }
            }
        }
    }
    if let Some(block) = open.pop() {
        return Err(lines.error(
            block.line,
            JcampProblem::NoEnd { title: block.title },
            "export the file again: its end seems to be cut off",
        ));
    }
    done.retain(|block| {
        block.data().is_some()
            || !block
                .text("DATATYPE")
                .is_some_and(|it| it.eq_ignore_ascii_case("LINK"))
    });
    done.sort_by_key(|block| block.line);
    Ok(done)
}

/// All records, in order.
fn records<'a>(text: &'a str, lines: &Lines) -> Result<Vec<Record<'a>>, Error> {
    let mut records: Vec<Record> = Vec::new();
    let text = text.trim_start_matches('\u{feff}');
    for (line, whole) in (1..).zip(split_lines(text)) {
        let content = whole.split("$$").next().unwrap_or("").trim();
        let content = content.trim_end_matches('\u{1a}');
        if let Some((label, value)) = content.strip_prefix("##").and_then(|it| it.split_once('=')) {
            let label = normal(label);
            if records.is_empty() && label != "TITLE" {
                return Err(not_jcamp(content, line, lines));
            }
            records.push(Record {
                label,
                value: value.trim().to_owned(),
                line,
                body: Vec::new(),
            });
        } else if let Some(record) = records.last_mut() {
            if !content.is_empty() {
                record.body.push((line, content));
            }
        } else if !content.is_empty() {
            return Err(not_jcamp(content, line, lines));
        }
    }
    if records.is_empty() {
        return Err(not_jcamp("", 1, lines));
    }
    Ok(records)
}

fn not_jcamp(content: &str, line: usize, lines: &Lines) -> Error {
    lines.error(
        line,
        JcampProblem::NotJcamp {
            start: content.chars().take(40).collect(),
        },
        "choose a .jdx or .dx file, or give a CSV file its own name",
    )
}

/// Lines that end with LF, CR LF or CR alone.
fn split_lines(text: &str) -> impl Iterator<Item = &str> {
    text.split('\n')
        .flat_map(|part| part.strip_suffix('\r').unwrap_or(part).split('\r'))
}

/// A label as the standard compares it.
fn normal(label: &str) -> String {
    label
        .chars()
        .filter(|it| !matches!(it, ' ' | '\t' | '-' | '/' | '_'))
        .flat_map(char::to_uppercase)
        .collect()
}
