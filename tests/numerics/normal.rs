//! Normal quantiles and intervals against other libraries.

use approx::assert_relative_eq;
use lightseam::numerics::normal::{normal_quantile, student_95, wilson_95};

#[test]
fn quantiles_are_those_of_another_library() {
    let table = include_str!("../published/normal-quantiles.csv");
    let mut rows = 0;
    for line in table.lines().filter(|it| !it.starts_with(['#', 'p'])) {
        let (p, z) = line.split_once(',').unwrap();
        let (p, z): (f64, f64) = (p.parse().unwrap(), z.parse().unwrap());
        assert_relative_eq!(normal_quantile(p), z, max_relative = 2e-14, epsilon = 1e-15);
        rows += 1;
    }
    assert_eq!(rows, 17);
    assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
    assert_eq!(normal_quantile(1.0), f64::INFINITY);
    assert!(normal_quantile(-0.1).is_nan() && normal_quantile(1.1).is_nan());
}

/// Worked with scipy's normal quantile: 0 of 10, 9 of 10, 37 of 1000.
#[test]
fn wilson_intervals_hold_at_the_ends() {
    let cases = [
        (0, 10, 0.0, 0.277_532_799_862_889_2),
        (9, 10, 0.595_849_973_204_761_5, 0.982_123_786_904_927_1),
        (
            37,
            1000,
            0.026_961_180_875_554_734,
            0.050_582_397_482_069_31,
        ),
    ];
    for (hits, trials, low, high) in cases {
        let found = wilson_95(hits, trials);
        assert_relative_eq!(found.0, low, epsilon = 1e-12);
        assert_relative_eq!(found.1, high, epsilon = 1e-12);
    }
    assert_eq!(wilson_95(0, 0), (0.0, 1.0));
}

/// scipy.stats.t.ppf(0.975, dof).
#[test]
fn students_quantiles_are_those_of_a_table() {
    for (count, t) in [
        (2, 12.7062),
        (8, 2.364_6),
        (16, 2.131_4),
        (17, 2.119_9),
        (32, 2.039_5),
    ] {
        assert_relative_eq!(student_95(count), t, max_relative = 1e-4);
    }
    assert_eq!(student_95(1), f64::INFINITY);
}
