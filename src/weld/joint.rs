//! Everything one weld needs, checked and in SI.

use std::sync::Arc;

use crate::error::Error;
use crate::material::optical::OpticalConstants;
use crate::material::{Absorber, Material, Moisture, Optical, Plaque, Sourced};
use crate::optics::Method;
use crate::optics::beam::Beam;

/// One of the two parts.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its material card.
    pub material: Arc<Material>,
    /// Thickness along the light, m.
    pub thickness_m: f64,
    /// Optical properties in use: the card's, or those of the joint file or its spectra.
    pub optical: Arc<Optical>,
    /// Plaques the optical properties were reduced from, where spectra were given.
    pub plaques: Arc<Vec<Plaque>>,
    /// What is added to make it absorb.
    pub absorber: Option<Absorber>,
    /// Water it has taken up; none where the joint does not say.
    pub moisture: Option<Moisture>,
}

impl Part {
    /// Optical constants at a wavelength, absorber and water included.
    ///
    /// # Errors
    /// A spectrum, or the table of water, does not reach the wavelength, or there is no absorption.
    pub fn optical_at(&self, wavelength_m: f64) -> Result<OpticalConstants, Error> {
        let mut constants = match self.optical.at(&self.material.name, wavelength_m) {
            // An absorber can stand in for a polymer whose own absorption nobody measured.
            Err(_) if self.absorber.is_some() && self.optical.absorption.is_none() => {
                OpticalConstants {
                    n: self
                        .optical
                        .refractive_index
                        .value
                        .at("refractive index", wavelength_m)?,
                    mu_a_per_m: 0.0,
                    mu_s_per_m: 0.0,
                    g: 0.0,
                }
            }
            other => other?,
        };
        if let Some(absorber) = &self.absorber {
            constants.mu_a_per_m += absorber.absorption_per_m(wavelength_m, self.density())?;
        }
        if let Some(moisture) = &self.moisture {
            constants.mu_a_per_m += moisture.absorption_per_m(wavelength_m, self.density())?;
        }
        Ok(constants)
    }

    /// Density at room temperature, kg/m³.
    fn density(&self) -> f64 {
        self.material.thermal.density_kg_per_m3.value.at(ROOM_K)
    }

    /// Absorption that water adds at a wavelength, 1/m; none where no moisture is stated.
    ///
    /// # Errors
    /// The table of water does not reach the wavelength.
    pub fn moisture_absorption_per_m(&self, wavelength_m: f64) -> Result<Option<f64>, Error> {
        self.moisture
            .as_ref()
            .map(|it| it.absorption_per_m(wavelength_m, self.density()))
            .transpose()
    }
}

/// Room temperature, at which densities of cards are read, K.
pub const ROOM_K: f64 = 296.15;

/// What lies between the two parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Interface {
    /// Optical and thermal contact, perfect or with a stated conductance.
    Contact {
        /// Heat flux per temperature step, W/(m² K); none for perfect contact.
        conductance_w_per_m2_k: Option<f64>,
    },
    /// A film of air.
    Gap {
        /// Width of the gap, m, above zero.
        gap_m: f64,
        /// Heat flux per temperature step, W/(m² K); none to compute it from air at rest.
        conductance_w_per_m2_k: Option<f64>,
        /// True to let the parts swell towards each other where their cards say how; a gap held open
        /// is judged as one that nothing closes, and never welds.
        closes: bool,
        /// Factor on the conductance of the air: 1 but where a study scales all of heat conduction.
        film_factor: f64,
    },
}

impl Interface {
    /// A film of air that closes where the cards of the parts say how these swell; contact at zero.
    pub fn of_gap(gap_m: f64) -> Self {
        if gap_m <= 0.0 {
            return Interface::Contact {
                conductance_w_per_m2_k: None,
            };
        }
        Interface::Gap {
            gap_m,
            conductance_w_per_m2_k: None,
            closes: true,
            film_factor: 1.0,
        }
    }

    /// Width of the gap between the cold parts, m; none in contact.
    pub fn gap_m(&self) -> Option<f64> {
        match *self {
            Interface::Gap { gap_m, .. } => Some(gap_m),
            Interface::Contact { .. } => None,
        }
    }
}

/// A plate on the laser side that presses and conducts.
#[derive(Clone, Debug)]
pub struct Clamp {
    /// Its material card.
    pub material: Arc<Material>,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Heat flux per temperature step to the upper part, W/(m² K); none for perfect contact.
    pub conductance_w_per_m2_k: Option<f64>,
    /// True where no film of air lies between plate and part (wetted, or an index-matching oil).
    pub optical_contact: bool,
}

/// How the light moves over the seam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Motion {
    /// The spot travels once along the seam.
    Contour {
        /// Feed rate, m/s.
        speed_m_per_s: f64,
    },
    /// The spot runs many times along a closed path, so fast that the whole seam warms together.
    QuasiSimultaneous {
        /// Length of the path, m.
        path_m: f64,
        /// Speed of the spot, m/s.
        speed_m_per_s: f64,
        /// How often it runs along the path.
        passes: u32,
    },
    /// The light fills the whole seam for one long shot; the beam's length and width are the seam's.
    Simultaneous {
        /// Time of the shot, s.
        time_s: f64,
    },
    /// A line source is swept once over a mask; the beam's length is that in the direction of travel.
    Mask {
        /// Feed rate of the line, m/s.
        speed_m_per_s: f64,
        /// Width of the mask's opening, which is that of the seam, m.
        opening_m: f64,
    },
    /// The spot stands still and a round part turns under it.
    Radial {
        /// Outer diameter of the upper part, m.
        diameter_m: f64,
        /// Time of one turn, s.
        turn_s: f64,
        /// Number of turns.
        turns: u32,
    },
}

impl Motion {
    /// Name of the process mode in files.
    pub fn mode(&self) -> &'static str {
        match self {
            Motion::Contour { .. } => "contour",
            Motion::QuasiSimultaneous { .. } => "quasi-simultaneous",
            Motion::Simultaneous { .. } => "simultaneous",
            Motion::Mask { .. } => "mask",
            Motion::Radial { .. } => "radial",
        }
    }
}

/// What the machine can deliver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    /// Least and greatest power at the part, W.
    pub power_w: (f64, f64),
    /// Least and greatest value of what is set beside the power (see `setpoint`), SI.
    pub setting: (f64, f64),
}

/// Limits of the criteria.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Least melt depth of the upper part, m.
    pub upper_melt_depth_m: Sourced<f64>,
    /// Least melt depth of the lower part, m.
    pub lower_melt_depth_m: Sourced<f64>,
    /// Least time the interface stays above flow, s; none where it is not asked for.
    pub time_above_flow_s: Option<Sourced<f64>>,
    /// Least degree of healing, 0 to 1; none where it is not asked for.
    pub healing: Option<Sourced<f64>>,
    /// Least collapse, m; none where it is not asked for.
    pub collapse_m: Option<Sourced<f64>>,
    /// Largest damaged share, 0 to 1.
    pub damage: Sourced<f64>,
}

/// Air around the joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surroundings {
    /// Temperature of parts and air at the start, K.
    pub ambient_k: f64,
    /// Heat transfer from the outer faces, W/(m² K).
    pub convection_w_per_m2_k: f64,
}

/// Relative standard uncertainties of inputs; none where the joint does not say.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Uncertainty {
    /// Absorption and scattering of the upper part.
    pub upper_optics: Option<f64>,
    /// Thickness of the upper part.
    pub upper_thickness: Option<f64>,
    /// Absorption of the lower part.
    pub absorber: Option<f64>,
    /// Laser power at the part.
    pub power: Option<f64>,
    /// Feed rate, scan speed or rotation.
    pub speed: Option<f64>,
    /// Time of a simultaneous shot.
    pub time: Option<f64>,
    /// Spot length and width.
    pub spot: Option<f64>,
    /// Gap or contact conductance.
    pub contact: Option<f64>,
    /// Conductivity and specific heat.
    pub thermal: Option<f64>,
}

/// Film of air between faces that touch but lie dry, m: it reflects as any gap does, and hardly holds up
/// heat (26 kW/(m² K)). The width, a few times the roughness of moulded faces, is an estimate; a tenth
/// of it gives the same sound powers within 1 % (`tests/weld/dry_faces.rs`).
pub const DRY_FILM_M: f64 = 1e-6;

impl Joint {
    /// True where the parts are known to swell into the gap between them.
    pub fn closes_gap(&self) -> bool {
        let air = matches!(
            self.interface,
            Interface::Gap {
                conductance_w_per_m2_k: None,
                closes: true,
                ..
            }
        );
        let parts = [&self.upper, &self.lower];
        air && parts.iter().any(|it| it.material.expansion.is_some())
    }

    /// The same joint with faces that touch but lie dry until melt wets them; none over a gap.
    pub fn lying_dry(&self) -> Option<Joint> {
        matches!(self.interface, Interface::Contact { .. }).then(|| Joint {
            interface: Interface::of_gap(DRY_FILM_M),
            ..self.clone()
        })
    }
}

/// One weld at one setpoint.
#[derive(Clone, Debug)]
pub struct Joint {
    /// The question in words.
    pub question: Arc<str>,
    /// The part the light passes.
    pub upper: Part,
    /// The part that absorbs.
    pub lower: Part,
    /// What lies between them.
    pub interface: Interface,
    /// Plate on the laser side; none for air.
    pub clamp: Option<Clamp>,
    /// Mean clamping pressure on the seam, Pa; none where the joint does not say. It drives collapse; it
    /// sets no contact conductance, since no law with usable numbers is published for polymer on polymer:
    /// how well the parts touch is an uncertain input of its own.
    pub pressure_pa: Option<f64>,
    /// Vacuum wavelength, m.
    pub wavelength_m: f64,
    /// Spot on the part's surface, and power.
    pub beam: Beam,
    /// Angle of the light to the normal in air, rad; 0 is straight on.
    pub incidence_rad: f64,
    /// How the light moves.
    pub motion: Motion,
    /// What the machine can deliver; none where the joint does not say.
    pub machine: Option<Machine>,
    /// Limits of the criteria.
    pub limits: Arc<Limits>,
    /// Air around.
    pub surroundings: Surroundings,
    /// Optical method; none to choose by the parts.
    pub method: Option<Method>,
    /// Factor on the scattering of the upper part where it is molten; none where melting is taken
    /// to change nothing.
    pub melt_clearing: Option<f64>,
    /// How well the inputs are known.
    pub uncertainty: Uncertainty,
}
