//! Sprague's interpolation against a library, and where it is exact.

use std::fs;

use lightseam::numerics::sprague::Sprague;

use crate::support::project;

/// The reference is printed to twelve places.
const PRINTED: f64 = 1e-11;

#[test]
fn it_agrees_with_a_library() {
    let text = fs::read_to_string(project("tests/published/sprague.csv")).unwrap();
    let rows: Vec<(String, f64, f64)> = text
        .lines()
        .filter(|it| !it.starts_with('#') && !it.starts_with("kind"))
        .map(|it| {
            let cells: Vec<&str> = it.split(',').collect();
            (
                cells[0].to_string(),
                cells[1].parse().unwrap(),
                cells[2].parse().unwrap(),
            )
        })
        .collect();
    let nodes: Vec<f64> = rows
        .iter()
        .filter(|it| it.0 == "node")
        .map(|it| it.2)
        .collect();
    let curve = Sprague::new(400.0, 10.0, &nodes).unwrap();
    let between: Vec<_> = rows.iter().filter(|it| it.0 == "between").collect();
    assert_eq!((nodes.len(), between.len()), (11, 12));
    for (_, x, y) in between {
        assert!(
            (curve.at(*x) - y).abs() < PRINTED,
            "{x}: {} {y}",
            curve.at(*x)
        );
    }
}

#[test]
fn inside_it_is_exact_to_the_fourth_degree_and_at_the_ends_to_the_first() {
    let of = |degree: i32| -> Sprague {
        let y: Vec<f64> = (0..12)
            .map(|i| (0.3 + 0.7 * f64::from(i)).powi(degree))
            .collect();
        Sprague::new(0.3, 0.7, &y).unwrap()
    };
    for degree in 0..=4 {
        let curve = of(degree);
        for x in [1.9, 2.7, 4.44, 5.81] {
            let truth = f64::powi(x, degree);
            assert!((curve.at(x) - truth).abs() < 1e-11 * truth, "{degree} {x}");
        }
    }
    for x in [0.31, 0.99, 7.2, 7.99] {
        assert!((of(1).at(x) - x).abs() < 1e-12);
    }
}

#[test]
fn its_error_falls_with_the_fifth_power_of_the_step() {
    let error = |step: f64| {
        let f = |x: f64| (1.3 * x).sin() + 0.4 * x;
        let count = (6.0 / step).round() as usize + 1;
        let y: Vec<f64> = (0..count).map(|i| f(step * i as f64)).collect();
        let curve = Sprague::new(0.0, step, &y).unwrap();
        (0..400)
            .map(|i| 2.0 + 0.005 * f64::from(i))
            .map(|x| (curve.at(x) - f(x)).abs())
            .fold(0.0, f64::max)
    };
    let order = (error(0.4) / error(0.2)).log2();
    assert!((4.6..6.5).contains(&order), "{order}");
}

#[test]
fn ends_are_held_and_too_little_is_refused() {
    let y = [0.3, 0.2, 0.7, 0.4, 0.5, 0.9];
    let curve = Sprague::new(400.0, 20.0, &y).unwrap();
    assert_eq!((curve.at(100.0), curve.at(900.0)), (0.3, 0.9));
    assert_eq!(curve.at(440.0), 0.7);
    assert!(Sprague::new(400.0, 20.0, &y[1..]).is_none());
    assert!(Sprague::new(400.0, 0.0, &y).is_none());
}
