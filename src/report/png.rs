//! SVG text to PNG bytes, with the embedded typeface.
//!
//! No font of the machine is looked at, so a picture is the same everywhere.

use std::sync::Arc;
use std::sync::LazyLock;

use resvg::tiny_skia::Pixmap;
use resvg::tiny_skia::Transform;
use resvg::usvg::Options;
use resvg::usvg::Tree;
use resvg::usvg::fontdb::Database;
use resvg::usvg::fontdb::FaceInfo;
use resvg::usvg::fontdb::Language;

use crate::error::ReportProblem;
use crate::report::font;

/// Pixels per CSS pixel: sharp on dense screens and in print at 190 dpi.
pub const SCALE: f32 = 2.0;

static FONTS: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut fonts = Database::new();
    fonts.load_font_data(font::REGULAR.to_vec());
    fonts.load_font_data(font::SEMIBOLD.to_vec());
    // The heavier face calls its family "Inter SemiBold"; figures ask for "Inter" at weight 600.
    let faces: Vec<FaceInfo> = fonts.faces().cloned().collect();
    for face in faces {
        fonts.remove_face(face.id);
        fonts.push_face_info(FaceInfo {
            families: vec![("Inter".to_string(), Language::English_UnitedStates)],
            ..face
        });
    }
    fonts.set_sans_serif_family("Inter");
    Arc::new(fonts)
});

/// PNG bytes of an SVG document at [`SCALE`].
///
/// # Errors
///
/// [`ReportProblem::Picture`] if `svg` is no SVG document or too large to draw.
pub fn encode(svg: &str) -> Result<Vec<u8>, ReportProblem> {
    encode_with(svg, Arc::clone(&FONTS))
}

/// The same with other fonts; for tests of what the embedded one contributes.
///
/// # Errors
///
/// As [`encode`].
pub fn encode_with(svg: &str, fonts: Arc<Database>) -> Result<Vec<u8>, ReportProblem> {
    let options = Options {
        font_family: "Inter".to_string(),
        fontdb: fonts,
        ..Options::default()
    };
    let failed = |reason: String| ReportProblem::Picture { reason };
    let tree = Tree::from_str(svg, &options).map_err(|it| failed(it.to_string()))?;
    let size = tree.size();
    let pixels = |length: f32| (length * SCALE).ceil().max(1.0) as u32;
    let mut pixmap = Pixmap::new(pixels(size.width()), pixels(size.height())).ok_or_else(|| {
        failed(format!(
            "{} by {} px is too large",
            size.width(),
            size.height()
        ))
    })?;
    resvg::render(
        &tree,
        Transform::from_scale(SCALE, SCALE),
        &mut pixmap.as_mut(),
    );
    pixmap.encode_png().map_err(|it| failed(it.to_string()))
}
