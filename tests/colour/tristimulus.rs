//! Tables, tristimulus values and L*a*b* against closed forms, published numbers and a library.

use lightseam::colour::observer::{ENTRIES, table};
use lightseam::colour::tristimulus::white;
use lightseam::colour::visible::Between;
use lightseam::colour::{Lab, Observer, Visible, contrast_ratio, tristimulus};
use lightseam::material::Spectrum;

use super::{number, rows};

fn dark(nm: f64) -> f64 {
    0.030
        + 0.020 * (-((nm - 460.0) / 40.0).powi(2)).exp()
        + 0.015 / (1.0 + (-(nm - 720.0) / 15.0).exp())
}

fn spectrum_of(name: &str) -> fn(f64) -> f64 {
    match name {
        "flat5" => |_| 0.05,
        "dark" => dark,
        "edge" => {
            |nm| 0.035 + 0.004 * (nm / 30.0).sin() + 0.25 / (1.0 + (-(nm - 690.0) / 8.0).exp())
        }
        "green" => |nm| 0.05 + 0.55 * (-((nm - 530.0) / 28.0).powi(2)).exp(),
        other => panic!("{other}"),
    }
}

/// A spectrum as an instrument tabulates it.
fn tabulated(of: fn(f64) -> f64, from_nm: f64, to_nm: f64, step_nm: f64) -> Visible {
    let count = ((to_nm - from_nm) / step_nm).round() as usize;
    let nm: Vec<f64> = (0..=count).map(|i| from_nm + step_nm * i as f64).collect();
    let shares = nm.iter().map(|it| of(*it)).collect();
    let nm = nm.iter().map(|it| it * 1e-9).collect();
    Visible::of("test", &Spectrum::table("R", nm, shares).unwrap()).unwrap()
}

fn observer(name: &str) -> Observer {
    match name {
        "2deg" => Observer::TwoDegrees,
        _ => Observer::TenDegrees,
    }
}

#[test]
fn the_tables_are_whole_and_give_the_published_white_points() {
    assert_eq!(table().len(), ENTRIES);
    assert!(
        table()
            .windows(2)
            .all(|it| it[1].wavelength_nm == it[0].wavelength_nm + 1.0)
    );
    let at = |nm: usize| table()[nm - 360];
    assert_eq!(at(560).d65, 100.0);
    assert_eq!(at(555).two_degrees[1], 1.0);
    // CIE 15, table T.3: white points of D65.
    for (observer, x, z) in [
        (Observer::TwoDegrees, 95.047, 108.883),
        (Observer::TenDegrees, 94.811, 107.304),
    ] {
        let white = white(observer);
        assert!(
            (white.x - x).abs() < 1e-3 && (white.z - z).abs() < 1.5e-3,
            "{white:?}"
        );
        assert!((white.y - 100.0).abs() < 1e-12);
    }
    // The tables are made so that an equal-energy light is white for either observer.
    for observer in Observer::ALL {
        let sums = table().iter().fold([0.0; 3], |sums: [f64; 3], row| {
            let it = observer.matching(row);
            [sums[0] + it[0], sums[1] + it[1], sums[2] + it[2]]
        });
        // 2°: 106.857 each; 10°: 116.66 each.
        assert!((sums[0] / sums[1] - 1.0).abs() < 4e-4, "{sums:?}");
        assert!((sums[2] / sums[1] - 1.0).abs() < 4e-4, "{sums:?}");
    }
}

#[test]
fn an_ideal_white_and_every_grey_have_no_colour() {
    for observer in Observer::ALL {
        for share in [1.0, 0.5, 0.05, 0.004] {
            let lab = Lab::of(tristimulus(&Visible::flat(share), observer), observer);
            let closed = if 216.0 / 24389.0 < share {
                116.0 * share.cbrt() - 16.0
            } else {
                24389.0 / 27.0 * share
            };
            assert!((lab.lightness - closed).abs() < 1e-9, "{share} {lab:?}");
            assert!(lab.chroma() < 1e-9);
        }
    }
}

#[test]
fn direct_sums_agree_with_a_library() {
    let rows = rows("colour-sums.csv");
    assert_eq!(rows.len(), 4);
    for row in rows {
        let observer = observer(&row[1]);
        let visible = tabulated(spectrum_of(&row[0]), 360.0, 830.0, 1.0);
        let xyz = tristimulus(&visible, observer);
        let lab = Lab::of(xyz, observer);
        let found = [xyz.x, xyz.y, xyz.z, lab.lightness, lab.a, lab.b];
        for (found, expected) in found.iter().zip(&row[3..]) {
            // Printed to six places; the reference holds D65 at 780 nm above it.
            assert!((found - number(expected)).abs() < 3e-6, "{row:?} {found}");
        }
    }
}

#[test]
fn coarse_spectra_agree_with_the_practice_and_with_direct_sums() {
    let rows = rows("colour-e308.csv");
    assert_eq!(rows.len(), 30);
    let find = |like: &[String]| {
        rows.iter()
            .find(|it| it[0] == like[0] && it[1] == like[1] && it[2] == "sum 1 nm")
            .unwrap()
    };
    let lab_of = |row: &[String]| Lab {
        lightness: number(&row[9]),
        a: number(&row[10]),
        b: number(&row[11]),
    };
    let apart = |a: Lab, b: Lab| {
        ((a.lightness - b.lightness).powi(2) + (a.a - b.a).powi(2) + (a.b - b.b).powi(2)).sqrt()
    };
    let mut seen = Vec::new();
    for row in &rows {
        let observer = observer(&row[1]);
        let [from, to, step] = [3, 4, 5].map(|i| number(&row[i]));
        let visible = tabulated(spectrum_of(&row[0]), from, to, step);
        let lab = Lab::of(tristimulus(&visible, observer), observer);
        let (truth, practice) = (lab_of(find(row)), lab_of(row));
        let ours = apart(lab, truth);
        // 1 nm: the same sums. 5 and 10 nm: nothing an eye or an instrument could tell. 20 nm: bands of
        // half width 47 nm and an edge of 32 nm are just sampled. The practice's own tables are as far off.
        let most = match (step as usize, from as usize) {
            (1, _) => 3e-6,
            (5, _) => 2e-3,
            (10, 360) => 0.02,
            (10, _) => 0.12,
            _ => 0.35,
        };
        assert!(ours < most, "{row:?}: {ours}");
        let theirs = apart(practice, truth);
        seen.push((step, ours, theirs));
    }
    // At 20 nm interpolation must not be worse than the practice's tables by more than a little.
    for (step, ours, theirs) in seen {
        assert!(ours < 1.5 * theirs + 0.02, "{step}: {ours} {theirs}");
    }
}

#[test]
fn a_literal_sum_over_the_rows_gives_the_same() {
    // Second implementation: the definition, with a spectrum of its own, term by term.
    let share = |nm: f64| 0.2 + 0.15 * (nm / 37.0).sin();
    let visible = tabulated(|nm| 0.2 + 0.15 * (nm / 37.0).sin(), 360.0, 830.0, 1.0);
    for observer in Observer::ALL {
        let mut sums = [0.0; 4];
        for row in table() {
            let bar = observer.matching(row);
            for i in 0..3 {
                sums[i] += row.d65 * bar[i] * share(row.wavelength_nm);
            }
            sums[3] += row.d65 * bar[1];
        }
        let found = tristimulus(&visible, observer);
        for (found, sum) in [found.x, found.y, found.z].into_iter().zip(sums) {
            assert!((found - 100.0 * sum / sums[3]).abs() < 1e-10);
        }
    }
}

#[test]
fn steps_ends_and_gaps_are_told() {
    let visible = tabulated(dark, 400.0, 700.0, 10.0);
    assert_eq!(visible.sampling.between, Between::Sprague);
    assert_eq!(
        visible.sampling.held().as_deref(),
        Some("below 400 nm and above 700 nm")
    );
    assert_eq!(visible.values[0], dark(400.0));
    assert_eq!(visible.values[470], dark(700.0));
    assert_eq!(tabulated(dark, 360.0, 780.0, 5.0).sampling.held(), None);
    // A detector change beyond the visible does not cost the even steps before it.
    let nm: Vec<f64> = (0..45)
        .map(|i| 360.0 + 10.0 * f64::from(i))
        .chain((0..20).map(|i| 802.0 + 2.0 * f64::from(i)))
        .collect();
    let shares = nm.iter().map(|it| dark(*it)).collect();
    let spectrum = Spectrum::table("R", nm.iter().map(|it| it * 1e-9).collect(), shares).unwrap();
    let visible = Visible::of("test", &spectrum).unwrap();
    assert_eq!(visible.sampling.between, Between::Sprague);
    assert!((visible.sampling.step_nm - 10.0).abs() < 1e-6);
    // Uneven steps: monotone cubic, and near the truth.
    let nm: Vec<f64> = (0..60)
        .map(|i| 350.0 + 7.0 * f64::from(i) + f64::from(i % 3))
        .collect();
    let shares = nm.iter().map(|it| dark(*it)).collect();
    let spectrum = Spectrum::table("R", nm.iter().map(|it| it * 1e-9).collect(), shares).unwrap();
    let visible = Visible::of("test", &spectrum).unwrap();
    assert_eq!(visible.sampling.between, Between::MonotoneCubic);
    let worst = (360..=740)
        .map(|nm| (visible.values[nm - 360] - dark(nm as f64)).abs())
        .fold(0.0, f64::max);
    assert!(worst < 3e-4, "{worst}");
}

#[test]
fn opacity_is_the_ratio_of_luminous_reflectances() {
    let y = |share| tristimulus(&Visible::flat(share), Observer::TenDegrees);
    assert!((contrast_ratio(y(0.049), y(0.05)).unwrap() - 0.98).abs() < 1e-12);
    assert_eq!(contrast_ratio(y(0.04), y(0.0)), None);
}
