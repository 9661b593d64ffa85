//! CIE 1976 L*a*b*.
//!
//! ```text
//! L* = 116 f(Y/Yn) − 16,   a* = 500 [f(X/Xn) − f(Y/Yn)],   b* = 200 [f(Y/Yn) − f(Z/Zn)]
//! f(t) = t^(1/3)  for t > (6/29)³,   (841/108) t + 4/29  else
//! C* = sqrt(a*² + b*²),   h = atan2(b*, a*) in degrees, 0 to 360
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | Xn, Yn, Zn | `white` | tristimulus values of the ideal white under the same illuminant |
//! | L*, a*, b* | `Lab` | lightness, red-green, yellow-blue |
//! | C*, h | `chroma`, `hue_deg` | chroma, hue angle |
//!
//! The linear branch holds below L* = 8; blacks come near it.
//!
//! Source: ISO/CIE 11664-4:2019. Checked in: `tests/colour/tristimulus.rs`.

use crate::colour::observer::Observer;
use crate::colour::tristimulus::{Tristimulus, white};

/// A colour in L*a*b*.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lab {
    /// Lightness L*, 0 (black) to 100 (ideal white).
    pub lightness: f64,
    /// a*: red above zero, green below.
    pub a: f64,
    /// b*: yellow above zero, blue below.
    pub b: f64,
}

impl Lab {
    /// L*a*b* of tristimulus values under D65.
    ///
    /// ```
    /// use lightseam::colour::{Lab, Observer, Visible, tristimulus};
    ///
    /// // 5 % at every wavelength: L* = 116 · 0.05^(1/3) − 16, and no colour.
    /// let grey = tristimulus(&Visible::flat(0.05), Observer::TenDegrees);
    /// let lab = Lab::of(grey, Observer::TenDegrees);
    /// assert!((lab.lightness - 26.734765).abs() < 1e-6 && lab.chroma() < 1e-9);
    /// ```
    pub fn of(colour: Tristimulus, observer: Observer) -> Self {
        let white = white(observer);
        let (x, y, z) = (
            f(colour.x / white.x),
            f(colour.y / white.y),
            f(colour.z / white.z),
        );
        Lab {
            lightness: 116.0 * y - 16.0,
            a: 500.0 * (x - y),
            b: 200.0 * (y - z),
        }
    }

    /// Chroma C*.
    pub fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }

    /// Hue angle h, degrees from 0 to 360; 0 for a grey.
    pub fn hue_deg(self) -> f64 {
        let angle = self.b.atan2(self.a).to_degrees();
        if angle < 0.0 { angle + 360.0 } else { angle }
    }
}

fn f(t: f64) -> f64 {
    let corner = 6.0 / 29.0;
    if corner * corner * corner < t {
        t.cbrt()
    } else {
        841.0 / 108.0 * t + 4.0 / 29.0
    }
}
