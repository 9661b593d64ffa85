//! The embedded typeface, and how wide its words are.
//!
//! Inter by The Inter Project Authors, SIL Open Font License 1.1 (`font/OFL.txt`), cut to the
//! signs of European text, Greek letters, figures and arrows.

use std::sync::LazyLock;

use skrifa::FontRef;
use skrifa::MetadataProvider;
use skrifa::instance::LocationRef;
use skrifa::instance::Size;

/// What SVG and HTML ask for.
pub const FAMILY: &str = "Inter, 'Helvetica Neue', Arial, sans-serif";

/// Inter Regular, TrueType.
pub const REGULAR: &[u8] = include_bytes!("font/Inter-Regular.ttf");

/// Inter SemiBold, TrueType.
pub const SEMIBOLD: &[u8] = include_bytes!("font/Inter-SemiBold.ttf");

/// Weight of letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For names.
    SemiBold,
}

/// Characters measured once; others count as wide as a digit.
const MEASURED: usize = 0x2300;

/// Advance of a character the font lacks, in em.
const USUAL_ADVANCE_EM: f64 = 0.62;

static REGULAR_ADVANCES_EM: LazyLock<Vec<f32>> = LazyLock::new(|| advances_em(REGULAR));
static SEMIBOLD_ADVANCES_EM: LazyLock<Vec<f32>> = LazyLock::new(|| advances_em(SEMIBOLD));

/// Width of `text` set in one line at `size_px`, px; kerning left out (under 2 %).
///
/// ```
/// use lightseam::report::font::{Weight, width_px};
///
/// let narrow = width_px("ill", 12.0, Weight::Regular);
/// assert!(0.0 < narrow && narrow < width_px("WWW", 12.0, Weight::Regular));
/// ```
pub fn width_px(text: &str, size_px: f64, weight: Weight) -> f64 {
    let advances = match weight {
        Weight::Regular => &REGULAR_ADVANCES_EM,
        Weight::SemiBold => &SEMIBOLD_ADVANCES_EM,
    };
    let em: f64 = text
        .chars()
        .map(|it| {
            advances
                .get(it as usize)
                .map_or(USUAL_ADVANCE_EM, |it| f64::from(*it))
        })
        .sum();
    em * size_px
}

/// `text` in lines no wider than `room_px` where words allow.
pub fn wrapped(text: &str, size_px: f64, weight: Weight, room_px: f64) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let longer = if line.is_empty() {
                word.to_string()
            } else {
                format!("{line} {word}")
            };
            if !line.is_empty() && room_px < width_px(&longer, size_px, weight) {
                lines.push(std::mem::replace(&mut line, word.to_string()));
            } else {
                line = longer;
            }
        }
        lines.push(line);
    }
    lines
}

fn advances_em(font: &[u8]) -> Vec<f32> {
    let mut advances = vec![USUAL_ADVANCE_EM as f32; MEASURED];
    if let Ok(font) = FontRef::new(font) {
        let glyphs = font.charmap();
        let metrics = font.glyph_metrics(Size::new(1.0), LocationRef::default());
        for (code, advance) in (0u32..).zip(&mut advances) {
            if let Some(known) = glyphs.map(code).and_then(|it| metrics.advance_width(it)) {
                *advance = known;
            }
        }
    }
    advances
}
