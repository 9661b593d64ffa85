//! Closed forms of heat conduction with constant properties, at the standard settings.
//!
//! Sources: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed. (1959): sec. 2.9
//! (constant flux), 2.15 (contact of half-spaces), 3.11 (plane wall with convection); J. F. Ready,
//! *Effects of High-Power Laser Radiation* (1971), sec. 3 (absorption with depth); all from memory,
//! each formula checked by hand at its limits.

use std::f64::consts::PI;
use std::sync::Arc;

use lightseam::heat::{Body, Column, Contact, Face, History, Record, Settings, run};
use lightseam::material::Thermal;
use lightseam::optics::{Absorbed, DepthProfile, Exposure};

use crate::heat::joints::{beer_lambert, body, plain, pulse, sourced, two_layers};

/// Largest error at the standard settings, as a share of the largest rise: the error allowed in
/// one step, which a surface that is heated or cooled all at once makes use of.
const SHARE: f64 = 3e-3;

fn recorded(column: Column, settings: Settings) -> (History, Record) {
    let settings = Settings {
        record: true,
        ..settings
    };
    let history = run(&[column], &settings).remove(0).unwrap();
    let record = history.record.clone().unwrap();
    (history, *record)
}

fn insulated(column: &mut Column) {
    column.laser_side.coefficient_w_per_m2_k = 0.0;
    column.far_side.coefficient_w_per_m2_k = 0.0;
}

#[test]
fn constant_flux_into_a_half_space() {
    let thermal = Arc::new(plain(1130.0, 1900.0, 0.27));
    let (flux, dwell) = (3.1e4, 0.7);
    // All light dies within 20 nm of the surface.
    let mut column = two_layers(
        [body(&thermal, 6e-3, 0), body(&thermal, 5e-3, 1)],
        beer_lambert([1e8, 1e8], [6e-3, 5e-3]),
        pulse(flux, dwell),
    );
    insulated(&mut column);
    let (history, _) = recorded(column, Settings::standard());
    let rise = 2.0 * flux * (dwell / (PI * 0.27 * 1130.0 * 1900.0)).sqrt();
    let found = history.laser_side_peak_k - 296.15;
    assert!((found / rise - 1.0).abs() < SHARE, "{found} against {rise}");
}

/// Rise at depth z, light from t = 0, surface insulated.
fn beer_lambert_rise_k(z: f64, t: f64, flux: f64, mu: f64, k: f64, alpha: f64) -> f64 {
    let root = (alpha * t).sqrt();
    let u = z / (2.0 * root);
    let ierfc = (-u * u).exp() / PI.sqrt() - u * libm::erfc(u);
    let grown = (mu * mu * alpha * t).exp();
    let near = (-mu * z).exp() * libm::erfc(mu * root - u);
    let far = (mu * z).exp() * libm::erfc(mu * root + u);
    flux / k * (2.0 * root * ierfc - (-mu * z).exp() / mu + grown * (near + far) / (2.0 * mu))
}

#[test]
fn light_absorbed_with_depth_in_a_half_space() {
    let (rho, cp, k) = (1040.0, 1750.0, 0.19);
    let thermal = Arc::new(plain(rho, cp, k));
    let (flux, dwell, mu, depth) = (4.0e5, 0.3, 7e3, 0.15e-3);
    let mut column = two_layers(
        [body(&thermal, depth, 0), body(&thermal, 5e-3, 1)],
        beer_lambert([mu, mu], [depth, 5e-3]),
        pulse(flux, dwell),
    );
    insulated(&mut column);
    let (_, record) = recorded(column, Settings::standard());
    let mut seen = 0;
    for (i, &t) in record.time_s.iter().enumerate() {
        if t <= 0.0 || dwell < t {
            continue;
        }
        seen += 1;
        let alpha = k / (rho * cp);
        for (z, found) in [
            (0.0, record.laser_side_k[i]),
            (depth, record.interface_lower_k[i]),
        ] {
            let rise = beer_lambert_rise_k(z, t, flux, mu, k, alpha);
            let whole = beer_lambert_rise_k(0.0, dwell, flux, mu, k, alpha);
            let error = (found - 296.15 - rise) / whole;
            assert!(error.abs() < SHARE, "{z} {t}: {found} against {rise}");
        }
    }
    assert!(5 < seen);
}

/// Superposition of the semi-infinite solution: each pulse is a flux that starts and one that ends.
/// Compared at every moment of the pulses that are followed: all of them, or three after even light.
#[test]
fn repeated_pulses_on_a_half_space() {
    let (rho, cp, k) = (1040.0, 1750.0, 0.19);
    let thermal = Arc::new(plain(rho, cp, k));
    let (flux, dwell, period, passes, mu, depth) = (3.1e6, 0.7e-3, 0.03, 12, 9e3, 0.11e-3);
    let mut column = two_layers(
        [body(&thermal, depth, 0), body(&thermal, 7e-3, 1)],
        beer_lambert([mu, mu], [depth, 7e-3]),
        Exposure {
            passes,
            period_s: period,
            ..pulse(flux, dwell)
        },
    );
    insulated(&mut column);
    let alpha = k / (rho * cp);
    let expected = |z: f64, t: f64| -> f64 {
        let since = |t: f64| {
            if t <= 0.0 {
                0.0
            } else {
                beer_lambert_rise_k(z, t, flux, mu, k, alpha)
            }
        };
        (0..passes)
            .map(|i| t - f64::from(i) * period)
            .map(|t| since(t) - since(t - dwell))
            .sum()
    };
    let last = f64::from(passes - 1) * period + dwell;
    let whole = expected(0.0, last);
    for (followed, least_seen) in [(passes, 100), (3, 20)] {
        let settings = Settings {
            most_resolved_passes: followed,
            ..Settings::standard()
        };
        let (history, record) = recorded(column.clone(), settings);
        let from_s = f64::from(passes - followed) * period;
        let mut seen = 0;
        for (i, &t) in record.time_s.iter().enumerate() {
            if t <= from_s || last * (1.0 + 1e-12) < t {
                continue;
            }
            seen += 1;
            for (z, found) in [
                (0.0, record.laser_side_k[i]),
                (depth, record.interface_lower_k[i]),
            ] {
                let error = (found - 296.15 - expected(z, t)) / whole;
                assert!(error.abs() < SHARE, "{z} {t}: {found}, off by {error}");
            }
        }
        assert!(least_seen < seen, "{seen}");
        let peak = history.laser_side_peak_k - 296.15;
        assert!((peak / whole - 1.0).abs() < SHARE, "{peak} against {whole}");
    }
}

#[test]
fn plane_wall_cools_by_its_series() {
    let (rho, cp, k, h, half) = (1200.0, 1250.0, 0.21, 320.0, 1.1e-3);
    // A flow temperature that is passed late keeps the run going.
    let thermal = Arc::new(Thermal {
        flow_temperature_k: sourced(302.0),
        ..plain(rho, cp, k)
    });
    let mut column = two_layers(
        [body(&thermal, half, 0), body(&thermal, half, 1)],
        beer_lambert([10.0, 10.0], [half, half]),
        pulse(0.0, 0.05),
    );
    for body in &mut column.bodies {
        body.initial_k = 470.0;
    }
    let face = Face {
        coefficient_w_per_m2_k: h,
        ambient_k: 300.0,
    };
    (column.laser_side, column.far_side) = (face, face);
    let (_, record) = recorded(
        column,
        Settings {
            longest_s: 20.0,
            ..Settings::standard()
        },
    );
    let biot = h * half / k;
    // ζ tan ζ = Bi, one root in each interval (nπ, nπ + π/2).
    let roots: Vec<f64> = (0..60)
        .map(|n| {
            let (mut low, mut high) = (PI * f64::from(n), PI * (f64::from(n) + 0.5));
            for _ in 0..100 {
                let middle = 0.5 * (low + high);
                if middle * middle.tan() < biot {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            0.5 * (low + high)
        })
        .collect();
    let mut compared = 0;
    for (i, &t) in record.time_s.iter().enumerate() {
        let fourier = k / (rho * cp) * t / (half * half);
        if fourier < 0.02 {
            continue;
        }
        compared += 1;
        let series = |x: f64| -> f64 {
            roots
                .iter()
                .map(|&z| {
                    4.0 * z.sin() / (2.0 * z + (2.0 * z).sin())
                        * (-z * z * fourier).exp()
                        * (z * x).cos()
                })
                .sum()
        };
        for (x, found) in [
            (0.0, record.interface_upper_k[i]),
            (1.0, record.laser_side_k[i]),
        ] {
            let exact = 300.0 + 170.0 * series(x);
            assert!(
                (found - exact).abs() < SHARE * 170.0,
                "{x} {t}: {found} against {exact}"
            );
        }
    }
    assert!(5 < compared);
}

/// Two half-spaces at 500 and 300 K that meet at t = 0.
fn meeting(contact: Contact, until_s: f64) -> (Record, f64, f64) {
    let (a, b) = (plain(1100.0, 1800.0, 0.31), plain(2400.0, 800.0, 1.2));
    let (ea, eb) = (
        (0.31_f64 * 1100.0 * 1800.0).sqrt(),
        (1.2_f64 * 2400.0 * 800.0).sqrt(),
    );
    let start = |body: Body, initial_k: f64| Body { initial_k, ..body };
    let mut column = two_layers(
        [
            start(body(&Arc::new(a), 8e-3, 0), 500.0),
            start(body(&Arc::new(b), 12e-3, 1), 300.0),
        ],
        beer_lambert([10.0, 10.0], [8e-3, 12e-3]),
        pulse(0.0, 0.1 * until_s),
    );
    insulated(&mut column);
    column.contacts[0] = contact;
    let settings = Settings {
        longest_s: 0.9 * until_s,
        ..Settings::standard()
    };
    (recorded(column, settings).1, ea, eb)
}

#[test]
fn half_spaces_in_perfect_contact_take_the_mean_weighted_by_effusivity() {
    let (record, ea, eb) = meeting(Contact::Perfect, 1.0);
    let exact = (ea * 500.0 + eb * 300.0) / (ea + eb);
    let late: Vec<f64> = record
        .time_s
        .iter()
        .zip(&record.interface_upper_k)
        .filter(|(t, _)| 0.05 < **t)
        .map(|(_, it)| *it)
        .collect();
    assert!(3 < late.len());
    for found in late {
        assert!(
            (found - exact).abs() < SHARE * 200.0,
            "{found} against {exact}"
        );
    }
}

#[test]
fn half_spaces_with_a_contact_resistance_approach_each_other() {
    let conductance = 1500.0;
    let contact = Contact::Conductance {
        conductance_w_per_m2_k: conductance,
    };
    let (record, ea, eb) = meeting(contact, 1.0);
    let g = conductance * (1.0 / ea + 1.0 / eb);
    for (i, &t) in record.time_s.iter().enumerate() {
        if t < 0.02 {
            continue;
        }
        let x = g * t.sqrt();
        let done = 1.0 - (x * x).exp() * libm::erfc(x);
        let (upper, lower) = (
            500.0 - 200.0 * eb / (ea + eb) * done,
            300.0 + 200.0 * ea / (ea + eb) * done,
        );
        let (fu, fl) = (record.interface_upper_k[i], record.interface_lower_k[i]);
        assert!(
            (fu - upper).abs() < SHARE * 200.0,
            "{t}: {fu} against {upper}"
        );
        assert!(
            (fl - lower).abs() < SHARE * 200.0,
            "{t}: {fl} against {lower}"
        );
    }
}

/// Resistances in series: laser-side air, clamp, contact, upper, contact, lower, far-side air.
#[test]
fn steady_heat_flux_through_all_resistances_in_series() {
    let glass = Arc::new(plain(2500.0, 800.0, 1.05));
    let (a, b) = (
        Arc::new(plain(1130.0, 1700.0, 0.26)),
        Arc::new(plain(1400.0, 1100.0, 0.33)),
    );
    let mut column = two_layers(
        [body(&a, 1.2e-3, 0), body(&b, 2.3e-3, 0)],
        Absorbed {
            reflected: 1.0,
            transmitted: 0.0,
            layers: vec![DepthProfile::Exponential {
                down: 0.0,
                up: 0.0,
                mu_per_m: 1.0,
                thickness_m: 1e-3,
            }],
            upper: 0,
            lower: 0,
        },
        pulse(0.0, 0.1),
    );
    column.bodies.insert(0, body(&glass, 4e-3, 0));
    column.upper = 1;
    let through = |conductance_w_per_m2_k: f64| Contact::Conductance {
        conductance_w_per_m2_k,
    };
    column.contacts = vec![through(900.0), through(2700.0)];
    column.laser_side = Face {
        coefficient_w_per_m2_k: 75.0,
        ambient_k: 420.0,
    };
    column.far_side = Face {
        coefficient_w_per_m2_k: 210.0,
        ambient_k: 310.0,
    };
    let settings = Settings {
        longest_s: 3e4,
        ..Settings::standard()
    };
    let (_, record) = recorded(column, settings);
    let before = 1.0 / 75.0 + 4e-3 / 1.05 + 1.0 / 900.0 + 1.2e-3 / 0.26;
    let after = 2.3e-3 / 0.33 + 1.0 / 210.0;
    let flux = 110.0 / (before + 1.0 / 2700.0 + after);
    let last = record.time_s.len() - 1;
    let (upper, lower) = (420.0 - flux * before, 310.0 + flux * after);
    assert!((record.interface_upper_k[last] - upper).abs() < 1e-3);
    assert!((record.interface_lower_k[last] - lower).abs() < 1e-3);
}
