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

/// Letters of the longest word that counts as the unit of the number before it: "passes,".
const LONGEST_UNIT: usize = 8;

/// Whether no line may end between two words: a number and its unit.
fn belong_together(before: &str, after: &str) -> bool {
    before.ends_with(|it: char| it.is_ascii_digit())
        && !after.starts_with(|it: char| it.is_ascii_digit())
        && after.chars().count() <= LONGEST_UNIT
}

/// The words of a line, a number and its unit as one.
fn words(paragraph: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in paragraph.split_whitespace() {
        match words.last_mut() {
            Some(last) if belong_together(last, word) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

/// `text` in lines no wider than `room_px` where words allow; a number keeps its unit beside it.
///
/// ```
/// use lightseam::report::font::{Weight, wrapped};
///
/// let lines = wrapped("recommended: 3.01 W, 6.80 mm/s", 12.0, Weight::Regular, 110.0);
/// assert_eq!(lines, ["recommended:", "3.01 W, 6.80 mm/s"]);
/// ```
pub fn wrapped(text: &str, size_px: f64, weight: Weight, room_px: f64) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in words(paragraph) {
            let longer = if line.is_empty() {
                word.clone()
            } else {
                format!("{line} {word}")
            };
            if !line.is_empty() && room_px < width_px(&longer, size_px, weight) {
                lines.push(std::mem::replace(&mut line, word));
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
