//! A figure as SVG text.
//!
//! Coordinates carry hundredths of a pixel, so curves are smooth at any scale; areas with holes
//! are filled even-odd; hatches are patterns; hover texts are plain `<title>` elements. The same
//! figure gives the same bytes.
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
use canvas::escaped;
use canvas::number;
use labels::Labels;
use plot::Plot;

pub mod canvas;
pub mod placing;

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
            let mut canvas = Canvas::new(prefix);
            frame::draw_grid(&mut canvas, &plot);
            marks::draw(&mut canvas, &plot, &labels);
            frame::draw_axes(&mut canvas, &plot);
            labels.draw(&mut canvas);
            margins::draw(&mut canvas, &plot);
            return assembled(&plot, canvas);
        }
    }
}

fn assembled(plot: &Plot, canvas: Canvas) -> String {
    let clip = canvas.name("plot");
    let (patterns, body) = canvas.finish();
    let [width, height] = plot.size;
    let (width, height) = (number(width), number(height));
    let [[left, top], [right, bottom]] = plot.frame;
    format!(
        concat!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" "#,
            r#"viewBox="0 0 {width} {height}" role="img" aria-label="{title}" "#,
            r#"font-family="{family}" fill="{ink}">"#,
            r#"<defs><clipPath id="{clip}"><rect x="{left}" y="{top}" width="{across}" height="{down}"/></clipPath>{patterns}</defs>"#,
            r#"<rect width="{width}" height="{height}" fill="{paper}"/>"#,
            "\n{body}</svg>\n"
        ),
        width = width,
        height = height,
        title = escaped(&plot.figure.title),
        family = font::FAMILY,
        ink = INK.hex(),
        clip = clip,
        left = number(left),
        top = number(top),
        across = number(right - left),
        down = number(bottom - top),
        patterns = patterns,
        paper = PAPER.hex(),
        body = body,
    )
}
