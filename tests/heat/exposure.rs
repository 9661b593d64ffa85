//! Many passes: fast ones heat like their average, slow ones one after the other.

use lightseam::heat::{History, Settings, run};
use lightseam::material::Damage;
use lightseam::optics::Exposure;
use lightseam::optics::beam::Shape;

use crate::heat::joints::{reference_joint, sourced};

fn solve(exposure: Exposure) -> History {
    let mut joint = reference_joint(0.0);
    joint.exposure = exposure;
    run(&[joint], &Settings::standard()).remove(0).unwrap()
}

/// One long shot of 1 s, 0.4 W/mm².
const SHOT: Exposure = Exposure {
    pulse: Shape::TopHat,
    irradiance_w_per_m2: 0.4e6,
    dwell_s: 1.0,
    passes: 1,
    period_s: 0.0,
};

/// The same energy in `passes` pulses a tenth as long as their distance.
fn split(passes: u32) -> Exposure {
    let period_s = 1.0 / f64::from(passes);
    Exposure {
        irradiance_w_per_m2: 10.0 * SHOT.irradiance_w_per_m2,
        dwell_s: 0.1 * period_s,
        passes,
        period_s,
        ..SHOT
    }
}

#[test]
fn many_fast_passes_converge_to_the_average() {
    let average = solve(SHOT).interface_peak_upper_k;
    let off: Vec<f64> = [10, 100, 1000]
        .iter()
        .map(|&passes| (solve(split(passes)).interface_peak_upper_k - average).abs())
        .collect();
    // The ripple of a pass is a tenth as high with ten times the passes.
    assert!(
        5.0 < off[0] && off[1] < 0.2 * off[0] && off[2] < 0.2 * off[1].max(2.5),
        "{off:?}"
    );
}

#[test]
fn pulses_too_weak_to_be_seen_are_taken_together() {
    let history = solve(split(100_000));
    let average = solve(SHOT);
    assert!(history.counters.steps < 500, "{:?}", history.counters);
    let off = history.interface_peak_upper_k - average.interface_peak_upper_k;
    assert!(off.abs() < 0.5, "{off}");
    assert!(history.ledger.relative_residual().abs() < 1e-9);
}

#[test]
fn one_pass_is_a_contour_weld() {
    let one = solve(Exposure {
        passes: 1,
        period_s: 123.0,
        ..SHOT
    });
    let contour = solve(SHOT);
    assert_eq!(one.interface_peak_upper_k, contour.interface_peak_upper_k);
}

#[test]
fn slow_passes_repeat_the_first() {
    let pulse = Exposure {
        irradiance_w_per_m2: 8e6,
        dwell_s: 0.02,
        ..SHOT
    };
    let once = solve(pulse);
    let thrice = solve(Exposure {
        passes: 3,
        period_s: 2000.0,
        ..pulse
    });
    // After half an hour in air the parts are cold again, but for a thousandth.
    let off = thrice.interface_peak_upper_k - once.interface_peak_upper_k;
    assert!((0.0..0.5).contains(&off), "{off}");
    assert!((thrice.time_above_flow_s / once.time_above_flow_s - 3.0).abs() < 0.05);
}

#[test]
fn a_gaussian_pulse_gives_off_its_energy() {
    let history = solve(Exposure {
        pulse: Shape::Gaussian,
        irradiance_w_per_m2: 10e6,
        dwell_s: 0.02,
        ..SHOT
    });
    assert!(history.ledger.relative_residual().abs() < 1e-10);
    assert!(400.0 < history.interface_peak_upper_k);
}

/// Strong pulses on a cold joint, a hundredth as long as their distance.
fn strong(passes: u32) -> Exposure {
    Exposure {
        irradiance_w_per_m2: 1.1e7,
        dwell_s: 0.6e-3,
        passes,
        period_s: 0.06,
        ..SHOT
    }
}

fn resolving(exposure: Exposure, most_resolved_passes: u32) -> History {
    let mut joint = reference_joint(0.0);
    for body in &mut joint.bodies {
        body.damage = Some(std::sync::Arc::new(Damage {
            frequency_per_s: sourced(8.5e12),
            energy_j_per_mol: sourced(188e3),
        }));
    }
    joint.exposure = exposure;
    let settings = Settings {
        most_resolved_passes,
        ..Settings::standard()
    };
    run(&[joint], &settings).remove(0).unwrap()
}

/// The error that the settings state for spreading all but the first and the last eight pulses.
#[test]
fn averaging_early_passes_costs_what_the_settings_say() {
    assert_eq!(Settings::standard().most_resolved_passes, 8);
    // Hot all over; hot at the last few pulses only; melted part of the way, with few and many.
    // Damage is done at the height of the ripple, which early passes no longer have: 4 % at most.
    for (passes, irradiance_w_per_m2, hotter_k, least_damage) in [
        (400, 1.1e7, 650.0, 0.98),
        (60, 1.4e7, 470.0, 0.95),
        (25, 4e7, 550.0, 0.97),
        (120, 1.3e7, 530.0, 0.97),
    ] {
        let exposure = Exposure {
            irradiance_w_per_m2,
            ..strong(passes)
        };
        let exact = resolving(exposure, 1000);
        let standard = resolving(exposure, Settings::standard().most_resolved_passes);
        let off_k = (standard.body_peak_k - exact.body_peak_k).abs();
        let damage = standard.damage_integral.unwrap() / exact.damage_integral.unwrap();
        let at = format!("{passes} passes, {irradiance_w_per_m2} W/m²");
        assert!(hotter_k < exact.body_peak_k, "{at}: {}", exact.body_peak_k);
        assert!(off_k < 0.1, "{at}: {off_k} K");
        assert!((least_damage..1.02).contains(&damage), "{at}: {damage}");
        assert!(standard.ledger.relative_residual().abs() < 1e-9);
        assert!(2 * standard.counters.steps < exact.counters.steps);
        for (spread_m, exact_m) in [
            (standard.upper_melt_depth_m, exact.upper_melt_depth_m),
            (standard.lower_melt_depth_m, exact.lower_melt_depth_m),
        ] {
            let off = (spread_m - exact_m).abs();
            assert!(off <= 2e-3 * exact_m, "{at}: {spread_m} m for {exact_m} m");
        }
    }
}

/// Spread over the period around its middle a pulse comes at its own time on average: half a period
/// late, twelve followed pulses would leave it more than half a kelvin off.
#[test]
fn pulses_spread_evenly_come_neither_late_nor_early() {
    for (pulse, irradiance_w_per_m2) in [(Shape::TopHat, 1.4e7), (Shape::Gaussian, 2.4e7)] {
        let exposure = Exposure {
            pulse,
            irradiance_w_per_m2,
            ..strong(60)
        };
        let exact = resolving(exposure, 1000);
        for followed in [8, 12] {
            let spread = resolving(exposure, followed);
            let off_k = spread.interface_peak_upper_k - exact.interface_peak_upper_k;
            assert!(off_k.abs() < 0.015, "{pulse:?}, {followed}: {off_k} K");
            assert!(2 * spread.counters.steps < exact.counters.steps);
            let residual = spread.ledger.relative_residual().abs();
            assert!(residual < 1e-9, "{residual}");
        }
    }
}

/// Gaussian pulses that begin before the one before has ended.
#[test]
fn overlapping_pulses_can_be_spread() {
    let exposure = Exposure {
        pulse: Shape::Gaussian,
        irradiance_w_per_m2: 5e5,
        dwell_s: 0.05,
        passes: 40,
        period_s: 0.03,
    };
    assert!(2.0 * exposure.period_s < exposure.pulse_s());
    let (exact, spread) = (resolving(exposure, 1000), resolving(exposure, 5));
    let off_k = spread.interface_peak_upper_k - exact.interface_peak_upper_k;
    assert!(250.0 < exact.interface_peak_upper_k - exact.range_k[0].0);
    assert!(off_k.abs() < 0.3, "{off_k} K");
    for history in [exact, spread] {
        let residual = history.ledger.relative_residual().abs();
        assert!(residual < 1e-9, "{residual}");
    }
}

/// Cost no longer grows with the number of passes once it is past the resolved ones.
#[test]
fn thousands_of_passes_cost_no_more_than_hundreds() {
    let weak = |passes| Exposure {
        irradiance_w_per_m2: 2e6,
        ..strong(passes)
    };
    let (few, many) = (resolving(weak(300), 100), resolving(weak(3000), 100));
    let growth = many.counters.steps as f64 / few.counters.steps as f64;
    assert!(growth < 1.3, "{growth}");
    assert!(many.ledger.relative_residual().abs() < 1e-9);
    assert!(few.interface_peak_upper_k < many.interface_peak_upper_k);
}
