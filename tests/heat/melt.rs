//! Healing and squeezing: closed forms, a literal second implementation, and whole runs.

use std::sync::Arc;

use approx::assert_relative_eq;
use lightseam::heat::melt::{Film, Molten};
use lightseam::heat::{Column, MeltPlan, Record, Settings, Squeeze, run};
use lightseam::material::melt::{Healing, Viscosity};
use lightseam::optics::Exposure;

use crate::heat::joints::{pulse, reference_joint};

fn even(viscosity_pa_s: f64) -> Viscosity {
    Viscosity::Arrhenius {
        value_pa_s: viscosity_pa_s,
        reference_k: 500.0,
        energy_j_per_mol: 1e3,
    }
}

fn press(pressure_pa: f64, width_m: f64) -> Squeeze {
    Squeeze {
        pressure_pa,
        width_m,
        viscosity: [even(430.0); 2],
        target_m: None,
    }
}

fn zone(thickness_m: f64, viscosity_pa_s: f64) -> Molten {
    Molten::of(&[
        (0.3e-3, 1.0 / viscosity_pa_s),
        (0.3e-3 + 0.4 * thickness_m, 1.0 / viscosity_pa_s),
        (0.3e-3 + thickness_m, 1.0 / viscosity_pa_s),
    ])
}

/// Φ = h³ / 12 η
#[test]
fn fluidity_of_one_viscosity() {
    let zone = zone(90e-6, 430.0);
    assert_relative_eq!(zone.thickness_m, 90e-6, max_relative = 1e-12);
    assert_relative_eq!(
        zone.fluidity,
        90e-6f64.powi(3) / (12.0 * 430.0),
        max_relative = 1e-9
    );
}

/// Stefan: 1/h² = 1/h0² + 2 p t / (η w²), in any number of steps.
#[test]
fn a_film_that_melts_no_further() {
    let (p, w, eta, h0, time) = (0.8e6, 1.7e-3, 430.0, 90e-6, 3.0);
    for steps in [1, 7, 60] {
        let molten = zone(h0, eta);
        let mut film = Film::default();
        film.step(&press(0.0, w), Molten::default(), molten, 1.0);
        assert_relative_eq!(film.thickness_m, h0, max_relative = 1e-12);
        for _ in 0..steps {
            film.step(&press(p, w), molten, molten, time / f64::from(steps));
        }
        let expected = 1.0 / (1.0 / (h0 * h0) + 2.0 * p * time / (eta * w * w)).sqrt();
        assert_relative_eq!(film.thickness_m, expected, max_relative = 1e-9);
        assert_relative_eq!(film.squeezed_m, h0 - expected, max_relative = 1e-9);
    }
}

/// While the film is as thick as ever it loses p h³ / (η w²) a second.
#[test]
fn a_film_of_constant_thickness() {
    let (p, w, eta, h) = (1.3e6, 2.1e-3, 7100.0, 60e-6);
    let molten = zone(h, eta);
    let mut film = Film::default();
    film.step(&press(0.0, w), Molten::default(), molten, 1.0);
    let time = 1e-4;
    film.step(&press(p, w), molten, molten, time);
    let expected = p * h.powi(3) / (eta * w * w) * time;
    assert_relative_eq!(film.squeezed_m, expected, max_relative = 1e-4);
}

/// A film that freezes keeps what has left it; one that melts again starts from what is left.
#[test]
fn freezing_stops_the_flow() {
    let molten = zone(80e-6, 300.0);
    let squeeze = press(1e6, 1e-3);
    let mut film = Film::default();
    film.step(&squeeze, Molten::default(), molten, 0.1);
    let squeezed = film.squeezed_m;
    assert!(0.0 < squeezed && squeezed < 80e-6);
    film.step(&squeeze, molten, Molten::default(), 1e-9);
    let frozen = film.squeezed_m;
    for _ in 0..5 {
        film.step(&squeeze, Molten::default(), Molten::default(), 10.0);
    }
    assert_eq!(film.squeezed_m, frozen);
    assert_eq!(film.thickness_m, 0.0);
}

/// Flow between walls with a viscosity that changes thirtyfold across it, cell by cell: d/dz(η du/dz) =
/// −1, u = 0 at both walls, flow rate ∫u dz. Literal, by the tridiagonal equations.
#[test]
fn fluidity_of_a_changing_viscosity() {
    let h = 110e-6;
    let eta = |z: f64| 200.0 * (3.4 * z / h).exp();
    let points: Vec<(f64, f64)> = (0..=400)
        .map(|i| h * f64::from(i) / 400.0)
        .map(|z| (2e-3 + z, 1.0 / eta(z)))
        .collect();
    let ours = Molten::of(&points).fluidity;

    let n = 4000;
    let dz = h / n as f64;
    // Unknowns at cell middles; walls half a cell away.
    let face = |i: usize| eta(i as f64 * dz) / (dz * dz);
    let (mut c, mut d) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let below = if i == 0 { 2.0 * face(0) } else { face(i) };
        let above = if i + 1 == n {
            2.0 * face(n)
        } else {
            face(i + 1)
        };
        let (mut diagonal, mut right) = (below + above, 1.0);
        if 0 < i {
            diagonal -= below * c[i - 1];
            right += below * d[i - 1];
        }
        c[i] = above / diagonal;
        d[i] = right / diagonal;
    }
    let mut u = vec![0.0; n];
    for i in (0..n).rev() {
        u[i] = d[i] + if i + 1 < n { c[i] * u[i + 1] } else { 0.0 };
    }
    let theirs: f64 = u.iter().sum::<f64>() * dz;
    assert_relative_eq!(ours, theirs, max_relative = 1e-3);
    // The mean viscosity would be off by more than a tenth.
    let mean: f64 = (0..n).map(|i| eta((i as f64 + 0.5) * dz)).sum::<f64>() / n as f64;
    assert!(0.1 < (h.powi(3) / (12.0 * mean) / theirs - 1.0).abs());
}

const HEALING: Healing = Healing {
    time_s: 0.7,
    reference_k: 520.0,
    energy_j_per_mol: 61e3,
};

const THINS: Viscosity = Viscosity::Wlf {
    d1_pa_s: 3e11,
    reference_k: 373.0,
    a1: 27.0,
    a2_k: 51.6,
};

fn melting_joint() -> Column {
    let mut joint = reference_joint(0.0);
    joint.exposure = Exposure {
        passes: 12,
        period_s: 0.05,
        ..pulse(16e6, 0.002)
    };
    joint.melt = MeltPlan {
        healing: [Some(HEALING); 2],
        squeeze: Some(Arc::new(Squeeze {
            pressure_pa: 1.5e6,
            width_m: 1.8e-3,
            viscosity: [THINS; 2],
            target_m: Some(5e-6),
        })),
    };
    joint
}

/// Healing and collapse from the recorded temperatures alone, by small explicit steps.
fn literal(record: &Record, flow_k: f64, squeeze: &Squeeze) -> (f64, f64) {
    let face = record
        .depth_m
        .windows(2)
        .position(|it| it[0] == it[1])
        .unwrap();
    // Molten thickness and Φ of a row, from forty slices of every interval.
    let molten = |row: &[f64]| -> (f64, f64) {
        let mut slices = Vec::new();
        let mut walk = |indices: &mut dyn Iterator<Item = (usize, usize)>| {
            for (i, j) in indices {
                for s in 0..40 {
                    let share = (f64::from(s) + 0.5) / 40.0;
                    let t = row[i] + share * (row[j] - row[i]);
                    if t < flow_k {
                        return;
                    }
                    let z = record.depth_m[i] + share * (record.depth_m[j] - record.depth_m[i]);
                    let dz = 0.025 * (record.depth_m[j] - record.depth_m[i]).abs();
                    slices.push((z, dz, 1.0 / squeeze.viscosity[0].at_pa_s(t)));
                }
            }
        };
        walk(&mut (0..face).rev().map(|i| (i + 1, i)));
        walk(&mut (face + 1..record.depth_m.len() - 1).map(|i| (i, i + 1)));
        let sum =
            |of: &dyn Fn(f64) -> f64| slices.iter().map(|(z, dz, f)| of(*z) * dz * f).sum::<f64>();
        let thickness: f64 = slices.iter().map(|it| it.1).sum();
        let zero = sum(&|_| 1.0);
        if zero == 0.0 {
            return (0.0, 0.0);
        }
        let centre = sum(&|z| z) / zero;
        (thickness, sum(&|z| (z - centre).powi(2)))
    };
    let rows: Vec<(f64, f64)> = record.temperature_k.iter().map(|it| molten(it)).collect();
    let (mut healing, mut film, mut squeezed) = (0.0, 0.0f64, 0.0);
    for i in 1..record.time_s.len() {
        let dt = record.time_s[i] - record.time_s[i - 1];
        let (from, to) = (rows[i - 1], rows[i]);
        const SLICES: usize = 100;
        for s in 0..SLICES {
            let at = |share: f64, a: f64, b: f64| a + share * (b - a);
            let share = (s as f64 + 0.5) / SLICES as f64;
            let t = at(
                share,
                record.interface_upper_k[i - 1],
                record.interface_upper_k[i],
            );
            let dt = dt / SLICES as f64;
            if flow_k <= t {
                healing += dt * HEALING.rate_per_s(t);
            }
            let (before, after) = (
                at(s as f64 / SLICES as f64, from.0, to.0),
                at((s as f64 + 1.0) / SLICES as f64, from.0, to.0),
            );
            film = if before <= after {
                film + after - before
            } else {
                film * after / before
            };
            if 0.0 < after {
                let fluidity = at(share, from.1, to.1) * (film / after).powi(3);
                let lost = (12.0 * squeeze.pressure_pa * fluidity / squeeze.width_m.powi(2) * dt)
                    .min(film);
                film -= lost;
                squeezed += lost;
            }
        }
    }
    (healing, squeezed)
}

#[test]
fn a_whole_run_agrees_with_its_recorded_temperatures() {
    let joint = melting_joint();
    let squeeze = joint.melt.squeeze.clone().unwrap();
    let flow_k = joint.bodies[0].thermal.flow_temperature_k.value;
    // Between recorded times the literal way takes chords, which at the standard steps heal 1 % more
    // than the cubics do; at steps half as long, a quarter of that.
    let settings = Settings {
        record: true,
        tolerance: 1e-4,
        ..Settings::standard()
    };
    let standard = run(std::slice::from_ref(&joint), &Settings::standard())
        .remove(0)
        .unwrap();
    let history = run(&[joint], &settings).remove(0).unwrap();
    let record = history.record.as_ref().unwrap();
    let (healing, squeezed) = literal(record, flow_k, &squeeze);
    let ours = history.melt;
    assert!(30e-6 < history.upper_melt_depth_m);
    assert!(0.01 < healing && healing < 1e3, "{healing}");
    assert!(5e-6 < squeezed, "{squeezed:e}");
    assert_relative_eq!(ours.healing.unwrap(), healing, max_relative = 5e-3);
    assert_relative_eq!(
        standard.melt.healing.unwrap(),
        ours.healing.unwrap(),
        max_relative = 0.01
    );
    assert_relative_eq!(
        standard.melt.collapse_m.unwrap(),
        ours.collapse_m.unwrap(),
        max_relative = 0.05
    );
    assert_relative_eq!(ours.collapse_m.unwrap(), squeezed, max_relative = 0.03);
    // The stated collapse was reached between the recorded times around it.
    let reached = ours.collapse_reached_s.unwrap();
    let i = record.collapse_m.iter().position(|it| 5e-6 <= *it).unwrap();
    assert!(record.time_s[i - 1] <= reached && reached <= record.time_s[i]);
    assert!(record.collapse_m.is_sorted());
}

#[test]
fn nothing_is_followed_that_is_not_asked_for() {
    let mut joint = melting_joint();
    joint.melt.healing[1] = None;
    joint.melt.squeeze = None;
    let melt = run(&[joint], &Settings::standard()).remove(0).unwrap().melt;
    assert_eq!((melt.healing, melt.collapse_m), (None, None));
}
