//! A report: one page, and the figures and tables it holds as files of their own.

use crate::report::cautions;
use crate::report::figure::Figure;
use crate::report::inputs;
use crate::report::page::{Answer, Illustration, Page, Section};
use crate::report::table::Table;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

/// A page with its figures and tables by file name (without ending).
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The page.
    pub page: Page,
    /// Figures to be written as SVG and PNG.
    pub figures: Vec<(String, Figure)>,
    /// Tables to be written as CSV.
    pub tables: Vec<(String, Table)>,
}

impl Report {
    /// A report of a joint: question, answer, sections, then inputs, settings and cautions.
    pub fn of(
        joint: &Joint,
        settings: &Settings,
        answer: Answer,
        warnings: &[String],
        parts: Vec<Part>,
    ) -> Self {
        let Laid {
            figures,
            tables,
            mut sections,
        } = Laid::out(parts);
        sections.push(inputs_section(joint));
        let mut colophon = vec![(
            "lightseam".to_string(),
            env!("CARGO_PKG_VERSION").to_string(),
        )];
        colophon.extend(inputs::setting_rows(settings));
        Report {
            page: Page {
                title: title_of(joint),
                question: joint.question.to_string(),
                answer,
                warnings: warnings.to_vec(),
                sections,
                cautions: cautions::usual(inputs::laser_of(joint), &inputs::fumes_of(joint)),
                colophon,
            },
            figures,
            tables,
        }
    }

    /// This report with one more part put before the inputs.
    pub fn with_part(mut self, part: Part) -> Self {
        let inputs = self.page.sections.pop();
        for (name, illustration) in &part.figures {
            self.figures
                .push((name.clone(), illustration.figure.clone()));
        }
        self.page.sections.push(Section {
            heading: part.heading,
            text: part.text,
            figures: part.figures.into_iter().map(|it| it.1).collect(),
            tables: part.tables,
        });
        self.page.sections.extend(inputs);
        self.tables.extend(part.tables_behind);
        self
    }

    /// This report with the sections, figures and tables of another one about the same joint put
    /// before the inputs.
    pub fn followed_by(mut self, other: Report) -> Self {
        let inputs = self.page.sections.pop();
        let mut sections = other.page.sections;
        sections.pop();
        self.page.sections.extend(sections);
        self.page.sections.extend(inputs);
        self.figures.extend(other.figures);
        self.tables.extend(other.tables);
        self
    }
}

/// A section with file names for what it holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Part {
    /// Heading.
    pub heading: String,
    /// Text; may be empty.
    pub text: String,
    /// Figures with captions, by file name.
    pub figures: Vec<(String, Illustration)>,
    /// Tables shown on the page.
    pub tables: Vec<Table>,
    /// Tables behind the figures, by file name; written, not shown.
    pub tables_behind: Vec<(String, Table)>,
}

/// Parts, taken to pieces: what stands on the page, and what is written beside it.
pub struct Laid {
    /// Figures by file name.
    pub figures: Vec<(String, Figure)>,
    /// Tables by file name.
    pub tables: Vec<(String, Table)>,
    /// Sections of the page.
    pub sections: Vec<Section>,
}

impl Laid {
    /// Takes parts to pieces, in their order.
    pub fn out(parts: Vec<Part>) -> Self {
        let mut laid = Laid {
            figures: Vec::new(),
            tables: Vec::new(),
            sections: Vec::new(),
        };
        for part in parts {
            let drawn = part.figures.iter();
            laid.figures
                .extend(drawn.map(|(name, it)| (name.clone(), it.figure.clone())));
            laid.tables.extend(part.tables_behind);
            laid.sections.push(Section {
                heading: part.heading,
                text: part.text,
                figures: part.figures.into_iter().map(|it| it.1).collect(),
                tables: part.tables,
            });
        }
        laid
    }
}

/// A figure with its file name and caption.
pub fn named(name: &str, figure: Figure, caption: &str) -> (String, Illustration) {
    (
        name.to_string(),
        Illustration {
            figure,
            caption: caption.to_string(),
        },
    )
}

fn title_of(joint: &Joint) -> String {
    format!(
        "{} on {}",
        joint.upper.material.name, joint.lower.material.name
    )
}

/// Every input with source and status.
fn inputs_section(joint: &Joint) -> Section {
    let mut tables = vec![Table::of_inputs(
        "Joint and setpoint",
        &inputs::joint_rows(joint),
    )];
    for (name, part) in [("Upper part", &joint.upper), ("Lower part", &joint.lower)] {
        tables.push(Table::of_inputs(
            format!("{name}: light in {}", part.material.name),
            &inputs::optical_rows(joint, part),
        ));
    }
    let (upper, lower) = (&joint.upper.material, &joint.lower.material);
    let mut materials = vec![upper];
    if lower.thermal != upper.thermal || lower.damage != upper.damage {
        materials.push(lower);
    }
    if let Some(clamp) = &joint.clamp {
        materials.push(&clamp.material);
    }
    for material in materials {
        tables.push(Table::of_inputs(
            format!("Heat in {}", material.name),
            &inputs::thermal_rows(material),
        ));
    }
    Section {
        heading: "What it rests on".into(),
        text: String::new(),
        figures: Vec::new(),
        tables,
    }
}
