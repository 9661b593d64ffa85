//! A figure as SVG text.
//!
//! Plotters draws lines, shapes and grid, in hundredths of a pixel, so curves are smooth at any
//! scale. What it lacks is written around and beside it: labels that keep clear of each other, turned
//! text of known width, dashes, hatches, holes, clip paths and hover texts. The same figure gives the
//! same bytes.
//!
//! ```
//! use lightseam::report::figure::{Axis, Figure, Label, Line, Mark, Stroke};
//! use lightseam::report::palette::Role;
//! use lightseam::report::svg;
//!
//! let mut figure = Figure::new("Cooling", Axis::linear("Time", "ms"), Axis::linear("T", "°C"));
//! let points = (0..50).map(|i| [f64::from(i), 20.0 + 200.0 / (1.0 + f64::from(i))]).collect();
//! figure.marks.push(Mark::Line(Line::new(points, Stroke::solid(Role::Ink), Label::new("interface"))));
//! assert!(svg::document(&figure).contains(">interface</text>"));
//! ```

use std::collections::BTreeSet;

use crate::report::figure::Figure;
use crate::report::font;
use crate::report::palette::INK;
use crate::report::palette::PAPER;

use canvas::Canvas;
use canvas::FINE;
use canvas::escaped;
use canvas::fine;
use labels::Labels;
use plot::Plot;

pub mod canvas;
pub mod placing;

mod clip;
mod field;
mod frame;
mod labels;
mod margins;
mod marks;
mod plot;

/// `figure` as a document of its own, on paper white.
pub fn document(figure: &Figure) -> String {
    inline(figure, "")
}

/// `figure` as an element of a page; `prefix` keeps its names apart from those of other figures.
pub fn inline(figure: &Figure, prefix: &str) -> String {
    let mut in_legend = BTreeSet::new();
    loop {
        let plot = Plot::new(figure, &in_legend);
        let labels = Labels::new(&plot);
        // Labels without room move to the legend, which moves the plot, so all is placed again.
        let before = in_legend.len();
        in_legend.extend(&labels.homeless);
        if in_legend.len() == before {
            let mut canvas = Canvas::new(prefix, plot.size);
            frame::draw_grid(&mut canvas, &plot);
            marks::draw(&mut canvas, &plot, &labels);
            frame::draw_axes(&mut canvas, &plot);
            marks::draw_markers(&mut canvas, &plot);
            labels.draw(&mut canvas);
            margins::draw(&mut canvas, &plot);
            return assembled(&plot, canvas);
        }
    }
}

fn assembled(plot: &Plot, canvas: Canvas) -> String {
    let clip = canvas.name("plot");
    let (patterns, body) = canvas.finish();
    let [across, down] = plot.size.map(fine);
    let [[left, top], [right, bottom]] = plot.frame;
    format!(
        concat!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" "#,
            r#"viewBox="0 0 {across} {down}" role="img" aria-label="{title}" "#,
            r#"font-family="{family}" fill="{ink}">"#,
            r#"<defs><clipPath id="{clip}"><rect x="{left}" y="{top}" width="{plot_across}" height="{plot_down}"/></clipPath>{patterns}</defs>"#,
            r#"<rect width="{across}" height="{down}" fill="{paper}"/>"#,
            "\n{body}</svg>\n"
        ),
        width = f64::from(across) / FINE,
        height = f64::from(down) / FINE,
        across = across,
        down = down,
        title = escaped(&plot.figure.title),
        family = font::FAMILY,
        ink = INK.hex(),
        clip = clip,
        left = fine(left),
        top = fine(top),
        plot_across = fine(right) - fine(left),
        plot_down = fine(bottom) - fine(top),
        patterns = patterns,
        paper = PAPER.hex(),
        body = body,
    )
}
