//! Columns used by several tests of `heat`.

use std::sync::Arc;

use lightseam::heat::{Body, Column, Contact, Face};
use lightseam::material::thermal::LatentHeat;
use lightseam::material::{Sourced, Status, Thermal};
use lightseam::numerics::interpolate::PiecewiseLinear;
use lightseam::optics::beam::Shape;
use lightseam::optics::{Absorbed, DepthProfile, Exposure};
use lightseam::units::kelvin;

/// A number of a test.
pub fn sourced<T>(value: T) -> Sourced<T> {
    Sourced::new(value, "test", Status::FromMemory)
}

/// A material without melting and with constant properties.
pub fn plain(rho: f64, cp: f64, k: f64) -> Thermal {
    Thermal {
        density_kg_per_m3: sourced(PiecewiseLinear::constant(rho)),
        conductivity_w_per_m_k: sourced(PiecewiseLinear::constant(k)),
        specific_heat_j_per_kg_k: sourced(PiecewiseLinear::constant(cp)),
        latent_heat: None,
        flow_temperature_k: sourced(kelvin(220.0)),
        surface_temperature_k: sourced(kelvin(180.0)),
    }
}

/// Absorption coefficients and thicknesses of two layers in contact, light entering the first
/// without reflection: Beer-Lambert.
pub fn beer_lambert(mu_per_m: [f64; 2], thickness_m: [f64; 2]) -> Absorbed {
    let mut arriving = 1.0;
    let mut layers = Vec::new();
    for (mu_per_m, thickness_m) in mu_per_m.into_iter().zip(thickness_m) {
        let down = -arriving * (-mu_per_m * thickness_m).exp_m1();
        layers.push(DepthProfile::Exponential {
            down,
            up: 0.0,
            mu_per_m,
            thickness_m,
        });
        arriving -= down;
    }
    Absorbed {
        reflected: 0.0,
        transmitted: arriving,
        layers,
        upper: 0,
        lower: 1,
    }
}

/// One rectangular pulse.
pub fn pulse(irradiance_w_per_m2: f64, dwell_s: f64) -> Exposure {
    Exposure {
        pulse: Shape::TopHat,
        irradiance_w_per_m2,
        dwell_s,
        passes: 1,
        period_s: 0.0,
    }
}

/// A body at the temperature of the room.
pub fn body(thermal: &Arc<Thermal>, thickness_m: f64, light_layer: usize) -> Body {
    Body {
        thickness_m,
        thermal: Arc::clone(thermal),
        damage: None,
        light_layer,
        probe_m: 20e-6_f64.min(thickness_m),
        initial_k: kelvin(23.0),
    }
}

/// Two bodies in perfect contact, air around.
pub fn two_layers(bodies: [Body; 2], light: Absorbed, exposure: Exposure) -> Column {
    let face = Face {
        coefficient_w_per_m2_k: 10.0,
        ambient_k: kelvin(23.0),
    };
    Column {
        bodies: bodies.into(),
        contacts: vec![Contact::Perfect],
        upper: 0,
        laser_side: face,
        far_side: face,
        light: Arc::new(light),
        exposure,
    }
}

/// The material of the reference problem: 1700 + 400 (1 + tanh((T − 220)/5)) J/(kg K), 60 kJ/kg
/// of latent heat as a raised cosine from 200 to 225 °C, 1130 kg/m³, 0.25 W/(m K).
pub fn reference_material() -> Thermal {
    let temperature: Vec<f64> = (0..=480).map(|i| 160.0 + 0.25 * f64::from(i)).collect();
    let cp = temperature
        .iter()
        .map(|t| 1700.0 + 400.0 * (1.0 + ((t - 220.0) / 5.0).tanh()))
        .collect();
    Thermal {
        specific_heat_j_per_kg_k: sourced(
            PiecewiseLinear::new(temperature.into_iter().map(kelvin).collect(), cp).unwrap(),
        ),
        latent_heat: Some(sourced(LatentHeat {
            heat_j_per_kg: 60e3,
            from_k: kelvin(200.0),
            to_k: kelvin(225.0),
        })),
        ..plain(1130.0, 1700.0, 0.25)
    }
}

/// The reference problem: 1.5 mm on 3 mm, 0.1 and 10 /mm, 20 ms, the irradiance given just inside
/// the top face.
pub fn reference_joint(irradiance_w_per_m2: f64) -> Column {
    let thermal = Arc::new(reference_material());
    two_layers(
        [body(&thermal, 1.5e-3, 0), body(&thermal, 3e-3, 1)],
        beer_lambert([100.0, 1e4], [1.5e-3, 3e-3]),
        pulse(irradiance_w_per_m2, 0.020),
    )
}
