//! The sheet a figure is drawn on: plotters for lines and shapes, SVG of one's own for the rest.
//!
//! Plotters counts in whole units, so a unit is a hundredth of a px and curves stay smooth. Its SVG
//! backend writes no dashes, hatches, holes, hover texts or clip paths, and turns text by quarters
//! only: dashes, joins, clips and titles are put on groups around what it writes, hatched areas,
//! areas with holes and text are elements beside it. Numbers here are px and become units as they
//! are written.

use std::fmt::Write;

use plotters::coord::CoordTranslate;
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::types::RangedCoordf64;
use plotters::drawing::DrawingArea;
use plotters::drawing::DrawingAreaErrorKind;
use plotters::drawing::IntoDrawingArea;
use plotters::element::Circle;
use plotters::element::Drawable;
use plotters::element::PathElement;
use plotters::element::PointCollection;
use plotters::element::Polygon;
use plotters::element::Rectangle;
use plotters::prelude::SVGBackend;
use plotters::style::Color;
use plotters::style::RGBColor;
use plotters::style::ShapeStyle;

use crate::report::figure::Dash;
use crate::report::figure::Fill;
use crate::report::figure::Marker;
use crate::report::figure::Stroke;
use crate::report::font::Weight;
use crate::report::palette::Colour;
use crate::report::palette::PAPER;
use crate::report::palette::Role;

/// Units of the drawing in a px.
pub const FINE: f64 = 100.0;

/// Where text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// How text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Letters {
    /// Size, px.
    pub size_px: f64,
    /// Weight.
    pub weight: Weight,
    /// Colour.
    pub colour: Colour,
    /// Where it is held.
    pub anchor: Anchor,
    /// Colour of a rim that parts it from what lies below.
    pub rim: Option<Colour>,
}

/// How a drawing went; written into memory, it never fails.
pub type Drawn = Result<(), DrawingAreaErrorKind<std::io::Error>>;

/// Px of the page, from its upper left corner.
pub type Page = Cartesian2d<RangedCoordf64, RangedCoordf64>;

/// An SVG document under construction.
#[derive(Clone, Debug)]
pub struct Canvas {
    body: String,
    hatches: Vec<(Fill, Colour)>,
    prefix: String,
    size_px: [f64; 2],
}

impl Canvas {
    /// An empty canvas; `prefix` keeps its names apart from those of other figures on a page.
    pub fn new(prefix: &str, size_px: [f64; 2]) -> Self {
        Canvas {
            body: String::new(),
            hatches: Vec::new(),
            prefix: prefix.to_string(),
            size_px,
        }
    }

    /// Name of something referred to inside the document.
    pub fn name(&self, what: &str) -> String {
        format!("{}{what}", self.prefix)
    }

    /// Draws with plotters in `coordinates`.
    pub fn draw<C: CoordTranslate>(
        &mut self,
        coordinates: C,
        draw: impl FnOnce(&DrawingArea<SVGBackend, C>) -> Drawn,
    ) {
        let size = self.size_px.map(width);
        let mut document = String::new();
        let area = SVGBackend::with_string(&mut document, (size[0], size[1]))
            .into_drawing_area()
            .apply_coord_spec(coordinates);
        // Text in memory takes whatever is drawn.
        let _ = draw(&area);
        drop(area);
        // Of the document plotters writes, all but its outer element goes into this one.
        let inner = document.split_once(">\n").map_or("", |it| it.1);
        self.body
            .push_str(inner.trim_end().trim_end_matches("</svg>"));
    }

    /// Draws one element in px.
    fn put<E>(&mut self, element: E)
    where
        for<'e> &'e E: PointCollection<'e, (f64, f64)>,
        E: for<'b> Drawable<SVGBackend<'b>>,
    {
        let [across, down] = self.size_px;
        let [right, bottom] = [fine(across), fine(down)];
        let page = Page::new(0.0..across, 0.0..down, (0..right, 0..bottom));
        self.draw(page, |area| area.draw(&element));
    }

    /// A line in several pieces.
    pub fn line(&mut self, pieces: &[Vec<[f64; 2]>], stroke: Stroke) {
        let cap = if stroke.dash == Dash::Solid {
            "round"
        } else {
            "butt"
        };
        let dash = dash_array(stroke);
        self.open(&format!(
            r#" stroke-linejoin="round" stroke-linecap="{cap}"{dash}"#
        ));
        for piece in pieces.iter().filter(|it| 2 <= it.len()) {
            let style = plain(stroke.role.colour()).stroke_width(width(stroke.width_px));
            self.put(PathElement::new(pairs(piece), style));
        }
        self.close();
    }

    /// A light ground under a line that crosses a coloured field.
    pub fn casing(&mut self, pieces: &[Vec<[f64; 2]>], width_px: f64) {
        let style = plain(PAPER).mix(0.45).stroke_width(width(width_px));
        for piece in pieces.iter().filter(|it| 2 <= it.len()) {
            self.put(PathElement::new(pairs(piece), style));
        }
    }

    /// A hairline in a plain colour.
    pub fn hairline(&mut self, a: [f64; 2], b: [f64; 2], colour: Colour, width_px: f64) {
        let style = plain(colour).stroke_width(width(width_px));
        self.put(PathElement::new(pairs(&[a, b]), style));
    }

    /// An area by the even-odd rule, tinted or hatched.
    pub fn area(&mut self, rings: &[Vec<[f64; 2]>], colour: Colour, fill: Fill) {
        match fill {
            Fill::Tint => self.filled(rings, colour, 0.13),
            Fill::Full => self.filled(rings, colour, 1.0),
            _ => {
                let paint = self.hatch(colour, fill);
                self.path(rings, &paint, 1.0);
            }
        }
    }

    /// An area by the even-odd rule in one plain colour.
    pub fn filled(&mut self, rings: &[Vec<[f64; 2]>], colour: Colour, opacity: f64) {
        match rings {
            // The polygons of plotters have no holes.
            [ring] => self.put(Polygon::new(pairs(ring), plain(colour).mix(opacity))),
            _ => self.path(rings, &colour.hex(), opacity),
        }
    }

    /// A rectangle in one plain colour: upper left corner, size.
    pub fn bar(&mut self, at: [f64; 2], size: [f64; 2], colour: Colour) {
        let corners = [(at[0], at[1]), (at[0] + size[0], at[1] + size[1])];
        self.put(Rectangle::new(corners, plain(colour).filled()));
    }

    /// The outline of a rectangle: upper left corner, size.
    pub fn outline(&mut self, at: [f64; 2], size: [f64; 2], colour: Colour, width_px: f64) {
        // Plotters leaves the width of this stroke open.
        self.open(&format!(r#" stroke-width="{}""#, width(width_px)));
        let corners = [(at[0], at[1]), (at[0] + size[0], at[1] + size[1])];
        self.put(Rectangle::new(corners, plain(colour)));
        self.close();
    }

    /// A point.
    pub fn marker(&mut self, at: [f64; 2], marker: Marker, role: Role, radius_px: f64) {
        let colour = role.colour();
        let ring = |rim: Colour, width_px| plain(rim).stroke_width(width(width_px));
        let (ground, rim) = match marker {
            Marker::Disc => (colour, ring(PAPER, 0.8)),
            Marker::Ring => (PAPER, ring(colour, 1.6)),
            Marker::Diamond => (PAPER, ring(colour, 1.8)),
            _ => (colour, ring(colour, 1.8)),
        };
        let place = (at[0], at[1]);
        let strokes = strokes(marker);
        if strokes.is_empty() {
            let radius = fine(radius_px);
            self.put(Circle::new(place, radius, plain(ground).filled()));
            self.put(Circle::new(place, radius, rim));
            return;
        }
        for stroke in strokes {
            let corner = |it: &[f64; 2]| (place.0 + radius_px * it[0], place.1 + radius_px * it[1]);
            let corners: Vec<(f64, f64)> = stroke.iter().map(corner).collect();
            if stroke.first() == stroke.last() {
                self.put(Polygon::new(corners.clone(), plain(ground)));
            }
            self.put(PathElement::new(corners, rim));
        }
    }

    /// A place that shows `words` when pointed at: upper left corner, size.
    pub fn hover_place(&mut self, at: [f64; 2], size: [f64; 2], words: &str) {
        let _ = writeln!(
            self.body,
            r#"<rect x="{}" y="{}" width="{}" height="{}" fill-opacity="0"><title>{}</title></rect>"#,
            fine(at[0]),
            fine(at[1]),
            fine(size[0].max(0.0)),
            fine(size[1].max(0.0)),
            escaped(words)
        );
    }

    /// Rings with holes, or filled with a hatch.
    fn path(&mut self, rings: &[Vec<[f64; 2]>], paint: &str, opacity: f64) {
        let data: String = rings.iter().map(|it| path_data(it)).collect();
        if !data.is_empty() {
            let _ = writeln!(
                self.body,
                r#"<path d="{data}" fill-rule="evenodd" fill="{paint}" opacity="{opacity}"/>"#
            );
        }
    }

    /// Paint of a hatch.
    fn hatch(&mut self, colour: Colour, fill: Fill) -> String {
        let number = match self.hatches.iter().position(|it| *it == (fill, colour)) {
            Some(number) => number,
            None => {
                self.hatches.push((fill, colour));
                self.hatches.len() - 1
            }
        };
        format!("url(#{})", self.name(&format!("hatch{number}")))
    }

    /// One line of text with its baseline at `at`, turned clockwise by `angle` radians about it.
    pub fn text(&mut self, at: [f64; 2], words: &str, letters: Letters, angle: f64) {
        if words.is_empty() {
            return;
        }
        let anchor = match letters.anchor {
            Anchor::Start => "",
            Anchor::Middle => r#" text-anchor="middle""#,
            Anchor::End => r#" text-anchor="end""#,
        };
        let weight = match letters.weight {
            Weight::Regular => "",
            Weight::SemiBold => r#" font-weight="600""#,
        };
        let rim = letters.rim.map_or(String::new(), |it| {
            format!(
                r#" stroke="{}" stroke-width="{}" stroke-linejoin="round" paint-order="stroke""#,
                it.hex(),
                width(3.2)
            )
        });
        let (x, y) = (fine(at[0]), fine(at[1]));
        let turn = if angle == 0.0 {
            String::new()
        } else {
            format!(r#" transform="rotate({:.2} {x} {y})""#, angle.to_degrees())
        };
        let _ = writeln!(
            self.body,
            r#"<text x="{x}" y="{y}" font-size="{}" fill="{}"{weight}{anchor}{rim}{turn}>{}</text>"#,
            fine(letters.size_px),
            letters.colour.hex(),
            escaped(words)
        );
    }

    /// Opens a group; close it with [`Canvas::close`].
    pub fn open(&mut self, attributes: &str) {
        let _ = writeln!(self.body, "<g{attributes}>");
    }

    /// A hover text for the group just opened.
    pub fn hover(&mut self, words: &str) {
        let _ = write!(self.body, "<title>{}</title>", escaped(words));
    }

    /// Closes a group.
    pub fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// Patterns used, and everything drawn.
    pub fn finish(self) -> (String, String) {
        let mut patterns = String::new();
        for (number, (fill, colour)) in self.hatches.iter().enumerate() {
            let name = self.name(&format!("hatch{number}"));
            // The colour is lightened rather than made transparent: prints alike everywhere.
            let colour = colour.towards(PAPER, 0.6).hex();
            let (strokes, size) = match fill {
                Fill::Tint | Fill::Full | Fill::Rising => ("M-2 2L2 -2M0 10L10 0M8 12L12 8", 10),
                Fill::Falling => ("M-2 8L2 12M0 0L10 10M8 -2L12 2", 10),
                Fill::Crossed => ("M0 10L10 0M0 0L10 10", 10),
                Fill::Dots => ("M1 1.5h1.1M4 4.5h1.1", 6),
            };
            let _ = write!(
                patterns,
                r#"<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" patternTransform="scale({FINE})"><path d="{strokes}" fill="none" stroke="{colour}" stroke-width="{}"/></pattern>"#,
                if *fill == Fill::Dots { "1.1" } else { "0.8" }
            );
        }
        (patterns, self.body)
    }
}

/// Text safe inside elements and attributes of XML; signs XML forbids become a replacement sign.
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\t' | '\n' | '\r' => safe.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => safe.push('\u{fffd}'),
            _ => safe.push(sign),
        }
    }
    safe
}

/// A length or place in units of the drawing.
pub fn fine(px: f64) -> i32 {
    let units = (FINE * px).round();
    // Whole numbers of this size are exact; what is no number becomes zero.
    units.clamp(-1e6, 1e6) as i32
}

/// A length that is not negative, in units of the drawing.
pub fn width(px: f64) -> u32 {
    fine(px).unsigned_abs()
}

/// A line of one px.
pub fn hair(colour: Colour) -> ShapeStyle {
    plain(colour).stroke_width(width(1.0))
}

fn plain(colour: Colour) -> RGBColor {
    let [red, green, blue] = colour.rgb;
    RGBColor(red, green, blue)
}

fn pairs(points: &[[f64; 2]]) -> Vec<(f64, f64)> {
    points.iter().map(|it| (it[0], it[1])).collect()
}

/// Closed path through points.
fn path_data(points: &[[f64; 2]]) -> String {
    let mut data = String::new();
    for (i, point) in points.iter().enumerate() {
        let letter = if i == 0 { "M" } else { "L" };
        let _ = write!(data, "{letter}{} {}", fine(point[0]), fine(point[1]));
    }
    if !points.is_empty() {
        data.push('Z');
    }
    data
}

/// Strokes of a marker in radii. Those that end where they began are filled, and begin amid a side,
/// so that all corners are joined alike. None: a circle.
fn strokes(marker: Marker) -> &'static [&'static [[f64; 2]]] {
    const S: f64 = 0.88;
    match marker {
        Marker::Disc | Marker::Ring => &[],
        Marker::Square => &[&[[0.0, -S], [S, -S], [S, S], [-S, S], [-S, -S], [0.0, -S]]],
        Marker::Triangle => &[&[
            [0.0, 0.7],
            [-1.0, 0.7],
            [0.0, -1.15],
            [1.0, 0.7],
            [0.0, 0.7],
        ]],
        Marker::Diamond => &[&[
            [0.6, -0.6],
            [1.2, 0.0],
            [0.0, 1.2],
            [-1.2, 0.0],
            [0.0, -1.2],
            [0.6, -0.6],
        ]],
        Marker::Cross => &[&[[-1.0, 0.0], [1.0, 0.0]], &[[0.0, -1.0], [0.0, 1.0]]],
        Marker::Saltire => &[
            &[[-0.75, -0.75], [0.75, 0.75]],
            &[[-0.75, 0.75], [0.75, -0.75]],
        ],
    }
}

fn dash_array(stroke: Stroke) -> String {
    let lengths: &[f64] = match stroke.dash {
        Dash::Solid => return String::new(),
        Dash::Dashed => &[3.5, 2.2],
        Dash::Long => &[8.0, 2.6],
        Dash::Dotted => &[1.0, 1.9],
        Dash::DashDot => &[6.0, 2.0, 1.0, 2.0],
    };
    // Fine lines need longer dashes than their width suggests.
    let unit = stroke.width_px.max(1.6);
    let lengths: Vec<String> = lengths
        .iter()
        .map(|it| width(it * unit).to_string())
        .collect();
    format!(r#" stroke-dasharray="{}""#, lengths.join(" "))
}
