//! Swatches against a library, and what is said of clipping.

use lightseam::colour::{Observer, Tristimulus, Visible, swatch, tristimulus};

use super::{number, rows};

#[test]
fn swatches_agree_with_a_library_within_one_step() {
    let rows = rows("srgb.csv");
    assert_eq!(rows.len(), 7);
    let mut clipped = 0;
    for row in rows {
        let found = swatch(Tristimulus {
            x: number(&row[0]),
            y: number(&row[1]),
            z: number(&row[2]),
        });
        let library: Vec<f64> = row[3..6].iter().map(|it| number(it)).collect();
        for (channel, it) in found.rgb.iter().zip(&library) {
            let expected = 255.0 * it.clamp(0.0, 1.0);
            assert!(
                (f64::from(*channel) - expected).abs() < 1.0,
                "{row:?} {found:?}"
            );
        }
        let outside = library.iter().any(|it| !(-0.01..=1.001).contains(it));
        assert_eq!(found.clipped, outside, "{row:?}");
        clipped += usize::from(found.clipped);
    }
    assert_eq!(clipped, 1);
}

#[test]
fn white_is_white_and_grey_is_grey() {
    let of = |share| swatch(tristimulus(&Visible::flat(share), Observer::TwoDegrees));
    assert_eq!(
        (of(1.0).hex().as_str(), of(1.0).clipped),
        ("#ffffff", false)
    );
    assert_eq!(of(0.0).hex(), "#000000");
    // 1.055 · 0.2^(1/2.4) − 0.055 = 0.4845: 124 of 255.
    assert_eq!(of(0.2).rgb, [124; 3]);
}
