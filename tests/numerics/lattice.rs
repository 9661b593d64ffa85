//! Interpolation on a lattice: exact for cubics, of fourth order, no node twice.

use lightseam::numerics::lattice::Lattice;

fn filled(lattice: &mut Lattice, points: &[Vec<f64>], f: impl Fn(&[f64]) -> Vec<f64>) {
    for node in lattice.missing(points.iter().map(Vec::as_slice)) {
        let value = f(&lattice.place(&node));
        lattice.add(node, value);
    }
}

#[test]
fn cubics_come_back_exactly() {
    let f = |x: &[f64]| {
        vec![
            1.3 - 0.7 * x[0] + 2.0 * x[0].powi(3) * x[1].powi(2),
            x[0] * x[1],
        ]
    };
    let mut lattice = Lattice::new(vec![0.3, 0.7]);
    let points = vec![vec![0.11, -1.3], vec![-2.05, 0.4], vec![0.6, 0.0]];
    filled(&mut lattice, &points, f);
    for point in &points {
        for (found, expected) in lattice.at(point).unwrap().iter().zip(f(point)) {
            assert!((found - expected).abs() < 1e-12, "{point:?}");
        }
    }
    assert!(lattice.missing(points.iter().map(Vec::as_slice)).is_empty());
    assert!(lattice.at(&[50.0, 0.0]).is_none());
}

#[test]
fn variables_that_stay_cost_no_node() {
    let mut lattice = Lattice::new(vec![0.2, 0.2, 0.2]);
    filled(&mut lattice, &[vec![0.0, 0.05, 0.0]], |x| vec![x[1].exp()]);
    assert_eq!(lattice.len(), 4);
}

#[test]
fn the_error_is_of_fourth_order() {
    let error = |step: f64| {
        let points: Vec<Vec<f64>> = (0..50).map(|i| vec![0.037 * f64::from(i)]).collect();
        let mut lattice = Lattice::new(vec![step]);
        filled(&mut lattice, &points, |x| vec![x[0].exp()]);
        points
            .iter()
            .map(|x| (lattice.at(x).unwrap()[0] / x[0].exp() - 1.0).abs())
            .fold(0.0, f64::max)
    };
    let (coarse, fine) = (error(0.4), error(0.2));
    assert!(
        12.0 < coarse / fine && coarse / fine < 20.0,
        "{coarse} {fine}"
    );
    // 3/128 h⁴ of the largest value of the four nodes.
    assert!(fine < 3.0 / 128.0 * 0.2f64.powi(4) * 0.4f64.exp());
}
