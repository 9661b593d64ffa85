//! Irradiance at one point of the seam as the beam passes over it.
//!
//! ```text
//! top-hat   E = P / (l w)                            while the beam covers the point, l / v
//! Gaussian  E = 8 P / (π l w) exp(−8 (v t / l)²)     l, w: 1/e² full length and width
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | P | `power_w` | power that reaches the part | W |
//! | l, w | `length_m`, `width_m` | beam along and across the seam | m |
//! | v | `speed_m_per_s` | feed rate of the beam along the seam | m/s |
//! | E | – | irradiance at the middle of the seam | W/m² |
//!
//! One passage is contour welding; the same passage many times is quasi-simultaneous or radial
//! welding; one long shot is simultaneous welding.
//!
//! Source: ISO 11146-1 for the 1/e² width (second moments of a Gaussian; from memory).
//! Checked in: `tests/optics/beam.rs`.

use std::f64::consts::PI;

/// Irradiance shape along and across the seam.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Shape {
    /// The same irradiance everywhere in a rectangle.
    TopHat,
    /// Gaussian in both directions; sizes are 1/e² full widths.
    Gaussian,
}

/// A laser spot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beam {
    /// Irradiance shape.
    pub shape: Shape,
    /// Size along the seam, m.
    pub length_m: f64,
    /// Size across the seam, m.
    pub width_m: f64,
    /// Power on the part, W.
    pub power_w: f64,
}

impl Beam {
    /// Irradiance at the centre, W/m².
    pub fn peak_irradiance_w_per_m2(&self) -> f64 {
        let mean = self.power_w / (self.length_m * self.width_m);
        match self.shape {
            Shape::TopHat => mean,
            Shape::Gaussian => 8.0 / PI * mean,
        }
    }

    /// One passage at a feed rate over the middle of the seam.
    pub fn passage(&self, speed_m_per_s: f64) -> Exposure {
        Exposure {
            pulse: self.shape,
            irradiance_w_per_m2: self.peak_irradiance_w_per_m2(),
            dwell_s: self.length_m / speed_m_per_s,
            passes: 1,
            period_s: 0.0,
        }
    }
}

/// Half the time, in dwell times, that a Gaussian passage is followed before and after its peak:
/// beyond it lies a share of 6e-5 of the energy, which the scaling puts back.
const GAUSSIAN_REACH: f64 = 1.0;

/// Irradiance against time at one point: one pulse, or the same pulse many times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// Shape of one pulse in time.
    pub pulse: Shape,
    /// Highest irradiance of a pulse, W/m².
    pub irradiance_w_per_m2: f64,
    /// Beam length over feed rate: the time a top-hat is on, s.
    pub dwell_s: f64,
    /// How many pulses.
    pub passes: u32,
    /// Time from one pulse to the next, s; not used for one pass.
    pub period_s: f64,
}

impl Exposure {
    /// Time one pulse lasts, s.
    pub fn pulse_s(&self) -> f64 {
        match self.pulse {
            Shape::TopHat => self.dwell_s,
            Shape::Gaussian => 2.0 * GAUSSIAN_REACH * self.dwell_s,
        }
    }

    /// Time from the first light to the last, s.
    pub fn heating_s(&self) -> f64 {
        f64::from(self.passes.saturating_sub(1)) * self.period_s + self.pulse_s()
    }

    /// Energy of one whole pulse, J/m².
    pub fn pulse_fluence_j_per_m2(&self) -> f64 {
        self.irradiance_w_per_m2
            * self.dwell_s
            * match self.pulse {
                Shape::TopHat => 1.0,
                Shape::Gaussian => (PI / 8.0).sqrt(),
            }
    }

    /// Energy of all pulses, J/m².
    pub fn fluence_j_per_m2(&self) -> f64 {
        f64::from(self.passes) * self.pulse_fluence_j_per_m2()
    }

    /// Energy received from the start until `time_s`, J/m²; monotone, and exact at the end.
    pub fn fluence_until_j_per_m2(&self, time_s: f64) -> f64 {
        if time_s <= 0.0 {
            return 0.0;
        }
        // A slow short path lets a pulse begin before the last one has ended.
        let passes = f64::from(self.passes);
        let (ended, begun) = if 1 < self.passes && 0.0 < self.period_s {
            let whole = |time_s: f64| ((time_s / self.period_s).floor() + 1.0).clamp(0.0, passes);
            (whole(time_s - self.pulse_s()), whole(time_s))
        } else {
            (0.0, passes.min(1.0))
        };
        let mut pulses = ended;
        let mut pulse = ended;
        while pulse < begun {
            pulses += self.share_until(time_s - pulse * self.period_s);
            pulse += 1.0;
        }
        pulses * self.pulse_fluence_j_per_m2()
    }

    /// Share of the energy of one pulse until a time after its beginning.
    fn share_until(&self, time_s: f64) -> f64 {
        let within = time_s.min(self.pulse_s());
        match self.pulse {
            Shape::TopHat => within / self.dwell_s,
            Shape::Gaussian => {
                let reach = 8f64.sqrt() * GAUSSIAN_REACH;
                let at = 8f64.sqrt() * (within / self.dwell_s - GAUSSIAN_REACH);
                0.5 * (1.0 + libm::erf(at) / libm::erf(reach))
            }
        }
    }
}
