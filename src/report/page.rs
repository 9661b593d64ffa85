//! One self-contained page: question first, then answer, warnings, figures, inputs, cautions.
//!
//! The page needs no network and no script, carries its typeface, and prints on A4. Every text is
//! escaped; figures are inline SVG.

use askama::Template;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::error::ReportProblem;
use crate::report::cautions::Caution;
use crate::report::figure::Figure;
use crate::report::font;
use crate::report::svg;
use crate::report::table::Table;

/// A page, complete but not yet written.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Name of the page, for the window and the foot of printed pages.
    pub title: String,
    /// The question, as the user put it.
    pub question: String,
    /// The answer.
    pub answer: Answer,
    /// What weakens the answer, one cause each.
    pub warnings: Vec<String>,
    /// Figures and tables in order, inputs and settings last.
    pub sections: Vec<Section>,
    /// Safety text.
    pub cautions: Vec<Caution>,
    /// Version, seed, settings: name and value.
    pub colophon: Vec<(String, String)>,
}

/// The answer to the question.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// In one sentence.
    pub headline: String,
    /// Which way it went.
    pub tone: Tone,
    /// What the sentence rests on; may be empty.
    pub text: String,
    /// Key numbers: name and value with unit.
    pub facts: Vec<(String, String)>,
}

/// Which way an answer went. Shown by sign and line, not by a traffic-light colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// The weld is sound.
    Sound,
    /// It is not.
    NotSound,
    /// Neither yes nor no.
    Open,
}

/// A part of the page under one heading.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Section {
    /// Heading.
    pub heading: String,
    /// Text; paragraphs are parted by an empty line. May be empty.
    pub text: String,
    /// Figures with captions.
    pub figures: Vec<Illustration>,
    /// Tables.
    pub tables: Vec<Table>,
}

/// A figure and what to see in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Illustration {
    /// The figure.
    pub figure: Figure,
    /// What to see in it; may be empty.
    pub caption: String,
}

impl Page {
    /// The page as HTML.
    ///
    /// # Errors
    ///
    /// [`ReportProblem::Page`] if the template fails, which memory alone can cause.
    pub fn html(&self) -> Result<String, ReportProblem> {
        let mut number = 0;
        let sections = self.sections.iter().map(|section| {
            let figures = section.figures.iter().map(|it| {
                number += 1;
                Drawn {
                    number,
                    svg: svg::inline(&it.figure, &format!("f{number}-")),
                    caption: &it.caption,
                }
            });
            Laid {
                heading: &section.heading,
                paragraphs: paragraphs(&section.text),
                figures: figures.collect(),
                tables: section.tables.iter().map(Set::new).collect(),
            }
        });
        let sections = sections.collect();
        let html = Html {
            page: self,
            answer_text: paragraphs(&self.answer.text),
            sections,
            regular: STANDARD.encode(font::REGULAR),
            semibold: STANDARD.encode(font::SEMIBOLD),
            foot: css_string(&shortened(&self.question, FOOT_LETTERS)),
            stamp: css_string(&self.stamp()),
        };
        html.render().map_err(|it| ReportProblem::Page {
            reason: it.to_string(),
        })
    }
}

impl Page {
    /// Version and seed, for the foot of every printed page.
    fn stamp(&self) -> String {
        let told = self
            .colophon
            .iter()
            .filter_map(|(name, value)| match name.as_str() {
                "lightseam" => Some(format!("lightseam {value}")),
                _ if name.starts_with("seed") => Some(format!("seed {value}")),
                _ => None,
            });
        told.collect::<Vec<_>>().join(", ")
    }
}

/// Letters of the question at the foot of a printed page: one line beside version and page number.
const FOOT_LETTERS: usize = 88;

/// The first words of a text, with an ellipsis where it goes on.
fn shortened(text: &str, letters: usize) -> String {
    if text.chars().count() <= letters {
        return text.to_string();
    }
    let cut: String = text.chars().take(letters).collect();
    let whole = cut.rsplit_once(' ').map_or(cut.as_str(), |it| it.0);
    format!("{whole} …")
}

#[derive(Template)]
#[template(path = "page.html", config = "src/report/templates/askama.toml")]
struct Html<'a> {
    page: &'a Page,
    answer_text: Vec<&'a str>,
    sections: Vec<Laid<'a>>,
    regular: String,
    semibold: String,
    foot: String,
    stamp: String,
}

struct Laid<'a> {
    heading: &'a str,
    paragraphs: Vec<&'a str>,
    figures: Vec<Drawn<'a>>,
    tables: Vec<Set<'a>>,
}

struct Drawn<'a> {
    number: usize,
    svg: String,
    caption: &'a str,
}

/// A table as text, with the columns that are set flush right.
struct Set<'a> {
    title: &'a str,
    headings: Vec<(String, bool)>,
    rows: Vec<Vec<(String, bool)>>,
}

impl<'a> Set<'a> {
    fn new(table: &'a Table) -> Self {
        let right: Vec<bool> = table.columns.iter().map(|it| it.is_numeric()).collect();
        let marked = |cells: Vec<String>| cells.into_iter().zip(right.iter().copied()).collect();
        Set {
            title: &table.title,
            headings: marked(table.headings()),
            rows: table.reading_rows().into_iter().map(marked).collect(),
        }
    }
}

fn paragraphs(text: &str) -> Vec<&str> {
    text.split("\n\n")
        .map(str::trim)
        .filter(|it| !it.is_empty())
        .collect()
}

/// Text as the inside of a CSS string that no sign can end early.
fn css_string(text: &str) -> String {
    text.chars()
        .map(|it| match it {
            ' ' => it.to_string(),
            _ if it.is_alphanumeric() => it.to_string(),
            '\0' => String::new(),
            _ => format!("\\{:x} ", u32::from(it)),
        })
        .collect()
}
