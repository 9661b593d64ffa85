//! CIEDE2000 against the pairs of Sharma, Wu and Dalal (2005), and its symmetries.

use lightseam::colour::{Lab, ciede2000};

use super::{number, rows};

fn lab(cells: &[String]) -> Lab {
    Lab {
        lightness: number(&cells[0]),
        a: number(&cells[1]),
        b: number(&cells[2]),
    }
}

#[test]
fn every_published_pair_comes_out() {
    let rows = rows("ciede2000-sharma2005.csv");
    assert_eq!(rows.len(), 33);
    for (pair, row) in (1..).zip(&rows) {
        let found = ciede2000(lab(&row[0..3]), lab(&row[3..6]));
        let (library, published) = (number(&row[6]), number(&row[7]));
        // Number 14 sits where the mean hue jumps; there rounding decides between two values.
        let jumps = pair == 14 && (found - 4.8045).abs() < 5e-5;
        assert!(
            (found - published).abs() < 5.1e-5 || jumps,
            "pair {pair}: {found} {published}"
        );
        assert!(
            (found - library).abs() < 1e-6 || jumps,
            "pair {pair}: {found} {library}"
        );
    }
}

#[test]
fn order_does_not_matter_and_equals_are_equal() {
    for row in rows("ciede2000-sharma2005.csv") {
        let (one, two) = (lab(&row[0..3]), lab(&row[3..6]));
        let there = ciede2000(one, two);
        assert!((there - ciede2000(two, one)).abs() < 1e-12);
        assert_eq!(ciede2000(one, one), 0.0);
    }
    // Greys differ by lightness alone: ΔL / SL.
    let grey = |lightness| Lab {
        lightness,
        a: 0.0,
        b: 0.0,
    };
    let s_l = 1.0 + 0.015 * 25.0f64.powi(2) / (20.0 + 25.0f64.powi(2)).sqrt();
    assert!((ciede2000(grey(24.0), grey(26.0)) - 2.0 / s_l).abs() < 1e-12);
}
