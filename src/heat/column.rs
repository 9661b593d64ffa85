//! One column of material under one point of the seam: what is heated, how, and what is watched.

use std::sync::Arc;

use crate::heat::closure::Film;
use crate::heat::melt::MeltPlan;
use crate::material::{Damage, Thermal};
use crate::optics::{Absorbed, Exposure};

/// One solid layer.
#[derive(Clone, Debug)]
pub struct Body {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Thermal properties against temperature.
    pub thermal: Arc<Thermal>,
    /// Kinetics of thermal damage; none where nothing is published.
    pub damage: Option<Arc<Damage>>,
    /// Which layer of the light's stack this body is.
    pub light_layer: usize,
    /// Distance from the interface at which the highest temperature is kept, m.
    pub probe_m: f64,
    /// Temperature at the start, K.
    pub initial_k: f64,
}

/// Heat transfer between two neighbouring bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Contact {
    /// Temperature is continuous.
    Perfect,
    /// A resistance: contact of rough faces, or a film of air.
    Conductance {
        /// Heat flux per temperature step, W/(m² K).
        conductance_w_per_m2_k: f64,
    },
}

/// Heat transfer from an outer face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Heat flux per difference to the surroundings, W/(m² K); zero insulates.
    pub coefficient_w_per_m2_k: f64,
    /// Temperature of the surroundings, K.
    pub ambient_k: f64,
}

/// One column: bodies from the laser side to the far side, its light and its surroundings.
#[derive(Clone, Debug)]
pub struct Column {
    /// Two bodies (upper, lower) or three (clamp, upper, lower).
    pub bodies: Vec<Body>,
    /// Contacts between neighbouring bodies, one fewer than `bodies`.
    pub contacts: Vec<Contact>,
    /// Index of the upper part in `bodies`; the lower part is the next and the last.
    pub upper: usize,
    /// Face the laser comes from.
    pub laser_side: Face,
    /// Face opposite.
    pub far_side: Face,
    /// Where unit light is absorbed.
    pub light: Arc<Absorbed>,
    /// Irradiance against time.
    pub exposure: Exposure,
    /// What is followed of the melt beyond temperatures.
    pub melt: MeltPlan,
    /// The film of air between the parts, which sets the conductance of their contact from step to
    /// step; none for a constant one.
    pub film: Option<Arc<Film>>,
}

impl Column {
    /// Its light once melt has wetted the other part; none where that does not change.
    pub fn wetted_light(&self) -> Option<&Arc<Absorbed>> {
        self.film.as_ref()?.wetted.as_ref()
    }

    /// True if `other` has the same equations, and only light of another power; the check of both
    /// irradiances is included.
    pub(crate) fn differs_in_power_alone(&self, other: &Column) -> bool {
        let (a, b) = (&self.exposure, &other.exposure);
        let physical = |it: &Exposure| (0.0..f64::INFINITY).contains(&it.irradiance_w_per_m2);
        physical(a)
            && physical(b)
            && Exposure {
                irradiance_w_per_m2: 0.0,
                ..*a
            } == Exposure {
                irradiance_w_per_m2: 0.0,
                ..*b
            }
            && Arc::ptr_eq(&self.light, &other.light)
            && self.upper == other.upper
            && self.contacts == other.contacts
            && self.wetted_light().map(Arc::as_ptr) == other.wetted_light().map(Arc::as_ptr)
            && self.laser_side == other.laser_side
            && self.far_side == other.far_side
            && self.bodies.len() == other.bodies.len()
            && self.bodies.iter().zip(&other.bodies).all(|(a, b)| {
                a.thickness_m == b.thickness_m
                    && Arc::ptr_eq(&a.thermal, &b.thermal)
                    && a.light_layer == b.light_layer
                    && a.probe_m == b.probe_m
                    && a.initial_k == b.initial_k
            })
    }
}
