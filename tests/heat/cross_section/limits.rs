//! A seam so wide that nothing leaves sideways is the one-dimensional answer; energy; ends of the
//! range.

use std::sync::Arc;

use lightseam::heat::cross_section::{self, Across, CrossSection, Settings};
use lightseam::heat::{self, Column, Contact, History};
use lightseam::material::Damage;

use crate::heat::cross_section::gap::film;
use crate::heat::joints::{
    beer_lambert, body, plain, pulse, reference_joint, reference_material, sourced, two_layers,
};

/// Largest residual of the energy: rounding of sums over thousands of cells and hundreds of steps.
const ENERGY: f64 = 1e-10;

fn cut(column: &Column, across: &Across, settings: &Settings) -> CrossSection {
    let it = cross_section::run(column, across, settings).unwrap();
    let residual = it.ledger.relative_residual();
    assert!(residual.abs() < ENERGY, "energy {residual:e}");
    it
}

fn depth_only(column: &Column) -> History {
    heat::run(std::slice::from_ref(column), &heat::Settings::fine())
        .remove(0)
        .unwrap()
}

/// The reference joint with kinetics, a gap or not, and a strongly absorbing upper part or not.
fn joints() -> Vec<(&'static str, Column)> {
    let with_damage = |mut column: Column| {
        for body in &mut column.bodies {
            body.damage = Some(Arc::new(Damage {
                frequency_per_s: sourced(1e14),
                energy_j_per_mol: sourced(2.1e5),
            }));
        }
        column
    };
    let mut gap = reference_joint(12e6);
    gap.contacts = vec![Contact::Conductance {
        conductance_w_per_m2_k: 700.0,
    }];
    let thermal = Arc::new(reference_material());
    let other = Arc::new(plain(1190.0, 1470.0, 0.19));
    let unlike = two_layers(
        [body(&other, 0.8e-3, 0), body(&thermal, 2e-3, 1)],
        beer_lambert([400.0, 4e4], [0.8e-3, 2e-3]),
        pulse(2.4e6, 0.03),
    );
    let mut clamped = reference_joint(12e6);
    let glass = Arc::new(plain(2500.0, 830.0, 1.1));
    clamped.bodies.insert(0, body(&glass, 5e-3, 2));
    clamped.contacts.insert(0, Contact::Perfect);
    clamped.upper = 1;
    let mut light = (*clamped.light).clone();
    light
        .layers
        .push(beer_lambert([1e-6, 1.0], [5e-3, 1.0]).layers[0].clone());
    clamped.light = Arc::new(light);
    vec![
        ("contact", with_damage(reference_joint(12e6))),
        ("gap", with_damage(gap)),
        ("closing gap", with_damage(film(9e6, 20e-6, Some(1.0)))),
        (
            "gap too wide to close",
            with_damage(film(9e6, 120e-6, Some(1.0))),
        ),
        ("unlike", with_damage(unlike)),
        ("clamped", with_damage(clamped)),
    ]
}

#[test]
fn a_very_wide_seam_is_the_one_dimensional_answer() {
    // 16 α t / w², what the curvature in the middle of a Gaussian could take away, is 1e-5.
    let wide = Across::Gaussian { width_m: 60e-3 };
    let settings = Settings {
        follow_to_share: 0.01,
        ..Settings::fine()
    };
    let mut fused: usize = 0;
    for (name, column) in joints() {
        let (flat, line) = (cut(&column, &wide, &settings), depth_only(&column));
        let rise = line.body_peak_k - 296.15;
        let peaks = [
            (flat.interface_peak_k[0], line.interface_peak_upper_k),
            (flat.interface_peak_k[1], line.interface_peak_lower_k),
            (flat.laser_side_peak_k, line.laser_side_peak_k),
            (flat.body_peak_k, line.body_peak_k),
        ];
        for (found, wanted) in peaks {
            if wanted < flat.final_above_k {
                continue;
            }
            let off = (found - wanted) / rise;
            // 0.1 %: both solve the same equations on grids of their own.
            assert!(off.abs() < 1e-3, "{name}: {found} against {wanted}");
        }
        if let Some(film) = line.film {
            let found = flat.bridge.unwrap();
            let (found, wanted) = (found.swelling_m.unwrap(), film.swelling_m.unwrap());
            assert!(
                (found / wanted - 1.0).abs() < 5e-3,
                "{name}: {found} {wanted}"
            );
            assert_eq!(film.closed_s.is_some(), name == "closing gap");
        }
        for (found, wanted) in flat
            .melt_depth_m
            .into_iter()
            .zip([line.upper_melt_depth_m, line.lower_melt_depth_m])
        {
            // 0.5 %, or a tenth of a micrometre.
            let off = (found - wanted).abs();
            assert!(off < (5e-3 * wanted).max(1e-7), "{name}: {found} {wanted}");
        }
        let (found, wanted) = (flat.damage_integral.unwrap(), line.damage_integral.unwrap());
        assert!(
            (found / wanted - 1.0).abs() < 0.02,
            "{name}: {found} {wanted}"
        );
        fused += usize::from(0.0 < flat.seam_width_m);
    }
    assert!(1 < fused, "{fused}");
}

#[test]
fn the_far_border_does_not_matter_and_the_middle_is_flat() {
    let column = reference_joint(9e6);
    let it = cut(
        &column,
        &Across::Gaussian { width_m: 1.3e-3 },
        &Settings::standard(),
    );
    let last = it.across_m.len() - 1;
    for (row, peaks) in it.peak_k.iter().enumerate() {
        assert!(
            (peaks[last] - 296.15).abs() < 1e-3,
            "row {row}: {}",
            peaks[last]
        );
        assert!(peaks[1] <= peaks[0] + 1e-6 && peaks[0] - peaks[1] < 1.0);
    }
}

#[test]
fn energy_closes_and_every_number_is_one_at_the_ends_of_the_range() {
    let thermal = Arc::new(reference_material());
    let mut seen = 0;
    for thickness in [1e-6, 1.2e-3, 50e-3] {
        for dwell in [1e-5_f64, 0.05, 100.0] {
            for mu in [10.0, 1e6] {
                for width in [2e-5, 2e-3] {
                    let energy = 2e4 * (1.0 + 1e3 * dwell).sqrt();
                    let mut column = two_layers(
                        [body(&thermal, thickness, 0), body(&thermal, 2e-3, 1)],
                        beer_lambert([30.0, mu], [thickness, 2e-3]),
                        pulse(energy / dwell * 0.1, dwell),
                    );
                    column.contacts = vec![Contact::Conductance {
                        conductance_w_per_m2_k: 26.0,
                    }];
                    let settings = Settings {
                        cells_per_e_fold: 3.0,
                        tolerance: 0.01,
                        ..Settings::standard()
                    };
                    let it = cut(&column, &Across::TopHat { width_m: width }, &settings);
                    let finite = |it: &f64| it.is_finite() && 290.0 < *it;
                    assert!(it.peak_k.iter().flatten().all(finite));
                    assert!(it.seam_width_m.is_finite() && 0.0 <= it.seam_width_m);
                    seen += 1;
                }
            }
        }
    }
    assert_eq!(seen, 36);
}

#[test]
fn no_light_changes_nothing() {
    let column = reference_joint(0.0);
    let it = cut(
        &column,
        &Across::TopHat { width_m: 1e-3 },
        &Settings::standard(),
    );
    assert!((it.body_peak_k - 296.15).abs() < 1e-9);
    assert_eq!(it.seam_width_m, 0.0);
    assert_eq!(it.melt_depth_m, [0.0, 0.0]);
}

#[test]
fn a_profile_without_width_is_refused() {
    let column = reference_joint(1e6);
    for across in [
        Across::TopHat { width_m: 0.0 },
        Across::Gaussian { width_m: f64::NAN },
        Across::TopHat { width_m: -1e-3 },
    ] {
        let refused = cross_section::run(&column, &across, &Settings::standard());
        assert!(
            refused
                .unwrap_err()
                .to_string()
                .contains("width of the light")
        );
    }
}

#[test]
fn repeated_passes_are_followed() {
    let mut column = reference_joint(3e6);
    column.exposure.passes = 5;
    column.exposure.period_s = 0.1;
    let (flat, line) = (
        cut(
            &column,
            &Across::TopHat { width_m: 40e-3 },
            &Settings::fine(),
        ),
        depth_only(&column),
    );
    let rise = line.body_peak_k - 296.15;
    let off = (flat.interface_peak_k[1] - line.interface_peak_lower_k) / rise;
    assert!(off.abs() < 1e-3, "{off}");
}

/// Passes between the first and the last few are spread evenly here as in one dimension: against all
/// of them followed one by one.
#[test]
fn spread_passes_heat_like_all_of_them() {
    let mut column = reference_joint(15e6);
    column.exposure.dwell_s = 0.6e-3;
    column.exposure.passes = 40;
    column.exposure.period_s = 0.06;
    let wide = Across::TopHat { width_m: 40e-3 };
    let settings = Settings {
        most_resolved_passes: 6,
        ..Settings::standard()
    };
    let flat = cut(&column, &wide, &settings);
    let all = heat::Settings {
        most_resolved_passes: 1000,
        ..heat::Settings::fine()
    };
    let line = heat::run(&[column], &all).remove(0).unwrap();
    let rise = line.body_peak_k - 296.15;
    assert!(150.0 < rise);
    for (found, wanted) in [
        (flat.interface_peak_k[0], line.interface_peak_upper_k),
        (flat.interface_peak_k[1], line.interface_peak_lower_k),
        (flat.body_peak_k, line.body_peak_k),
    ] {
        let off = (found - wanted) / rise;
        assert!(off.abs() < 5e-3, "{found} against {wanted}");
    }
    // Where the pulses were met while they should be spread, it took 1163 and 428 thrown away.
    assert!(flat.counters.steps < 400, "{:?}", flat.counters);
}
