//! Gauss rules integrate polynomials of the stated degree exactly.

use lightseam::numerics::quadrature::{Rule, gauss_legendre, gauss_radau};

fn worst_up_to(rule: &Rule, degree: i32) -> f64 {
    (0..=degree)
        .map(|k| {
            let points = rule.points.iter().zip(&rule.weights);
            let sum: f64 = points.map(|(x, w)| w * x.powi(k)).sum();
            (sum - 1.0 / f64::from(k + 1)).abs()
        })
        .fold(0.0, f64::max)
}

#[test]
fn exact_up_to_their_degree_and_no_further() {
    for count in 1..=40 {
        let degree = 2 * count as i32;
        let gauss = gauss_legendre(count);
        assert!(worst_up_to(&gauss, degree - 1) < 1e-14, "Gauss {count}");
        let radau = gauss_radau(count);
        assert_eq!(radau.points[0], 1.0);
        assert!(worst_up_to(&radau, degree - 2) < 1e-14, "Radau {count}");
        for rule in [&gauss, &radau] {
            assert!(rule.points.windows(2).all(|pair| pair[1] < pair[0]));
            assert!(rule.points.iter().all(|x| 0.0 < *x) && rule.weights.iter().all(|w| 0.0 < *w));
        }
    }
    // One degree more is not integrated exactly: 1/180 and 1/36 are the known errors.
    let error = worst_up_to(&gauss_legendre(2), 4);
    assert!((error - 1.0 / 180.0).abs() < 1e-14);
    let error = worst_up_to(&gauss_radau(2), 3);
    assert!((error - 1.0 / 36.0).abs() < 1e-14, "{error}");
}

#[test]
fn two_point_rules_as_printed() {
    // M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, table 25.4: ±0.57735 02691
    // 89626 on [−1, 1].
    let gauss = gauss_legendre(2);
    assert!((2.0 * gauss.points[0] - 1.0 - 0.577_350_269_189_626).abs() < 1e-15);
    // Radau of two points on [−1, 1]: 1 and −1/3, weights 1/2 and 3/2.
    let radau = gauss_radau(2);
    assert!((radau.points[1] - 1.0 / 3.0).abs() < 1e-15);
    assert!((radau.weights[0] - 0.25).abs() < 1e-15 && (radau.weights[1] - 0.75).abs() < 1e-15);
}
