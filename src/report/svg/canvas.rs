//! SVG elements as text: paths, areas, letters, hatches. Coordinates carry hundredths of a pixel.

use std::fmt::Write;

use crate::report::figure::Dash;
use crate::report::figure::Fill;
use crate::report::figure::Marker;
use crate::report::figure::Stroke;
use crate::report::font::Weight;
use crate::report::palette::Colour;
use crate::report::palette::PAPER;
use crate::report::palette::Role;

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

/// Text of an SVG document under construction.
#[derive(Clone, Debug)]
pub struct Canvas {
    body: String,
    hatches: Vec<(Fill, Colour)>,
    prefix: String,
}

impl Canvas {
    /// An empty canvas; `prefix` keeps its names apart from those of other figures on a page.
    pub fn new(prefix: &str) -> Self {
        Canvas {
            body: String::new(),
            hatches: Vec::new(),
            prefix: prefix.to_string(),
        }
    }

    /// Adds markup as it stands.
    pub fn raw(&mut self, markup: &str) {
        self.body.push_str(markup);
    }

    /// Name of something referred to inside the document.
    pub fn name(&self, what: &str) -> String {
        format!("{}{what}", self.prefix)
    }

    /// A polyline.
    pub fn line(&mut self, points: &[[f64; 2]], stroke: Stroke) {
        if 2 <= points.len() {
            let path = path_data(points, false);
            self.path(&path, stroke);
        }
    }

    /// A stroked path without fill.
    pub fn path(&mut self, data: &str, stroke: Stroke) {
        let colour = stroke.role.colour().hex();
        let width = number(stroke.width_px);
        let dash = dash_array(stroke);
        let _ = write!(
            self.body,
            r#"<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width}" stroke-linejoin="round" stroke-linecap="{}"{dash}/>"#,
            if stroke.dash == Dash::Solid {
                "round"
            } else {
                "butt"
            },
        );
    }

    /// A light ground under a stroke that crosses a coloured field.
    pub fn casing(&mut self, data: &str, width_px: f64) {
        let _ = write!(
            self.body,
            r#"<path d="{data}" fill="none" stroke="{}" stroke-opacity="0.45" stroke-width="{}"/>"#,
            PAPER.hex(),
            number(width_px)
        );
    }

    /// A hairline in a plain colour.
    pub fn hairline(&mut self, a: [f64; 2], b: [f64; 2], colour: Colour, width_px: f64) {
        let _ = write!(
            self.body,
            r#"<path d="M{} {}L{} {}" fill="none" stroke="{}" stroke-width="{}"/>"#,
            number(a[0]),
            number(a[1]),
            number(b[0]),
            number(b[1]),
            colour.hex(),
            number(width_px)
        );
    }

    /// A filled area by the even-odd rule.
    pub fn area(&mut self, rings: &[Vec<[f64; 2]>], role: Role, fill: Fill) {
        let data: String = rings.iter().map(|it| path_data(it, true)).collect();
        if data.is_empty() {
            return;
        }
        let paint = self.paint(role.colour(), fill);
        let _ = write!(
            self.body,
            r#"<path d="{data}" fill-rule="evenodd" fill="{paint}"{}/>"#,
            if fill == Fill::Tint {
                r#" fill-opacity="0.13""#
            } else {
                ""
            }
        );
    }

    /// A filled area in one plain colour, with a hairline of the same that closes seams.
    pub fn plain_area(&mut self, rings: &[Vec<[f64; 2]>], colour: Colour) {
        let data: String = rings.iter().map(|it| path_data(it, true)).collect();
        if !data.is_empty() {
            let hex = colour.hex();
            let _ = write!(
                self.body,
                r#"<path d="{data}" fill-rule="evenodd" fill="{hex}" stroke="{hex}" stroke-width="0.4"/>"#
            );
        }
    }

    /// A rectangle: upper left corner, size.
    pub fn rectangle(&mut self, at: [f64; 2], size: [f64; 2], paint: &str, more: &str) {
        let _ = write!(
            self.body,
            r#"<rect x="{}" y="{}" width="{}" height="{}" fill="{paint}"{more}/>"#,
            number(at[0]),
            number(at[1]),
            number(size[0].max(0.0)),
            number(size[1].max(0.0)),
        );
    }

    /// Paint of a hatch, or the plain colour for a tint.
    pub fn paint(&mut self, colour: Colour, fill: Fill) -> String {
        if fill == Fill::Tint {
            return colour.hex();
        }
        let number = match self.hatches.iter().position(|it| *it == (fill, colour)) {
            Some(number) => number,
            None => {
                self.hatches.push((fill, colour));
                self.hatches.len() - 1
            }
        };
        format!("url(#{})", self.name(&format!("hatch{number}")))
    }

    /// A point.
    pub fn marker(&mut self, at: [f64; 2], marker: Marker, role: Role, radius_px: f64) {
        let colour = role.colour().hex();
        let (x, y, r) = (at[0], at[1], radius_px);
        let ring = |points: &[[f64; 2]]| path_data(points, true);
        let cross = |points: [[f64; 2]; 4]| {
            format!(
                "{}{}",
                path_data(&points[..2], false),
                path_data(&points[2..], false)
            )
        };
        let (data, filled) = match marker {
            Marker::Disc | Marker::Ring => {
                let shape = format!(
                    r#"<circle cx="{}" cy="{}" r="{}""#,
                    number(x),
                    number(y),
                    number(r)
                );
                let paint = if marker == Marker::Disc {
                    format!(r##" fill="{colour}" stroke="#ffffff" stroke-width="0.8"/>"##)
                } else {
                    format!(r##" fill="#ffffff" stroke="{colour}" stroke-width="1.6"/>"##)
                };
                self.body.push_str(&shape);
                self.body.push_str(&paint);
                return;
            }
            Marker::Square => {
                let s = 0.88 * r;
                (
                    ring(&[
                        [x - s, y - s],
                        [x + s, y - s],
                        [x + s, y + s],
                        [x - s, y + s],
                    ]),
                    true,
                )
            }
            Marker::Triangle => (
                ring(&[
                    [x, y - 1.15 * r],
                    [x + r, y + 0.7 * r],
                    [x - r, y + 0.7 * r],
                ]),
                true,
            ),
            Marker::Diamond => {
                let s = 1.2 * r;
                (
                    ring(&[[x, y - s], [x + s, y], [x, y + s], [x - s, y]]),
                    false,
                )
            }
            Marker::Cross => (
                cross([[x - r, y], [x + r, y], [x, y - r], [x, y + r]]),
                false,
            ),
            Marker::Saltire => {
                let s = 0.75 * r;
                (
                    cross([
                        [x - s, y - s],
                        [x + s, y + s],
                        [x - s, y + s],
                        [x + s, y - s],
                    ]),
                    false,
                )
            }
        };
        let fill = match (marker, filled) {
            (_, true) => colour.as_str(),
            (Marker::Diamond, _) => "#ffffff",
            _ => "none",
        };
        let _ = write!(
            self.body,
            r#"<path d="{data}" fill="{fill}" stroke="{colour}" stroke-width="1.8"/>"#
        );
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
                r#" stroke="{}" stroke-width="3.2" stroke-linejoin="round" paint-order="stroke""#,
                it.hex()
            )
        });
        let (x, y) = (number(at[0]), number(at[1]));
        let turn = if angle == 0.0 {
            String::new()
        } else {
            format!(
                r#" transform="rotate({} {x} {y})""#,
                number(angle.to_degrees())
            )
        };
        let _ = write!(
            self.body,
            r#"<text x="{x}" y="{y}" font-size="{}" fill="{}"{weight}{anchor}{rim}{turn}>{}</text>"#,
            number(letters.size_px),
            letters.colour.hex(),
            escaped(words)
        );
    }

    /// Opens a group; close it with [`Canvas::close`].
    pub fn open(&mut self, attributes: &str) {
        let _ = write!(self.body, "<g{attributes}>");
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
                Fill::Tint | Fill::Rising => ("M-2 2L2 -2M0 10L10 0M8 12L12 8", 10),
                Fill::Falling => ("M-2 8L2 12M0 0L10 10M8 -2L12 2", 10),
                Fill::Crossed => ("M0 10L10 0M0 0L10 10", 10),
                Fill::Dots => ("M1 1.5h1.1M4 4.5h1.1", 6),
            };
            let _ = write!(
                patterns,
                r#"<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse"><path d="{strokes}" fill="none" stroke="{colour}" stroke-width="{}"/></pattern>"#,
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

/// A coordinate with hundredths, without needless zeros.
pub fn number(value: f64) -> String {
    let value = if value.is_finite() {
        value.clamp(-1e6, 1e6)
    } else {
        0.0
    };
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    match text {
        "-0" | "" => "0".to_string(),
        _ => text.to_string(),
    }
}

/// Path through points.
pub fn path_data(points: &[[f64; 2]], closed: bool) -> String {
    let mut data = String::new();
    for (i, point) in points.iter().enumerate() {
        let letter = if i == 0 { "M" } else { "L" };
        let _ = write!(data, "{letter}{} {}", number(point[0]), number(point[1]));
    }
    if closed && !points.is_empty() {
        data.push('Z');
    }
    data
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
    let lengths: Vec<String> = lengths.iter().map(|it| number(it * unit)).collect();
    format!(r#" stroke-dasharray="{}""#, lengths.join(" "))
}
