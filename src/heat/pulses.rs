//! The exposure as the time steps meet it: times at which light changes abruptly, and energy.
//!
//! Pulses too weak to be seen are taken together, with their mean. Of many pulses the first and the
//! last ones are followed one by one, and those between with their mean, each spread over the period
//! around its middle: it gives the same heat at the same mean time, so what it misses fades quickly
//! with its age (`tests/heat/exposure.rs` measures it). Spread over the period from its beginning,
//! each would come half a period late.

use crate::optics::Exposure;
use crate::optics::beam::Shape;

/// Rise of the temperature in one pulse, at most, for pulses to be passed over, K.
const SMOOTH_K: f64 = 0.02;

/// Where in the exposure a run is.
#[derive(Clone, Copy, Debug)]
pub struct Pulses {
    exposure: Exposure,
    pass: u32,
    /// Inside a pulse, or between two.
    on: bool,
    /// Steps span pulses, with their mean.
    smooth: bool,
    /// The stretch in which pulses are taken with their mean, until it is over.
    even: Option<Even>,
}

/// A stretch of even light.
#[derive(Clone, Copy, Debug)]
struct Even {
    from_s: f64,
    to_s: f64,
    irradiance: f64,
}

/// Light over one step.
#[derive(Clone, Copy, Debug)]
pub struct Light {
    /// Irradiance at the start of the step, W/m².
    pub irradiance: f64,
    /// Rise of the irradiance per second, W/(m² s).
    pub slope: f64,
}

impl Pulses {
    /// At the start; `rise_k_m2_per_j` is the highest rise of temperature for unit energy, and the
    /// last `most_resolved` pulses are followed one by one.
    pub fn new(exposure: Exposure, rise_k_m2_per_j: f64, most_resolved: u32) -> Self {
        let pulse_k = rise_k_m2_per_j * exposure.pulse_fluence_j_per_m2();
        // Half-way between the middle of a pulse and that of the next.
        let after =
            |pulse: u32| 0.5 * exposure.pulse_s() + (f64::from(pulse) + 0.5) * exposure.period_s;
        let followed = most_resolved.max(1).saturating_add(1);
        let ends = if exposure.passes <= 1 {
            None
        } else if pulse_k < SMOOTH_K {
            Some((0.0, exposure.heating_s()))
        } else if followed < exposure.passes {
            Some((after(0), after(exposure.passes - followed)))
        } else {
            None
        };
        let fluence = |time_s: f64| exposure.fluence_until_j_per_m2(time_s);
        let even = ends.map(|(from_s, to_s)| Even {
            from_s,
            to_s,
            irradiance: (fluence(to_s) - fluence(from_s)) / (to_s - from_s),
        });
        Pulses {
            exposure,
            pass: 0,
            on: true,
            smooth: even.is_some_and(|it| it.from_s == 0.0),
            even,
        }
    }

    /// True until the last light.
    pub fn heating(&self) -> bool {
        self.on || self.pass + 1 < self.exposure.passes
    }

    /// The next time at which light changes abruptly, s; infinite after the last light.
    pub fn next_s(&self) -> f64 {
        if !self.heating() {
            return f64::INFINITY;
        }
        match self.even {
            Some(even) if self.smooth => even.to_s,
            Some(even) => self.next_of_pulses_s().min(even.from_s),
            None => self.next_of_pulses_s(),
        }
    }

    /// The same where pulses are followed one by one.
    fn next_of_pulses_s(&self) -> f64 {
        let (exposure, pass) = (&self.exposure, f64::from(self.pass));
        let following = (pass + 1.0) * exposure.period_s;
        if !self.on {
            return following;
        }
        if self.pass + 1 == exposure.passes {
            return exposure.heating_s();
        }
        (pass * exposure.period_s + exposure.pulse_s()).min(following)
    }

    /// Steps over the time [`Pulses::next_s`] gave.
    pub fn pass_over(&mut self) {
        match self.even {
            Some(Even { to_s, .. }) if self.smooth => {
                self.smooth = false;
                self.even = None;
                let exposure = &self.exposure;
                let begun = ((to_s / exposure.period_s) as u32).min(exposure.passes - 1);
                self.pass = begun;
                self.on = to_s < f64::from(begun) * exposure.period_s + exposure.pulse_s();
            }
            Some(even) if even.from_s <= self.next_of_pulses_s() => self.smooth = true,
            _ => self.pass_over_pulse(),
        }
    }

    fn pass_over_pulse(&mut self) {
        if !self.on {
            self.pass += 1;
            self.on = true;
        } else if self.pass + 1 < self.exposure.passes
            && self.exposure.period_s <= self.exposure.pulse_s()
        {
            // The next pulse begins before this one ends.
            self.pass += 1;
        } else {
            self.on = false;
        }
    }

    /// A first step after a change of the light, s.
    pub fn first_step_s(&self) -> f64 {
        let whole = if self.smooth {
            self.exposure.period_s
        } else {
            self.exposure.pulse_s()
        };
        FIRST_STEP_SHARE * whole
    }

    /// Longest step that follows the light, s: in a step it is a straight line, which the error of the
    /// step does not see.
    pub fn longest_step_s(&self) -> f64 {
        if !self.on || self.smooth || self.exposure.pulse == Shape::TopHat {
            return f64::INFINITY;
        }
        LONGEST_STEP_SHARE * self.exposure.pulse_s()
    }

    /// Energy from `from_s` to `to_s`, both inside one stretch without abrupt change, J/m².
    pub fn energy_j_per_m2(&self, from_s: f64, to_s: f64) -> f64 {
        let fluence = |t: f64| self.exposure.fluence_until_j_per_m2(t);
        match self.even {
            _ if !self.heating() || (!self.on && !self.smooth) => 0.0,
            Some(even) if self.smooth => even.irradiance * (to_s - from_s),
            _ => fluence(to_s) - fluence(from_s),
        }
    }

    /// Light from `from_s` to `to_s`, both inside one stretch without abrupt change; its energy
    /// is exact.
    pub fn light(&self, from_s: f64, to_s: f64) -> Light {
        // The usual case needs no difference of energies.
        if self.exposure.passes == 1 && self.exposure.pulse == Shape::TopHat && self.on {
            return Light {
                irradiance: self.exposure.irradiance_w_per_m2,
                slope: 0.0,
            };
        }
        if !self.heating() {
            return Light {
                irradiance: 0.0,
                slope: 0.0,
            };
        }
        let step = to_s - from_s;
        let mean = self.energy_j_per_m2(from_s, to_s) / step;
        if !self.on || self.smooth || self.exposure.pulse == Shape::TopHat {
            return Light {
                irradiance: mean,
                slope: 0.0,
            };
        }
        let first_half = self.energy_j_per_m2(from_s, from_s + 0.5 * step) / (0.5 * step);
        // The mean of the second half is 2 mean − first_half; the halves lie half a step apart.
        let rise = 4.0 * (mean - first_half);
        Light {
            irradiance: mean - 0.5 * rise,
            slope: rise / step,
        }
    }
}

/// Longest step in a pulse that is no rectangle, as a share of the pulse; a Gaussian one reaches far
/// beyond its dwell.
const LONGEST_STEP_SHARE: f64 = 1.0 / 32.0;

/// First step after a change of the light as a share of the pulse: the step control doubles and
/// more from there where it can.
const FIRST_STEP_SHARE: f64 = 0.0125;
