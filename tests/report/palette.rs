//! Colour maps against CIE lightness and OKLab, computed the other way round.

use lightseam::report::palette::Colour;
use lightseam::report::palette::Map;
use lightseam::report::palette::PAPER;
use lightseam::report::palette::Role;

/// Steps of a map may differ by this factor; rounding to 8 bits accounts for a tenth of it.
const STEP_RATIO: f64 = 1.25;

fn linear(colour: Colour) -> [f64; 3] {
    colour.rgb.map(|it| {
        let it = f64::from(it) / 255.0;
        if it <= 0.04045 {
            it / 12.92
        } else {
            ((it + 0.055) / 1.055).powf(2.4)
        }
    })
}

/// L* of ISO/CIE 11664-4, from the luminance of IEC 61966-2-1.
fn cie_lightness(colour: Colour) -> f64 {
    let [r, g, b] = linear(colour);
    let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    let f = if (6.0f64 / 29.0).powi(3) < y {
        y.cbrt()
    } else {
        841.0 / 108.0 * y + 4.0 / 29.0
    };
    116.0 * f - 16.0
}

/// OKLab from linear sRGB, the forward matrices of Ottosson (2020).
fn oklab(colour: Colour) -> [f64; 3] {
    let [r, g, b] = linear(colour);
    let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
    let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
    let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
    [
        0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
        1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
        0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
    ]
}

fn steps(of: impl Fn(f64) -> Colour, count: usize) -> Vec<f64> {
    let at = |i: usize| oklab(of(i as f64 / count as f64));
    (0..count)
        .map(|i| {
            let (a, b) = (at(i), at(i + 1));
            (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
        })
        .collect()
}

#[test]
fn oklab_of_white_is_white() {
    let [lightness, a, b] = oklab(PAPER);
    assert!((lightness - 1.0).abs() < 1e-6 && a.abs() < 1e-6 && b.abs() < 1e-6);
    assert!((cie_lightness(PAPER) - 100.0).abs() < 1e-9);
}

#[test]
fn equal_steps_of_value_are_equal_steps_of_colour() {
    for map in [Map::Dusk, Map::Water] {
        let steps = steps(|it| map.colour(it), 16);
        let (low, high) = steps.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), it| {
            (a.min(*it), b.max(*it))
        });
        assert!(high / low < STEP_RATIO, "{map:?}: {low} to {high}");
    }
}

#[test]
fn maps_survive_grey_printing() {
    // Nine bands stay apart by lightness alone: neighbours differ by more than 4 L*.
    for (map, sign) in [(Map::Dusk, 1.0), (Map::Water, -1.0)] {
        for i in 0..8 {
            let at = |i: i32| cie_lightness(map.colour(f64::from(i) / 8.0));
            assert!(4.0 < sign * (at(i + 1) - at(i)), "{map:?} step {i}");
        }
    }
    let grey = |share| cie_lightness(Map::Signed.colour(share));
    assert!(grey(0.0) < grey(0.25) && grey(0.25) < grey(0.5));
    assert!(grey(1.0) < grey(0.75) && grey(0.75) < grey(0.5));
}

#[test]
fn ends_hold_and_nonsense_is_the_middle() {
    assert_eq!(Map::Dusk.colour(-3.0), Map::Dusk.colour(0.0));
    assert_eq!(Map::Dusk.colour(7.0), Map::Dusk.colour(1.0));
    assert_eq!(Map::Dusk.colour(f64::NAN), Map::Dusk.colour(0.5));
}

#[test]
fn small_letters_keep_their_contrast() {
    let roles = (0..9).map(Role::Series).chain([
        Role::Ink,
        Role::Quiet,
        Role::Sound,
        Role::Unfused,
        Role::Weak,
        Role::Degraded,
        Role::Marked,
        Role::Along(0.0),
        Role::Along(1.0),
    ]);
    for role in roles {
        // WCAG 2.1 contrast of text on paper, level AA.
        let contrast = 1.05 / (role.text_colour().luminance() + 0.05);
        assert!(4.5 <= contrast, "{role:?}: {contrast}");
    }
}
