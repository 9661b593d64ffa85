//! A closing film of air: closed forms, limits, energy, order, and a literal second implementation.

use std::sync::Arc;

use approx::assert_relative_eq;
use lightseam::heat::closure::{air_conductivity_w_per_m_k, swelling_m};
use lightseam::heat::{Column, Contact, Film, History, Settings, run};
use lightseam::material::expansion::Swelling;
use lightseam::material::{Expansion, Sourced, Status, Thermal};
use lightseam::numerics::interpolate::PiecewiseLinear;
use lightseam::optics::{Absorbed, DepthProfile};
use lightseam::units::kelvin;

use crate::heat::joints::{
    Dice, beer_lambert, body, plain, pulse, random_joint, reference_material, two_layers,
};

/// A polymer that swells by 3e-4 /K by volume solid and by 6e-4 /K from a jump of 8 % on.
fn expansion(scale: f64) -> Expansion {
    let at = |c: f64, strain: f64| (kelvin(c), (1.0 + scale * strain) / 1130.0);
    let (x, y) = [
        at(23.0, 0.0),
        at(180.0, 0.0471),
        at(225.0, 0.13),
        at(425.0, 0.25),
    ]
    .into_iter()
    .unzip();
    Expansion {
        specific_volume_m3_per_kg: Sourced::new(
            PiecewiseLinear::new(x, y).unwrap(),
            "assumed",
            Status::Invented,
        ),
        poisson_ratio: Sourced::new(0.4, "assumed", Status::Invented),
    }
}

fn swelling(thermal: &Thermal, scale: f64) -> Arc<Swelling> {
    Arc::new(expansion(scale).swelling(thermal, kelvin(23.0)))
}

/// 1.5 mm on 3 mm, 0.1 and 5 /mm, 50 ms, with a film of air.
fn joint(irradiance_w_per_m2: f64, gap_m: f64, scale: Option<f64>) -> Column {
    let thermal = Arc::new(reference_material());
    let mut column = two_layers(
        [body(&thermal, 1.5e-3, 0), body(&thermal, 3e-3, 1)],
        beer_lambert([100.0, 5e3], [1.5e-3, 3e-3]),
        pulse(irradiance_w_per_m2, 0.050),
    );
    with_film(&mut column, gap_m, scale);
    column
}

pub fn with_film(column: &mut Column, gap_m: f64, scale: Option<f64>) {
    let swell = |side: usize| {
        let thermal = &column.bodies[column.upper + side].thermal;
        scale.map(|it| swelling(thermal, it))
    };
    let film = Film {
        gap_m,
        swelling: [swell(0), swell(1)],
        factor: 1.0,
        wetted: None,
    };
    column.contacts[column.upper] = Contact::Conductance {
        conductance_w_per_m2_k: film.conductance_w_per_m2_k(gap_m, [kelvin(23.0); 2]),
    };
    column.film = Some(Arc::new(film));
}

/// Light in the upper part once melt has wetted the other part, over that before.
const UPPER_WETTED: f64 = 2.0 / 3.0;

/// So many times as much light in the lower part once melt has wetted the other part, and a third less
/// in the upper one where that is more than before.
pub fn with_wetted_light(column: &mut Column, times: f64) {
    let mut light = Absorbed::clone(&column.light);
    let upper = if 1.0 < times { UPPER_WETTED } else { 1.0 };
    for (body, times) in [(column.upper, upper), (column.upper + 1, times)] {
        let at = column.bodies[body].light_layer;
        let DepthProfile::Exponential { down, up, .. } = &mut light.layers[at] else {
            unreachable!("the joints of these tests have exponential light")
        };
        *down *= times;
        *up *= times;
    }
    let mut film = Film::clone(column.film.as_ref().unwrap());
    film.wetted = Some(Arc::new(light));
    column.film = Some(Arc::new(film));
}

fn solve(column: Column, settings: &Settings) -> History {
    run(&[column], settings).remove(0).unwrap()
}

/// Strain through a layer by hand, and the thickness gained by a linear profile.
#[test]
fn swelling_of_a_prescribed_field() {
    let thermal = reference_material();
    let it = swelling(&thermal, 1.0);
    // Solid: 3e-4 · 100 K by volume, of which (1 + 0.4)/(3 · 0.6) = 7/9 goes through the layer.
    assert_relative_eq!(
        it.strain(kelvin(123.0)),
        0.03 * 7.0 / 9.0,
        max_relative = 1e-12
    );
    // Molten: all of it.
    assert_relative_eq!(it.strain(kelvin(325.0)), 0.19, max_relative = 1e-12);
    // A profile T(z) = 23 °C + 150 K (1 − z/L) in the solid: u = L · (7/9) · 3e-4 · 75.
    let length = 0.4e-3;
    let depth: Vec<f64> = (0..=40)
        .map(|i| length * (f64::from(i) / 40.0).powi(2))
        .collect();
    let u = swelling_m(&depth, |i| {
        it.strain(kelvin(23.0 + 150.0 * (1.0 - depth[i] / length)))
    });
    assert_relative_eq!(u, length * 7.0 / 9.0 * 3e-4 * 75.0, max_relative = 1e-12);
}

/// 26.2 mW/(m K) at 300 K; 100 µm at 300 K: 0.0262/(100 + 0.247) µm and 4 σ T³ · 0.818 beside.
#[test]
fn conductance_by_hand() {
    assert_relative_eq!(air_conductivity_w_per_m_k(300.0), 0.0262);
    assert_relative_eq!(air_conductivity_w_per_m_k(500.0), 0.03985);
    let film = Film {
        gap_m: 1e-4,
        swelling: [None, None],
        factor: 1.0,
        wetted: None,
    };
    let jump = 2.0 * (1.1 / 0.9) * (2.0 * 1.4 / 2.4) / 0.71 * 61.1e-9 * 300.0 / 298.0;
    assert!((0.24e-6..0.25e-6).contains(&jump));
    let radiation = 4.0 * 5.670_374_419e-8 * 300.0_f64.powi(3) * (1.0 / (2.0 / 0.9 - 1.0));
    assert_relative_eq!(
        film.conductance_w_per_m2_k(1e-4, [300.0; 2]),
        0.0262 / (1e-4 + jump) + radiation,
        max_relative = 1e-12
    );
    // Touching: contact of 1e5 W/(m² K).
    let touching = film.conductance_w_per_m2_k(0.0, [300.0; 2]);
    assert!((1.0e5..1.1e5).contains(&touching), "{touching}");
}

/// No width: as in perfect contact, but for the jump of a few kelvins at the faces.
#[test]
fn no_gap_is_contact() {
    let closed = solve(joint(6e6, 0.0, Some(1.0)), &Settings::standard());
    let mut contact = joint(6e6, 0.0, None);
    contact.contacts = vec![Contact::Perfect];
    contact.film = None;
    let contact = solve(contact, &Settings::standard());
    let rise = contact.interface_peak_lower_k - kelvin(23.0);
    let off = |a: f64, b: f64| ((a - b) / rise).abs();
    assert!(
        off(
            closed.interface_peak_lower_k,
            contact.interface_peak_lower_k
        ) < 0.02
    );
    assert!(
        off(
            closed.interface_peak_upper_k,
            contact.interface_peak_upper_k
        ) < 0.03
    );
}

/// Parts that swell by nothing are parts not known to swell, to the last bit.
#[test]
fn no_expansion_is_air_alone() {
    let rigid = solve(joint(8e6, 30e-6, None), &Settings::standard());
    let none = solve(joint(8e6, 30e-6, Some(0.0)), &Settings::standard());
    assert_eq!(rigid.interface_peak_upper_k, none.interface_peak_upper_k);
    assert_eq!(rigid.interface_peak_lower_k, none.interface_peak_lower_k);
    assert_eq!(rigid.counters, none.counters);
    assert_eq!(rigid.film.unwrap().swelling_m, None);
    assert_eq!(none.film.unwrap().swelling_m, Some(0.0));
    // And the film conducts as a constant contact of its mean conductance would, within the rise of
    // the air's conductivity.
    let swells = solve(joint(8e6, 30e-6, Some(1.0)), &Settings::standard());
    assert!(rigid.interface_peak_upper_k < swells.interface_peak_upper_k);
}

#[test]
fn energy_closes() {
    let mut dice = Dice(99);
    let mut columns: Vec<Column> = (0..60).map(|_| random_joint(&mut dice)).collect();
    for column in &mut columns {
        let gap_m = dice.log_between(0.1e-6, 2e-3);
        let scale = dice.between(0.0, 2.0);
        with_film(column, gap_m, Some(scale));
        with_wetted_light(column, dice.between(0.8, 1.3));
        column.laser_side.coefficient_w_per_m2_k = dice.log_between(1.0, 1000.0);
    }
    let (mut closed, mut wetted) = (0, 0);
    for (column, history) in columns.iter().zip(run(&columns, &Settings::standard())) {
        let history = history.unwrap();
        assert!(history.ledger.relative_residual().abs() < 1e-10);
        assert!(history.interface_peak_upper_k.is_finite());
        let film = history.film.unwrap();
        closed += usize::from(film.closed_s.is_some());
        // Another light, another sum: the ledger is no sum of shares that never changed.
        let share: f64 = column.light.layers.iter().map(DepthProfile::total).sum();
        let usual = share * column.exposure.fluence_j_per_m2();
        let off = history.ledger.absorbed_j_per_m2 / usual - 1.0;
        assert!(film.wetted || off.abs() < 1e-12);
        assert!(off.abs() < 0.3);
        wetted += usize::from(1e-3 < off.abs());
    }
    assert!((5..55).contains(&closed), "{closed}");
    assert!(3 < wetted, "{wetted}");
}

/// Peaks against a fine run: the conductance followed from step to step keeps the method's order,
/// and so does light that changes where melt wets the other part, within a step.
#[test]
fn second_order_in_time() {
    for times in [None, Some(1.1)] {
        second_order_in_time_with(times);
    }
}

fn second_order_in_time_with(times: Option<f64>) {
    let solve = |tolerance: f64| {
        let settings = Settings {
            tolerance,
            ..Settings::fine()
        };
        let mut column = joint(7e6, 20e-6, Some(1.0));
        if let Some(times) = times {
            with_wetted_light(&mut column, times);
        }
        solve(column, &settings)
    };
    let exact = solve(1e-8);
    let runs = [3e-3, 3e-5, 3e-6].map(solve);
    let error = |it: &History| {
        let swelling = |it: &History| it.film.unwrap().swelling_m.unwrap();
        let closed = |it: &History| it.film.unwrap().closed_s.unwrap();
        [
            (it.interface_peak_upper_k - exact.interface_peak_upper_k).abs(),
            (swelling(it) / swelling(&exact) - 1.0).abs(),
            (closed(it) / closed(&exact) - 1.0).abs(),
        ]
    };
    let errors: Vec<[f64; 3]> = runs.iter().map(error).collect();
    let steps: Vec<usize> = runs.iter().map(|it| it.counters.steps).collect();
    // Near the standard tolerance: 1 K of a rise of 400 K, and 0.3 %.
    assert!(errors[0][0] < 1.0 && errors[0][1] < 3e-3 && errors[0][2] < 3e-3);
    // Swelling follows the heat taken up and is known to 1e-5 at any of them.
    for what in [0, 2] {
        let shorter = steps[2] as f64 / steps[1] as f64;
        let order = (errors[1][what] / errors[2][what]).ln() / shorter.ln();
        assert!(1.7 < order, "{what}: order {order}, {errors:?}, {steps:?}");
    }
}

/// Explicit steps on even cells, temperatures at cell centres, enthalpy by hand; nothing shared
/// with the solver but the laws of strain and conductance.
#[test]
fn a_literal_implementation_agrees() {
    let peaks = [1.0, 1.25].map(a_literal_implementation_agrees_with);
    // A quarter more light from when melt wetted the other part is well above what is asserted.
    assert!(1.03 < peaks[1] / peaks[0], "{peaks:?}");
}

/// Rise of the interface with so many times as much light in the lower part once that is wetted.
fn a_literal_implementation_agrees_with(times: f64) -> f64 {
    let thermal = plain(1130.0, 1700.0, 0.25);
    let thermal = Arc::new(thermal);
    let mut column = two_layers(
        [body(&thermal, 0.6e-3, 0), body(&thermal, 0.9e-3, 1)],
        beer_lambert([100.0, 5e3], [0.6e-3, 0.9e-3]),
        pulse(6e6, 0.050),
    );
    column.laser_side.coefficient_w_per_m2_k = 0.0;
    column.far_side.coefficient_w_per_m2_k = 0.0;
    with_film(&mut column, 20e-6, Some(1.0));
    with_wetted_light(&mut column, times);
    let settings = Settings {
        record: true,
        ..Settings::fine()
    };
    let found = solve(column.clone(), &settings);

    let film = column.film.clone().unwrap();
    let swell = film.swelling[0].clone().unwrap();
    let flow = thermal.flow_temperature_k.value;
    let (dz, k, c) = (5e-6, 0.25, 1130.0 * 1700.0);
    let counts = [120usize, 180];
    let mut t = [vec![kelvin(23.0); 120], vec![kelvin(23.0); 180]];
    // Light: exp(−100 z) above, then exp(−5000 z) below.
    let through = (-100.0 * 0.6e-3_f64).exp();
    let source = |part: usize, i: usize| {
        let (mu, front) = [(100.0, 1.0), (5e3, through)][part];
        let z = i as f64 * dz;
        front * ((-mu * z).exp() - (-mu * (z + dz)).exp()) / dz
    };
    let light: Vec<Vec<f64>> = (0..2)
        .map(|part| (0..counts[part]).map(|i| source(part, i)).collect())
        .collect();
    let dt = 0.2 * dz * dz * c / k;
    let (mut time, mut wetted, mut most, mut closed) = (0.0, false, 0.0_f64, None);
    let mut peak = [0.0_f64; 2];
    while time < 0.12 {
        let irradiance = if time < 0.050 { 6e6 } else { 0.0 };
        let part_irradiance = if wetted && 1.0 < times {
            [UPPER_WETTED * irradiance, times * irradiance]
        } else {
            [irradiance; 2]
        };
        // Faces from centres: half a cell of conduction; the light within it is small.
        let u: f64 = t.iter().flatten().map(|&it| swell.strain(it) * dz).sum();
        most = most.max(u);
        let centres = [t[0][119], t[1][0]];
        let mut faces = centres;
        let mut flux = 0.0;
        for _ in 0..3 {
            let left = if wetted { 0.0 } else { (20e-6 - u).max(0.0) };
            let h = film.conductance_w_per_m2_k(left, faces);
            flux = (centres[1] - centres[0]) / (1.0 / h + dz / k);
            faces = [
                centres[0] + flux * 0.5 * dz / k,
                centres[1] - flux * 0.5 * dz / k,
            ];
        }
        if 20e-6 <= u {
            closed.get_or_insert(time);
            wetted |= faces.iter().any(|it| flow <= *it);
        }
        for side in 0..2 {
            peak[side] = peak[side].max(faces[side]);
        }
        let old = t.clone();
        for part in 0..2 {
            let n = counts[part];
            for i in 0..n {
                let before = if 0 < i {
                    k * (old[part][i - 1] - old[part][i]) / dz
                } else if part == 1 {
                    -flux
                } else {
                    0.0
                };
                let after = if i + 1 < n {
                    k * (old[part][i + 1] - old[part][i]) / dz
                } else if part == 0 {
                    flux
                } else {
                    0.0
                };
                t[part][i] +=
                    dt / c * ((before + after) / dz + part_irradiance[part] * light[part][i]);
            }
        }
        time += dt;
    }
    let outcome = found.film.unwrap();
    let rise = peak[1] - kelvin(23.0);
    assert!(closed.is_some() && outcome.closed_s.is_some());
    assert_relative_eq!(
        outcome.closed_s.unwrap(),
        closed.unwrap(),
        max_relative = 0.01
    );
    assert_relative_eq!(outcome.swelling_m.unwrap(), most, max_relative = 0.01);
    assert!(
        (found.interface_peak_upper_k - peak[0]).abs() < 0.015 * rise,
        "{} {}",
        found.interface_peak_upper_k,
        peak[0]
    );
    assert!(
        (found.interface_peak_lower_k - peak[1]).abs() < 0.015 * rise,
        "{} {}",
        found.interface_peak_lower_k,
        peak[1]
    );
    let record = found.record.unwrap();
    assert_eq!(record.gap_m.len(), record.time_s.len());
    assert_eq!(record.gap_m[0], 20e-6);
    rise
}

/// The ends of what may be asked, and what has no meaning.
#[test]
fn extremes_and_refusals() {
    for (irradiance, gap_m) in [
        (0.0, 20e-6),
        (6e6, 1e-3),
        (6e6, 5e-3),
        (1e9, 1e-9),
        (2e8, 1e-3),
        (6e6, 1e-12),
    ] {
        let it = solve(joint(irradiance, gap_m, Some(1.0)), &Settings::standard());
        assert!(it.interface_peak_upper_k.is_finite() && it.interface_peak_lower_k.is_finite());
        assert!(it.ledger.relative_residual().abs() < 1e-10);
        if irradiance == 0.0 {
            assert_eq!(it.film.unwrap().swelling_m, Some(0.0));
            assert_eq!(it.film.unwrap().closed_s, None);
        }
    }
    for gap_m in [f64::NAN, -1e-6, f64::INFINITY] {
        let mut column = joint(6e6, 20e-6, Some(1.0));
        let mut film = Film::clone(column.film.as_ref().unwrap());
        film.gap_m = gap_m;
        column.film = Some(Arc::new(film));
        assert!(run(&[column], &Settings::standard()).remove(0).is_err());
    }
    let mut merged = joint(6e6, 20e-6, Some(1.0));
    merged.contacts = vec![Contact::Perfect];
    assert!(run(&[merged], &Settings::standard()).remove(0).is_err());
}

/// A case gives the same bits whatever its neighbours.
#[test]
fn neighbours_do_not_matter() {
    let columns: Vec<Column> = (0..20)
        .map(|i| {
            joint(
                2e6 + 4e5 * f64::from(i),
                5e-6 * f64::from(i % 5),
                (i % 3 != 0).then_some(1.0),
            )
        })
        .collect();
    let together = run(&columns, &Settings::standard());
    for (column, together) in columns.into_iter().zip(together) {
        assert_eq!(solve(column, &Settings::standard()), together.unwrap());
    }
}

/// A film changes the equations of its lane; a case that follows there without one has its own back.
#[test]
fn a_film_leaves_nothing_behind() {
    let with = joint(4e6, 10e-6, Some(1.0));
    let without = Column {
        film: None,
        ..with.clone()
    };
    let alone = [&with, &without].map(|it| solve(it.clone(), &Settings::standard()));
    assert_ne!(
        alone[0].interface_peak_upper_k,
        alone[1].interface_peak_upper_k
    );
    let mut columns = vec![with; 20];
    columns.extend(vec![without; 20]);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let together = pool
        .unwrap()
        .install(|| run(&columns, &Settings::standard()));
    for (i, together) in together.into_iter().enumerate() {
        assert_eq!(alone[i / 20], together.unwrap(), "column {i}");
    }
}
