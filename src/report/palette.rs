//! Colours of figures: perceptually uniform maps, colour-blind-safe roles, no traffic lights.
//!
//! Roles take their colours from the set of M. Okabe and K. Ito, *Color Universal Design* (2008),
//! which keeps its hues apart for protan, deutan and tritan readers. A role is never told by colour
//! alone: line style, marker, hatch or a text label stands beside it.
//!
//! Maps are straight lines in the OKLab space of B. Ottosson, *A perceptual color space for image
//! processing* (2020), so that equal steps of value are equal steps of colour and lightness rises
//! steadily: they survive grey printing. Checked in `tests/report/palette.rs` against CIE lightness.

use crate::colour::srgb::encoded;

/// An sRGB colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour {
    /// Red, green and blue, 0 to 255.
    pub rgb: [u8; 3],
}

impl Colour {
    const fn new(red: u8, green: u8, blue: u8) -> Self {
        Colour {
            rgb: [red, green, blue],
        }
    }

    /// As `#rrggbb`.
    pub fn hex(self) -> String {
        let [red, green, blue] = self.rgb;
        format!("#{red:02x}{green:02x}{blue:02x}")
    }

    /// This colour moved towards `other` by `share` (0 to 1), in sRGB.
    pub fn towards(self, other: Colour, share: f64) -> Colour {
        let mut rgb = [0; 3];
        for (to, (a, b)) in rgb.iter_mut().zip(self.rgb.into_iter().zip(other.rgb)) {
            *to = (f64::from(a) + (f64::from(b) - f64::from(a)) * share.clamp(0.0, 1.0)).round()
                as u8;
        }
        Colour { rgb }
    }

    /// Relative luminance by IEC 61966-2-1, 0 (black) to 1 (white).
    pub fn luminance(self) -> f64 {
        let linear = self.rgb.map(|it| {
            let it = f64::from(it) / 255.0;
            if it <= 0.04045 {
                it / 12.92
            } else {
                ((it + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    }
}

/// Text and strong strokes.
pub const INK: Colour = Colour::new(0x1c, 0x24, 0x2e);
/// Secondary text.
pub const QUIET: Colour = Colour::new(0x5a, 0x66, 0x73);
/// Grid lines.
pub const GRID: Colour = Colour::new(0xe4, 0xe8, 0xec);
/// Finer grid lines.
pub const GRID_FINE: Colour = Colour::new(0xf1, 0xf3, 0xf5);
/// The frame of a plot.
pub const FRAME: Colour = Colour::new(0x8c, 0x97, 0xa3);
/// Paper.
pub const PAPER: Colour = Colour::new(0xff, 0xff, 0xff);

const BLACK: Colour = Colour::new(0x1c, 0x1c, 0x1c);
const ORANGE: Colour = Colour::new(0xe6, 0x9f, 0x00);
const SKY: Colour = Colour::new(0x56, 0xb4, 0xe9);
const GREEN: Colour = Colour::new(0x00, 0x9e, 0x73);
const BLUE: Colour = Colour::new(0x00, 0x72, 0xb2);
const VERMILLION: Colour = Colour::new(0xd5, 0x5e, 0x00);
const PURPLE: Colour = Colour::new(0xcc, 0x79, 0xa7);

/// What a colour stands for. Yellow of the set is left out: it vanishes on paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Role {
    /// Neutral and strong: setpoints, recommended boxes, single curves.
    Ink,
    /// Neutral and faint: limits of the machine, hatches.
    Quiet,
    /// Fainter still: guides.
    Guide,
    /// Where the weld is sound.
    Sound,
    /// The cold side: not fused.
    Unfused,
    /// Fused, but too thin or too short.
    Weak,
    /// The hot side: thermal damage.
    Degraded,
    /// Damage of the laser-side surface.
    Marked,
    /// One of several curves without rank; repeats after seven.
    Series(usize),
    /// The colour of a thing itself: a swatch.
    Own(Colour),
    /// One of several curves in order, 0 (first, dark) to 1 (last, light), for instance in time.
    Along(f64),
}

impl Role {
    /// Colour of strokes and fills.
    pub fn colour(self) -> Colour {
        const SERIES: [Colour; 7] = [BLUE, VERMILLION, GREEN, PURPLE, ORANGE, SKY, BLACK];
        match self {
            Role::Own(colour) => colour,
            Role::Ink => INK,
            Role::Quiet => QUIET,
            Role::Guide => FRAME,
            Role::Sound | Role::Unfused => BLUE,
            Role::Weak => SKY,
            Role::Degraded => VERMILLION,
            Role::Marked => PURPLE,
            Role::Series(number) => SERIES[number % SERIES.len()],
            // The lightest third of the map would vanish on paper.
            Role::Along(share) => Map::Dusk.colour(0.05 + 0.6 * unit_interval(share)),
        }
    }

    /// Colour of text about it: darker, so that small letters keep their contrast.
    pub fn text_colour(self) -> Colour {
        let mut colour = self.colour();
        while 0.18 < colour.luminance() {
            colour = colour.towards(INK, 0.15);
        }
        colour
    }
}

/// A map from 0…1 to a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Map {
    /// Dark blue to sand by way of teal, dark to light: for fields.
    Dusk,
    /// Paper to deep blue: for fields that carry many labels.
    Water,
    /// Vermillion (below 0.5) by way of paper to blue (above): for signed margins.
    Signed,
}

impl Map {
    /// Colour at `share`, 0 to 1; held at the ends.
    pub fn colour(self, share: f64) -> Colour {
        let share = unit_interval(share);
        match self {
            Map::Dusk if share < 0.5 => between(DUSK[0], DUSK[1], 2.0 * share),
            Map::Dusk => between(DUSK[1], DUSK[2], 2.0 * share - 1.0),
            Map::Water => between([0.975, -0.006, -0.008], [0.43, -0.040, -0.105], share),
            Map::Signed if share < 0.5 => {
                between([0.56, 0.115, 0.105], [0.975, 0.0, 0.0], 2.0 * share)
            }
            Map::Signed => between([0.975, 0.0, 0.0], [0.47, -0.040, -0.110], 2.0 * share - 1.0),
        }
    }
}

/// Corners of [`Map::Dusk`]: its two halves are equally long, so that steps are equal throughout.
const DUSK: [[f64; 3]; 3] = [
    [0.31, -0.010, -0.095],
    [0.63, -0.085, -0.030],
    [0.945, -0.015, 0.080],
];

fn unit_interval(share: f64) -> f64 {
    if share.is_nan() {
        0.5
    } else {
        share.clamp(0.0, 1.0)
    }
}

/// Point of a straight line in OKLab, as sRGB.
fn between(from: [f64; 3], to: [f64; 3], share: f64) -> Colour {
    let at = |i: usize| from[i] + (to[i] - from[i]) * share;
    let (lightness, a, b) = (at(0), at(1), at(2));
    let l = (lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let m = (lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let s = (lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    let linear = [
        4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s,
        -1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s,
        -0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s,
    ];
    Colour {
        rgb: encoded(linear),
    }
}
