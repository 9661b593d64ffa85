//! A film of air across the seam: energy, ends, order, and what closes where.

use lightseam::heat::cross_section::{self, Across, Bridge, CrossSection, Settings};
use lightseam::heat::{Column, Contact, Settings as OneSettings, run};

use crate::heat::closure::{with_film, with_wetted_light};
use crate::heat::joints::{Dice, random_joint, reference_joint};

const ACROSS: Across = Across::Gaussian { width_m: 2e-3 };

fn cut(column: &Column, across: &Across, settings: &Settings) -> CrossSection {
    cross_section::run(column, across, settings).unwrap()
}

/// The reference joint with a film of air; the parts swell by so many times what they do, or are not
/// known to.
pub fn film(irradiance_w_per_m2: f64, gap_m: f64, scale: Option<f64>) -> Column {
    let mut column = reference_joint(irradiance_w_per_m2);
    with_film(&mut column, gap_m, scale);
    column
}

/// What crosses is one number for both parts, whatever the film does.
#[test]
fn energy_closes_while_the_gap_closes() {
    let settings = Settings {
        cells_per_e_fold: 3.0,
        tolerance: 0.01,
        ..Settings::standard()
    };
    let mut dice = Dice(7);
    let (mut closed, mut open) = (0, 0);
    for _ in 0..30 {
        let mut column = random_joint(&mut dice);
        with_film(&mut column, dice.log_between(1e-6, 1e-3), Some(1.0));
        with_wetted_light(&mut column, dice.between(0.8, 1.3));
        let width_m = dice.log_between(2e-4, 5e-3);
        let it = cut(&column, &Across::TopHat { width_m }, &settings);
        assert!(it.ledger.relative_residual().abs() < 1e-10);
        let bridge = it.bridge.unwrap();
        assert!(it.peak_k.iter().flatten().all(|it| it.is_finite()));
        assert!(it.seam_width_m <= bridge.closed_width_m);
        closed += usize::from(0.0 < bridge.closed_width_m);
        open += usize::from(bridge.closed_width_m == 0.0);
    }
    assert!(4 < closed && 4 < open, "{closed} {open}");
}

/// The middle swells most and meets first; beside the light the gap stays open, and the wider it is
/// the narrower the seam.
#[test]
fn the_gap_closes_in_the_middle_and_stays_open_beside() {
    let of = |gap_m: f64| cut(&film(9e6, gap_m, Some(1.0)), &ACROSS, &Settings::standard());
    let list = [1e-6, 10e-6, 20e-6, 30e-6].map(of);
    let widths = [0, 1, 2, 3].map(|i: usize| list[i].bridge.unwrap().closed_width_m);
    assert!(
        widths[3] < widths[2] && widths[2] < widths[1] && widths[1] < widths[0],
        "{widths:?}"
    );
    assert!(0.3e-3 < widths[3] && widths[0] < 6e-3, "{widths:?}");
    for it in &list {
        assert!(it.seam_width_m <= it.bridge.unwrap().closed_width_m);
    }
    // Melt of the lower part that met nothing is no seam.
    let wide = of(60e-6);
    assert_eq!(wide.bridge.unwrap().closed_width_m, 0.0);
    assert!(0.0 < wide.melt_width_m[1] && wide.seam_width_m == 0.0);
    // Heat crosses where the parts met: the upper part melts deeper than over a film held open.
    let held = cut(&film(9e6, 20e-6, None), &ACROSS, &Settings::standard());
    assert!(held.melt_depth_m[0] < 0.8 * list[2].melt_depth_m[0]);
    assert_eq!(held.seam_width_m, 0.0);
}

/// Parts that swell by nothing are parts not known to swell; a film of no width is contact but for
/// the few kelvins of its faces, and a contact that does not change knows of no gap.
#[test]
fn ends() {
    let settings = Settings::standard();
    let rigid = cut(&film(9e6, 20e-6, None), &ACROSS, &settings);
    let none = cut(&film(9e6, 20e-6, Some(0.0)), &ACROSS, &settings);
    assert_eq!(rigid.peak_k, none.peak_k);
    let open = |swelling_m| Bridge {
        swelling_m,
        closed_width_m: 0.0,
    };
    assert_eq!(rigid.bridge, Some(open(None)));
    assert_eq!(none.bridge, Some(open(Some(0.0))));

    let closed = cut(&film(6e6, 0.0, Some(1.0)), &ACROSS, &settings);
    let mut contact = reference_joint(6e6);
    contact.contacts = vec![Contact::Perfect];
    let contact = cut(&contact, &ACROSS, &settings);
    assert_eq!(contact.bridge, None);
    let rise = contact.body_peak_k - 296.15;
    for side in [0, 1] {
        let off = (closed.interface_peak_k[side] - contact.interface_peak_k[side]) / rise;
        assert!(off.abs() < 0.03, "{side}: {off}");
    }
}

/// The film is read at the state of each stage and keeps the order of the step; at the standard
/// settings peaks and swelling are as near to converged values as `Settings::standard` says.
#[test]
fn steps_keep_their_order_and_standard_settings_their_error() {
    let with = |tolerance: f64| {
        let settings = Settings {
            cells_per_e_fold: 4.0,
            tolerance,
            ..Settings::standard()
        };
        // Never closed, so that nothing but the film bends.
        cut(&film(6e6, 40e-6, Some(1.0)), &ACROSS, &settings)
    };
    let exact = with(1e-6);
    let error = |it: &CrossSection| (it.interface_peak_k[0] - exact.interface_peak_k[0]).abs();
    let list = [1e-3, 1e-4].map(with);
    let shorter = list[1].counters.steps as f64 / list[0].counters.steps as f64;
    let order = (error(&list[0]) / error(&list[1])).ln() / shorter.ln();
    assert!(1.6 < order, "{order}");

    let column = film(9e6, 20e-6, Some(1.0));
    let [standard, fine] =
        [Settings::standard(), Settings::fine()].map(|it| cut(&column, &ACROSS, &it));
    let rise = fine.body_peak_k - 296.15;
    for side in [0, 1] {
        let off = (standard.interface_peak_k[side] - fine.interface_peak_k[side]) / rise;
        assert!(off.abs() < 5e-3, "{side}: {off}");
        let off = standard.melt_depth_m[side] / fine.melt_depth_m[side] - 1.0;
        assert!(off.abs() < 0.015, "{side}: {off}");
    }
    let [a, b] = [standard, fine].map(|it| it.bridge.unwrap());
    assert!((a.closed_width_m / b.closed_width_m - 1.0).abs() < 0.015);
    let swelling = [a, b].map(|it| it.swelling_m.unwrap());
    assert!(
        (swelling[0] / swelling[1] - 1.0).abs() < 0.015,
        "{swelling:?}"
    );
}

/// Under a wide beam the middle is as in one dimension, with light that changes where melt wets the
/// other part; and the change counts.
#[test]
fn a_wide_middle_is_one_dimensional() {
    let across = Across::TopHat { width_m: 20e-3 };
    let mut rises = Vec::new();
    for times in [1.0, 1.2] {
        let mut column = film(8e6, 15e-6, Some(1.0));
        with_wetted_light(&mut column, times);
        let line = run(std::slice::from_ref(&column), &OneSettings::fine()).remove(0);
        let line = line.unwrap();
        assert!(line.film.unwrap().wetted);
        let plane = cut(&column, &across, &Settings::fine());
        let rise = line.interface_peak_lower_k - 296.15;
        let peaks = [line.interface_peak_upper_k, line.interface_peak_lower_k];
        for (one, two) in peaks.iter().zip(plane.interface_peak_k) {
            assert!((one - two).abs() < 5e-3 * rise, "{times}: {one} {two}");
        }
        rises.push(rise);
    }
    assert!(1.03 < rises[1] / rises[0], "{rises:?}");
}
