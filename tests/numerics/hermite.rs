//! The monotone cubic with given slopes.

use lightseam::numerics::interpolate::{MonotoneCubic, TableFault};

#[test]
fn a_cubic_with_its_own_slopes_is_itself() {
    let (f, slope) = (|x: f64| x.powi(3) + 0.3 * x, |x: f64| 3.0 * x * x + 0.3);
    let x = vec![0.0, 0.7, 1.1, 2.0];
    let y: Vec<f64> = x.iter().map(|&x| f(x)).collect();
    let slopes: Vec<f64> = x.iter().map(|&x| slope(x)).collect();
    let table = MonotoneCubic::with_slopes(x, y, slopes).unwrap();
    for i in 0..=40 {
        let at = f64::from(i) * 0.05;
        assert!((table.at(at) - f(at)).abs() < 1e-13);
    }
}

#[test]
fn slopes_that_overshoot_are_cut() {
    let steep = vec![0.0, 50.0, -4.0];
    let table =
        MonotoneCubic::with_slopes(vec![0.0, 1.0, 2.0], vec![0.0, 1.0, 1.5], steep).unwrap();
    let values: Vec<f64> = (0..=200).map(|i| table.at(f64::from(i) * 0.01)).collect();
    assert!(values.windows(2).all(|pair| pair[0] <= pair[1] + 1e-15));
    let flat = MonotoneCubic::with_slopes(vec![0.0, 1.0], vec![2.0, 2.0], vec![3.0, -3.0]).unwrap();
    assert_eq!(flat.at(0.5), 2.0);
}

#[test]
fn slopes_must_be_numbers_and_as_many_as_points() {
    let make = |slopes| MonotoneCubic::with_slopes(vec![0.0, 1.0], vec![0.0, 1.0], slopes);
    assert_eq!(make(vec![1.0]), Err(TableFault::TooShort { entries: 1 }));
    assert_eq!(
        make(vec![1.0, f64::NAN]),
        Err(TableFault::NotFinite { index: 1 })
    );
}
