//! Enthalpy, potential and lane tables against plain quadrature.

use lightseam::heat::properties::Curves;
use lightseam::heat::table::Pool;
use lightseam::material::Thermal;
use lightseam::material::thermal::LatentHeat;
use lightseam::numerics::interpolate::PiecewiseLinear;
use lightseam::units::kelvin;

use crate::heat::joints::{plain, sourced};

/// Density, conductivity and specific heat all vary; a sharp melting peak stands in the table and
/// latent heat beside it.
fn lively() -> Thermal {
    let line = |points: &[(f64, f64)]| {
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().map(|&(c, y)| (kelvin(c), y)).unzip();
        sourced(PiecewiseLinear::new(x, y).unwrap())
    };
    Thermal {
        density_kg_per_m3: line(&[(23.0, 1130.0), (250.0, 980.0)]),
        conductivity_w_per_m_k: line(&[(23.0, 0.27), (190.0, 0.21), (250.0, 0.24)]),
        specific_heat_j_per_kg_k: line(&[
            (23.0, 1600.0),
            (200.0, 2600.0),
            (222.0, 9000.0),
            (230.0, 2700.0),
        ]),
        latent_heat: Some(sourced(LatentHeat {
            heat_j_per_kg: 37e3,
            from_k: kelvin(205.0),
            to_k: kelvin(209.0),
        })),
        ..plain(1.0, 1.0, 1.0)
    }
}

/// Integral by the midpoint rule in steps of 0.5 mK.
fn integral(f: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let count = ((to - from) / 5e-4).ceil();
    let step = (to - from) / count;
    (0..count as usize)
        .map(|i| f(from + (i as f64 + 0.5) * step) * step)
        .sum()
}

#[test]
fn enthalpy_and_potential_are_integrals_of_their_curves() {
    let thermal = lively();
    let curves = Curves::new(&thermal).unwrap();
    for (from, to) in [(-20.0, 60.0), (60.0, 204.0), (204.0, 207.0), (207.0, 300.0)] {
        let (from, to) = (kelvin(from), kelvin(to));
        let heat = integral(|t| curves.capacity_j_per_m3_k(t), from, to);
        let rise = curves.enthalpy_j_per_m3(to) - curves.enthalpy_j_per_m3(from);
        assert!(
            (rise / heat - 1.0).abs() < 1e-7,
            "{from}: {rise} against {heat}"
        );
        let k = &thermal.conductivity_w_per_m_k.value;
        let potential = integral(|t| k.at(t), from, to);
        let rise = curves.potential_w_per_m(to) - curves.potential_w_per_m(from);
        assert!((rise / potential - 1.0).abs() < 1e-7);
    }
}

#[test]
fn latent_heat_is_taken_up_whole() {
    let mut thermal = lively();
    let with = Curves::new(&thermal).unwrap();
    thermal.latent_heat = None;
    let without = Curves::new(&thermal).unwrap();
    let rise =
        |it: &Curves| it.enthalpy_j_per_m3(kelvin(215.0)) - it.enthalpy_j_per_m3(kelvin(200.0));
    // Density in the middle of the range, 207 °C; it varies linearly and the hump is even.
    let rho = 1130.0 - 150.0 * (207.0 - 23.0) / 227.0;
    let latent = rise(&with) - rise(&without);
    assert!((latent / (37e3 * rho) - 1.0).abs() < 1e-12);
}

/// A table is linear in the enthalpy between 1024 exact entries, some 0.3 K apart.
const TABLE_K: f64 = 0.03;

#[test]
fn lane_tables_follow_the_curves_and_go_on_straight_outside() {
    let curves = Curves::new(&lively()).unwrap();
    let mut pool = Pool::default();
    let table = pool.add(&curves);
    for i in 0..4000 {
        let t = kelvin(-100.0 + 0.2 * f64::from(i));
        let found = table.temperature_k(&pool, curves.enthalpy_j_per_m3(t));
        assert!((found - t).abs() < TABLE_K, "{t}: {found}");
        let back = table.temperature_k(&pool, table.enthalpy_j_per_m3(&pool, t));
        assert!((back - t).abs() < 1e-9);
    }
}

#[test]
fn what_has_no_meaning_is_refused() {
    for (quantity, thermal) in [
        ("density", plain(0.0, 2000.0, 0.2)),
        ("specific heat", plain(1000.0, -1.0, 0.2)),
        ("conductivity", plain(1000.0, 2000.0, 0.0)),
    ] {
        let said = Curves::new(&thermal).unwrap_err().to_string();
        assert!(said.starts_with(quantity), "{said}");
    }
}
