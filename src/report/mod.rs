//! Results in, figures and pages out; nothing here touches the disk.
//!
//! A page holds the question, the answer, warnings, figures, tables, every input with its source,
//! cautions, version and seed. Figures and tables are data first and text second: adapters of a
//! study fill [`Figure`](figure::Figure), [`Table`](table::Table) and [`Page`](page::Page), and the
//! rest of this folder draws them.

pub mod number;

pub mod process;

pub mod palette;

pub mod font;

pub mod side_by_side;

pub mod figure;

pub mod axis;

pub mod isoband;

pub mod svg;

pub mod png;

pub mod table;

pub mod failures;

pub mod cautions;

pub mod page;

pub mod answer;

pub mod inputs;

pub mod card;

pub mod bundle;

pub mod weld_figures;

pub mod melt_figure;

pub mod weld_report;

pub mod window_figure;

pub mod gap_report;
pub mod window_report;

pub mod survey_figure;

pub mod survey_report;

pub mod spectra_figures;

pub mod spectra_tables;

pub mod spectra_report;

pub mod compare_report;

pub mod colour_tables;

pub mod colour_figures;

pub mod colour_report;

pub mod colour_json;

pub mod clearing_report;

pub mod cross_section_figure;

pub mod cross_section_report;

pub mod tolerance_figures;

pub mod tolerance_report;

pub mod require_figures;

pub mod require_report;

pub mod rank_figure;

pub mod rank_report;

pub mod pair_table;

pub mod json;

pub mod trials_report;

pub mod calibration_report;

pub mod page_json;

pub mod settings_table;

pub mod light_figures;

pub mod joint_report;

pub mod joint_comparison;

pub mod joint_comparison_figures;

pub mod validation_report;

pub use bundle::Report;
