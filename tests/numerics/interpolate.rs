//! Tables between their entries.

use approx::assert_relative_eq;
use lightseam::numerics::interpolate::{MonotoneCubic, PiecewiseLinear, TableFault};
use proptest::prelude::*;

/// Interior slopes by the formula of Fritsch and Butland, written out for one point.
fn slope_by_hand(step: (f64, f64), rise: (f64, f64)) -> f64 {
    let alpha = (step.0 + 2.0 * step.1) / (3.0 * (step.0 + step.1));
    rise.0 * rise.1 / (alpha * rise.1 + (1.0 - alpha) * rise.0)
}

#[test]
fn the_monotone_cubic_follows_fritsch_and_butland() {
    let (x, y) = (vec![0.3, 0.7, 1.9, 2.2], vec![1.0, 3.0, 4.1, 9.0]);
    let table = MonotoneCubic::new(x.clone(), y.clone()).unwrap();
    // The derivative at the second entry, from a narrow difference on either side.
    let h = 1e-6;
    let measured = (table.at(x[1] + h) - table.at(x[1] - h)) / (2.0 * h);
    let rise = ((y[1] - y[0]) / 0.4, (y[2] - y[1]) / 1.2);
    assert_relative_eq!(
        measured,
        slope_by_hand((0.4, 1.2), rise),
        max_relative = 1e-5
    );
    for (x, y) in x.iter().zip(&y) {
        assert_relative_eq!(table.at(*x), *y, max_relative = 1e-14);
    }
}

#[test]
fn the_monotone_cubic_is_third_order_on_smooth_data() {
    let error = |n: usize| {
        let x: Vec<f64> = (0..=n).map(|i| 1.3 * i as f64 / n as f64).collect();
        let y = x.iter().map(|x| (2.1 * x).exp()).collect();
        let table = MonotoneCubic::new(x, y).unwrap();
        (0..1000)
            .map(|i| 0.1 + 1.1 * i as f64 / 1000.0)
            .map(|x| (table.at(x) - (2.1 * x).exp()).abs())
            .fold(0.0, f64::max)
    };
    let order = (error(40) / error(80)).log2();
    assert!(1.9 < order, "order {order}");
}

#[test]
fn tables_refuse_what_is_no_table() {
    let linear = |x: &[f64], y: &[f64]| PiecewiseLinear::new(x.to_vec(), y.to_vec()).err();
    assert_eq!(linear(&[], &[]), Some(TableFault::TooShort { entries: 0 }));
    assert_eq!(
        linear(&[1.0, 1.0], &[2.0, 3.0]),
        Some(TableFault::NotAscending { index: 1 })
    );
    assert_eq!(
        linear(&[1.0, 2.0], &[2.0, f64::NAN]),
        Some(TableFault::NotFinite { index: 1 })
    );
    assert_eq!(
        MonotoneCubic::new(vec![1.0], vec![1.0]).err(),
        Some(TableFault::TooShort { entries: 1 })
    );
}

#[test]
fn a_linear_table_holds_its_ends_and_says_so() {
    let table = PiecewiseLinear::new(vec![23.0, 250.0], vec![0.27, 0.24]).unwrap();
    assert_relative_eq!(table.at(136.5), 0.255, max_relative = 1e-12);
    assert_eq!(table.at(-40.0), 0.27);
    assert_eq!(table.at(400.0), 0.24);
    assert!(table.covers(250.0) && !table.covers(250.1) && !table.covers(22.0));
    assert!(PiecewiseLinear::constant(3.0).covers(1e9));
}

proptest! {
    /// Between two entries the cubic never leaves their range.
    #[test]
    fn the_monotone_cubic_never_overshoots(
        steps in prop::collection::vec(0.01f64..10.0, 2..12),
        values in prop::collection::vec(-1e3f64..1e3, 12),
        share in 0.0f64..1.0,
    ) {
        let x: Vec<f64> = steps.iter().scan(0.0, |x, step| { *x += step; Some(*x) }).collect();
        let y = values[..x.len()].to_vec();
        let table = MonotoneCubic::new(x.clone(), y.clone()).unwrap();
        for i in 1..x.len() {
            let value = table.at(x[i - 1] + share * (x[i] - x[i - 1]));
            let (low, high) = (y[i - 1].min(y[i]), y[i - 1].max(y[i]));
            let slack = 1e-9 * (1.0 + low.abs().max(high.abs()));
            prop_assert!(low - slack <= value && value <= high + slack);
        }
    }
}
