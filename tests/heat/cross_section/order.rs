//! Errors fall at the rate of the scheme, in space and in time, and are small at the standard
//! settings.

use lightseam::heat::cross_section::{self, Across, CrossSection, Settings};

use crate::heat::joints::{beer_lambert, body, plain, pulse, reference_joint, two_layers};
use std::sync::Arc;

const ACROSS: Across = Across::Gaussian { width_m: 0.9e-3 };

fn smooth(settings: Settings) -> CrossSection {
    let upper = Arc::new(plain(1190.0, 1470.0, 0.19));
    let lower = Arc::new(plain(1130.0, 1900.0, 0.27));
    let column = two_layers(
        [body(&upper, 1e-3, 0), body(&lower, 2e-3, 1)],
        beer_lambert([300.0, 8e3], [1e-3, 2e-3]),
        pulse(5e5, 0.2),
    );
    cross_section::run(&column, &ACROSS, &settings).unwrap()
}

fn numbers(it: &CrossSection) -> [f64; 3] {
    [
        it.interface_peak_k[0],
        it.interface_peak_k[1],
        it.body_peak_k,
    ]
}

fn errors(list: &[CrossSection], exact: [f64; 3]) -> Vec<[f64; 3]> {
    list.iter()
        .map(|it| {
            let found = numbers(it);
            [0, 1, 2].map(|i| (found[i] - exact[i]).abs())
        })
        .collect()
}

#[test]
fn halving_every_cell_divides_errors_by_four() {
    let with = |cells_per_e_fold: f64| {
        smooth(Settings {
            cells_per_e_fold,
            tolerance: 2e-5,
            ..Settings::standard()
        })
    };
    let list = [3.0, 6.0, 12.0].map(with);
    let [coarse, middle, fine] = [0, 1, 2].map(|i| numbers(&list[i]));
    for i in 0..2 {
        let ratio = (coarse[i] - middle[i]) / (middle[i] - fine[i]);
        assert!(
            (3.0..5.5).contains(&ratio),
            "{i}: {ratio} of {coarse:?} {middle:?} {fine:?}"
        );
    }
}

#[test]
fn errors_fall_with_the_square_of_the_steps() {
    let with = |tolerance: f64| {
        smooth(Settings {
            cells_per_e_fold: 4.0,
            tolerance,
            ..Settings::standard()
        })
    };
    let exact = numbers(&with(3e-6));
    let list = [1.6e-2, 4e-3, 1e-3, 2.5e-4].map(with);
    let found = errors(&list, exact);
    for i in 0..2 {
        // From the coarsest to the finest; steps are counted, not assumed.
        let steps = list[3].counters.steps as f64 / list[0].counters.steps as f64;
        let order = (found[0][i] / found[3][i]).ln() / steps.ln();
        assert!(1.7 < order, "{i}: order {order} of {found:?}");
    }
}

/// What `Settings::standard` promises, on joints that melt.
#[test]
fn the_standard_settings_keep_what_they_promise() {
    for (irradiance, across) in [
        (16e6, Across::Gaussian { width_m: 1.2e-3 }),
        (13e6, Across::TopHat { width_m: 1.0e-3 }),
        (13e6, Across::TopHat { width_m: 0.3e-3 }),
    ] {
        let column = reference_joint(irradiance);
        let run = |settings: Settings| cross_section::run(&column, &across, &settings).unwrap();
        let (found, fine) = (run(Settings::standard()), run(Settings::fine()));
        let rise = fine.body_peak_k - 296.15;
        let off = (found.interface_peak_k[1] - fine.interface_peak_k[1]) / rise;
        assert!(off.abs() < 5e-3, "peak {off}");
        let lengths = |it: &CrossSection| {
            [
                it.seam_width_m,
                it.melt_depth_m[0],
                it.melt_depth_m[1],
                it.melt_width_m[1],
            ]
        };
        for (a, b) in lengths(&found).into_iter().zip(lengths(&fine)) {
            assert!(
                0.0 < b && (a / b - 1.0).abs() < 0.015,
                "{a} {b} of {across:?}"
            );
        }
    }
}
