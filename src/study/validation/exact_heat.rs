//! Conduction at the standard settings against closed forms with constant properties.
//!
//! Sources: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed. (1959), sec. 2.9
//! (constant flux), 2.15 (contact of half-spaces); J. F. Ready, *Effects of High-Power Laser
//! Radiation* (1971), sec. 3 (absorption with depth); all from memory.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::error::Error;
use crate::heat::melt::MeltPlan;
use crate::heat::{Body, Column, Contact, Face, History, Settings, run};
use crate::material::thermal::Thermal;
use crate::material::{Sourced, Status};
use crate::numerics::interpolate::PiecewiseLinear;
use crate::optics::beam::Shape;
use crate::optics::{Absorbed, DepthProfile, Exposure};
use crate::study::validation::table::Worst;
use crate::study::validation::{Check, Kind, Stage, Validation};
use crate::units::MM;

/// Room, K.
const ROOM_K: f64 = 296.15;

/// The error allowed in one step, as a share of the largest rise.
const SHARE: f64 = 3e-3;

/// All closed forms.
///
/// # Errors
/// A column is refused.
pub fn checks() -> Result<Validation, Error> {
    let mut ledger = Worst::default();
    let checks = vec![
        constant_flux(&mut ledger)?,
        absorbed_with_depth(&mut ledger)?,
        half_spaces(&mut ledger, false)?,
        half_spaces(&mut ledger, true)?,
        Check {
            stage: Stage::Heat,
            what: "absorbed = stored + lost",
            kind: Kind::ClosedForm,
            source: "conservation of energy, the runs above",
            values: ledger.values,
            deviation: ledger.deviation,
            limit: 1e-6,
            unit: "relative",
        },
    ];
    Ok(Validation {
        checks,
        findings: Vec::new(),
    })
}

/// A number of a check.
pub(super) fn posed<T>(value: T) -> Sourced<T> {
    Sourced::new(value, "posed by the check", Status::Stated)
}

/// A material with constant properties that does not melt.
pub(super) fn plain(rho: f64, cp: f64, k: f64) -> Thermal {
    Thermal {
        density_kg_per_m3: posed(PiecewiseLinear::constant(rho)),
        conductivity_w_per_m_k: posed(PiecewiseLinear::constant(k)),
        specific_heat_j_per_kg_k: posed(PiecewiseLinear::constant(cp)),
        latent_heat: None,
        flow_temperature_k: posed(493.15),
        surface_temperature_k: posed(453.15),
    }
}

/// Two layers that absorb without reflection.
pub(super) fn dying(mu_per_m: [f64; 2], thickness_m: [f64; 2]) -> Absorbed {
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
pub(super) fn pulse(irradiance_w_per_m2: f64, dwell_s: f64) -> Exposure {
    Exposure {
        pulse: Shape::TopHat,
        irradiance_w_per_m2,
        dwell_s,
        passes: 1,
        period_s: 0.0,
    }
}

/// A body that starts at a temperature.
pub(super) fn body(
    thermal: &Arc<Thermal>,
    thickness_m: f64,
    light_layer: usize,
    initial_k: f64,
) -> Body {
    Body {
        thickness_m,
        thermal: Arc::clone(thermal),
        damage: None,
        light_layer,
        probe_m: 20e-6_f64.min(thickness_m),
        initial_k,
    }
}

/// Two bodies in perfect contact, with one coefficient to the air on both faces.
pub(super) fn column(
    bodies: [Body; 2],
    light: Absorbed,
    exposure: Exposure,
    coefficient_w_per_m2_k: f64,
) -> Column {
    let face = Face {
        coefficient_w_per_m2_k,
        ambient_k: ROOM_K,
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

/// The history of one column.
pub(super) fn solve(column: Column, settings: &Settings) -> Result<History, Error> {
    run(&[column], settings).remove(0)
}

fn recorded(column: Column, settings: Settings, ledger: &mut Worst) -> Result<History, Error> {
    let history = solve(
        column,
        &Settings {
            record: true,
            ..settings
        },
    )?;
    // Without light nothing comes in that a difference could be a share of.
    if 0.0 < history.ledger.absorbed_j_per_m2 {
        ledger.add(history.ledger.relative_residual());
    }
    Ok(history)
}

fn check(worst: Worst, what: &'static str, source: &'static str) -> Check {
    Check {
        stage: Stage::Heat,
        what,
        kind: Kind::ClosedForm,
        source,
        values: worst.values,
        deviation: worst.deviation,
        limit: SHARE,
        unit: "of the largest rise",
    }
}

fn constant_flux(ledger: &mut Worst) -> Result<Check, Error> {
    let (rho, cp, k, flux, dwell_s) = (1130.0, 1900.0, 0.27, 3.1e4, 0.7);
    let thermal = Arc::new(plain(rho, cp, k));
    let history = recorded(
        column(
            [
                body(&thermal, 6.0 * MM, 0, ROOM_K),
                body(&thermal, 5.0 * MM, 1, ROOM_K),
            ],
            // All light dies within 20 nm of the surface.
            dying([1e8, 1e8], [6.0 * MM, 5.0 * MM]),
            pulse(flux, dwell_s),
            0.0,
        ),
        Settings::standard(),
        ledger,
    )?;
    let mut worst = Worst::default();
    let rise = 2.0 * flux * (dwell_s / (PI * k * rho * cp)).sqrt();
    worst.compare_relative(history.laser_side_peak_k - ROOM_K, rise);
    Ok(check(
        worst,
        "constant flux into a half-space",
        "Carslaw and Jaeger, sec. 2.9",
    ))
}

/// Rise at depth z, light from t = 0, surface insulated.
fn rise_k(z: f64, t: f64, flux: f64, mu: f64, k: f64, alpha: f64) -> f64 {
    let root = (alpha * t).sqrt();
    let u = z / (2.0 * root);
    let ierfc = (-u * u).exp() / PI.sqrt() - u * libm::erfc(u);
    let grown = (mu * mu * alpha * t).exp();
    let near = (-mu * z).exp() * libm::erfc(mu * root - u);
    let far = (mu * z).exp() * libm::erfc(mu * root + u);
    flux / k * (2.0 * root * ierfc - (-mu * z).exp() / mu + grown * (near + far) / (2.0 * mu))
}

fn absorbed_with_depth(ledger: &mut Worst) -> Result<Check, Error> {
    let (rho, cp, k) = (1040.0, 1750.0, 0.19);
    let (flux, dwell_s, mu, depth_m) = (4.0e5, 0.3, 7e3, 0.15 * MM);
    let thermal = Arc::new(plain(rho, cp, k));
    let history = recorded(
        column(
            [
                body(&thermal, depth_m, 0, ROOM_K),
                body(&thermal, 5.0 * MM, 1, ROOM_K),
            ],
            dying([mu, mu], [depth_m, 5.0 * MM]),
            pulse(flux, dwell_s),
            0.0,
        ),
        Settings::standard(),
        ledger,
    )?;
    let mut worst = Worst::default();
    let alpha = k / (rho * cp);
    let whole = rise_k(0.0, dwell_s, flux, mu, k, alpha);
    if let Some(record) = &history.record {
        for (i, &t) in record.time_s.iter().enumerate() {
            if 0.0 < t && t <= dwell_s {
                for (z, found) in [
                    (0.0, record.laser_side_k[i]),
                    (depth_m, record.interface_lower_k[i]),
                ] {
                    worst.add((found - ROOM_K - rise_k(z, t, flux, mu, k, alpha)) / whole);
                }
            }
        }
    }
    Ok(check(
        worst,
        "light absorbed with depth in a half-space",
        "Ready (1971), sec. 3",
    ))
}

/// Two half-spaces at 500 and 300 K that meet, perfectly or through a conductance.
fn half_spaces(ledger: &mut Worst, resisting: bool) -> Result<Check, Error> {
    let conductance_w_per_m2_k = 1500.0;
    let effusivity = |rho: f64, cp: f64, k: f64| (k * rho * cp).sqrt();
    let (ea, eb) = (
        effusivity(1100.0, 1800.0, 0.31),
        effusivity(2400.0, 800.0, 1.2),
    );
    let (a, b) = (
        Arc::new(plain(1100.0, 1800.0, 0.31)),
        Arc::new(plain(2400.0, 800.0, 1.2)),
    );
    let mut joint = column(
        [body(&a, 8.0 * MM, 0, 500.0), body(&b, 12.0 * MM, 1, 300.0)],
        dying([10.0, 10.0], [8.0 * MM, 12.0 * MM]),
        pulse(0.0, 0.1),
        0.0,
    );
    if resisting {
        joint.contacts[0] = Contact::Conductance {
            conductance_w_per_m2_k,
        };
    }
    let settings = Settings {
        longest_s: 0.9,
        ..Settings::standard()
    };
    let history = recorded(joint, settings, ledger)?;
    let mut worst = Worst::default();
    if let Some(record) = &history.record {
        for (i, &t) in record.time_s.iter().enumerate() {
            if t < 0.05 {
                continue;
            }
            let done = if resisting {
                let x = conductance_w_per_m2_k * (1.0 / ea + 1.0 / eb) * t.sqrt();
                1.0 - (x * x).exp() * libm::erfc(x)
            } else {
                1.0
            };
            let upper = 500.0 - 200.0 * eb / (ea + eb) * done;
            let lower = 300.0 + 200.0 * ea / (ea + eb) * done;
            worst.add((record.interface_upper_k[i] - upper) / 200.0);
            worst.add((record.interface_lower_k[i] - lower) / 200.0);
        }
    }
    Ok(if resisting {
        check(
            worst,
            "half-spaces through a contact resistance",
            "Laplace transform, written out",
        )
    } else {
        check(
            worst,
            "half-spaces in perfect contact",
            "Carslaw and Jaeger, sec. 2.15",
        )
    })
}
