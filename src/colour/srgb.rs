//! A swatch: the colour a screen shows for tristimulus values of the 2° observer under D65.
//!
//! ```text
//! [R G B] = M [X Y Z] / 100,   clipped to 0 … 1
//! v' = 12.92 v  for v ≤ 0.0031308,   1.055 v^(1/2.4) − 0.055  else
//! ```
//!
//! Holds for: a screen that keeps to sRGB, whose white stands for the ideal white. Colours outside
//! its gamut are clipped, and said to be. A swatch shows the hue of a black, not its gloss.
//!
//! Source: IEC 61966-2-1:1999 (matrix M to four digits, as printed there).
//! Checked in: `tests/colour/srgb.rs`.

use crate::colour::tristimulus::Tristimulus;

const MATRIX: [[f64; 3]; 3] = [
    [3.2406, -1.5372, -0.4986],
    [-0.9689, 1.8758, 0.0415],
    [0.0557, -0.2040, 1.0570],
];

/// How far outside 0 … 1 a channel may lie before the colour counts as out of gamut; the rounding of
/// the matrix moves the white point by as much.
const ROUNDING: f64 = 5e-4;

/// The colour of a swatch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swatch {
    /// Red, green and blue, 0 to 255.
    pub rgb: [u8; 3],
    /// True where the colour lies outside the gamut of sRGB and was clipped.
    pub clipped: bool,
}

impl Swatch {
    /// As `#rrggbb`.
    pub fn hex(self) -> String {
        let [red, green, blue] = self.rgb;
        format!("#{red:02x}{green:02x}{blue:02x}")
    }
}

/// Linear red, green and blue as a screen wants them; what lies outside 0 to 1 is cut off.
pub fn encoded(linear: [f64; 3]) -> [u8; 3] {
    linear.map(|it| {
        let it = it.clamp(0.0, 1.0);
        let encoded = if it <= 0.003_130_8 {
            12.92 * it
        } else {
            1.055 * it.powf(1.0 / 2.4) - 0.055
        };
        (255.0 * encoded).round() as u8
    })
}

/// Swatch of tristimulus values of the 2° observer.
pub fn swatch(colour: Tristimulus) -> Swatch {
    let xyz = [colour.x, colour.y, colour.z];
    let linear = MATRIX.map(|row| row.iter().zip(xyz).map(|(m, v)| m * v / 100.0).sum::<f64>());
    Swatch {
        rgb: encoded(linear),
        clipped: linear
            .iter()
            .any(|it| !(-ROUNDING..=1.0 + ROUNDING).contains(it)),
    }
}
