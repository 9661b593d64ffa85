//! Columns used by several tests of `heat`.

use std::sync::Arc;

use lightseam::heat::{Body, Column, Contact, Face, MeltPlan};
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
        melt: MeltPlan::default(),
        film: None,
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

/// Numbers between 0 and 1 without a library: the generator of Park and Miller (1988).
pub struct Dice(pub u64);

impl Dice {
    /// The next number, 0 to 1.
    pub fn next(&mut self) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }

    /// A number between two others.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    /// A number between two others, even in its logarithm.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        (low.ln() + (high / low).ln() * self.next()).exp()
    }
}

/// A random polymer: amorphous, or with a melting peak in its table of specific heat, or with
/// latent heat beside it.
pub fn random_material(dice: &mut Dice) -> Thermal {
    let rho = dice.between(900.0, 1400.0);
    let flow_c = dice.between(130.0, 260.0);
    let k = dice.between(0.15, 0.4);
    let (cp_room, cp_melt) = (dice.between(1100.0, 1900.0), dice.between(1900.0, 2900.0));
    let kind = dice.next();
    let width = dice.between(8.0, 30.0);
    let (from, to) = (kelvin(flow_c - 0.9 * width), kelvin(flow_c + 0.1 * width));
    let room = kelvin(23.0);
    let heat = dice.between(30e3, 130e3);
    let (t, cp) = if kind < 0.35 {
        // A triangle that holds the heat of melting.
        let top = kelvin(flow_c - 0.2 * width);
        let peak = 2.0 * heat / (to - from) + cp_melt;
        (
            vec![room, from, top, to, kelvin(flow_c + 100.0)],
            vec![cp_room, cp_melt, peak, cp_melt, cp_melt],
        )
    } else {
        (vec![room, from, to], vec![cp_room, 0.9 * cp_melt, cp_melt])
    };
    let latent = (kind > 0.7).then_some(LatentHeat {
        heat_j_per_kg: heat,
        from_k: from,
        to_k: to,
    });
    Thermal {
        specific_heat_j_per_kg_k: sourced(PiecewiseLinear::new(t, cp).unwrap()),
        conductivity_w_per_m_k: sourced(
            PiecewiseLinear::new(
                vec![room, kelvin(300.0)],
                vec![k, k * dice.between(0.7, 1.2)],
            )
            .unwrap(),
        ),
        latent_heat: latent.map(sourced),
        flow_temperature_k: sourced(kelvin(flow_c)),
        ..plain(rho, cp_room, k)
    }
}

/// A random joint: thicknesses 0.2 to 4 mm, absorbers 0.5 to 100 /mm, dwell 1 ms to 1 s, contact
/// perfect or not; the energy brings the hottest place to about 200 to 700 K above the room.
pub fn random_joint(dice: &mut Dice) -> Column {
    let upper = Arc::new(random_material(dice));
    let lower = if dice.next() < 0.5 {
        Arc::clone(&upper)
    } else {
        Arc::new(random_material(dice))
    };
    let thickness = [
        dice.log_between(0.2e-3, 4e-3),
        dice.log_between(0.5e-3, 5e-3),
    ];
    let mu = [dice.log_between(10.0, 400.0), dice.log_between(500.0, 1e5)];
    let dwell = dice.log_between(1e-3, 1.0);
    let light = beer_lambert(mu, thickness);
    let alpha = 0.25 / (1100.0 * 2300.0);
    // Depth over which the heat of the lower part is spread.
    let depth = 1.0 / mu[1] + (alpha * dwell).sqrt();
    let rise = dice.between(200.0, 700.0);
    let fluence = rise * 1100.0 * 2300.0 * depth / light.delivered_to_interface();
    let mut joint = two_layers(
        [body(&upper, thickness[0], 0), body(&lower, thickness[1], 1)],
        light,
        pulse(fluence / dwell, dwell),
    );
    if dice.next() < 0.3 {
        joint.contacts[0] = Contact::Conductance {
            conductance_w_per_m2_k: dice.log_between(500.0, 5e4),
        };
    }
    joint
}
