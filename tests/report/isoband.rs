//! Areas and lines of known fields against closed forms, and against looking point by point.

use std::f64::consts::PI;

use lightseam::report::isoband::Area;
use lightseam::report::isoband::Lattice;
use lightseam::report::svg::placing::encloses;
use ndarray::Array2;

/// What a field of straight pieces may miss of a smooth one on these grids.
const AREA_TOLERANCE: f64 = 0.01;

fn sampled(columns: usize, rows: usize, field: impl Fn(f64, f64) -> f64) -> Lattice {
    let spread = |count: usize| -> Vec<f64> {
        (0..count)
            .map(|i| 2.0 * i as f64 / (count - 1) as f64 - 1.0)
            .collect()
    };
    let (x, y) = (spread(columns), spread(rows));
    let values = Array2::from_shape_fn((rows, columns), |(j, i)| field(x[i], y[j]));
    Lattice::new(&x, &y, values.view())
}

/// Area by the shoelace formula; holes run the other way round and count negative.
fn size(area: &Area) -> f64 {
    let ring = |points: &Vec<[f64; 2]>| -> f64 {
        (0..points.len())
            .map(|i| {
                let (a, b) = (points[i], points[(i + 1) % points.len()]);
                (a[0] * b[1] - b[0] * a[1]) / 2.0
            })
            .sum()
    };
    area.rings.iter().map(ring).sum::<f64>().abs()
}

#[test]
fn a_ramp_is_cut_exactly() {
    // 0.7 x + 0.2 ≥ 0.3 where x ≥ 1/7: 6/7 of the width 1 and height 2.
    let grid = sampled(7, 5, |x, _| 0.7 * x + 0.2);
    let area = grid.at_least(0.3);
    assert!((size(&area) - 2.0 * (6.0 / 7.0)).abs() < 1e-12);
    // One straight line from edge to edge, and none along the edges of the data.
    assert_eq!(area.lines.len(), 1);
    assert_eq!(area.lines[0].len(), 2);
    for point in &area.lines[0] {
        assert!((point[0] - 1.0 / 7.0).abs() < 1e-12 && point[1].abs() == 1.0);
    }
    assert_eq!(size(&grid.at_least(-5.0)), 4.0);
    assert_eq!(grid.at_least(5.0), Area::default());
}

#[test]
fn a_circle_has_its_area_and_a_closed_line() {
    let radius = 0.73;
    let area = sampled(41, 33, |x, y| radius - x.hypot(y)).at_least(0.0);
    let exact = PI * radius * radius;
    assert!((size(&area) / exact - 1.0).abs() < AREA_TOLERANCE);
    assert_eq!(area.lines.len(), 1);
    assert_eq!(area.lines[0].first(), area.lines[0].last());
    for point in &area.lines[0] {
        assert!((point[0].hypot(point[1]) - radius).abs() < 2e-3);
    }
}

#[test]
fn a_ring_keeps_its_hole() {
    let area = sampled(81, 81, |x, y| 0.12 - (x.hypot(y) - 0.6).abs()).at_least(0.0);
    let exact = PI * (0.72f64.powi(2) - 0.48f64.powi(2));
    assert!((size(&area) / exact - 1.0).abs() < AREA_TOLERANCE);
    assert_eq!(area.rings.len(), 2);
    assert!(!encloses(&area.rings, [0.0, 0.0]));
    assert!(encloses(&area.rings, [0.61, 0.03]));
}

#[test]
fn missing_samples_leave_a_hole_half_a_cell_wide() {
    // Columns at −1, −0.9 … 1; those beyond 0.45 have no value: data end half-way, at 0.45.
    let grid = sampled(21, 21, |x, y| if 0.45 < x { f64::NAN } else { x + y });
    let all = grid.at_least(f64::NEG_INFINITY);
    assert!((size(&all) - 2.0 * 1.45).abs() < 1e-9);
    // The field goes straight on to that edge: x + y ≥ 0.4 there is a triangle above y = −0.05.
    let part = grid.at_least(0.4);
    assert!((size(&part) - 1.05f64.powi(2) / 2.0).abs() < 1e-9);
    // A lone value is a small diamond, none is nothing.
    let lone = sampled(
        5,
        5,
        |x, y| if x == 0.0 && y == 0.0 { 3.0 } else { f64::NAN },
    );
    assert!(0.0 < size(&lone.at_least(f64::NEG_INFINITY)));
    let none = sampled(5, 5, |_, _| f64::NAN);
    assert_eq!(none.at_least(f64::NEG_INFINITY), Area::default());
}

#[test]
fn outlines_agree_with_looking_point_by_point() {
    let field = |x: f64, y: f64| (3.1 * x).sin() * (2.3 * y + 0.4).cos() + 0.3 * x * y;
    let grid = sampled(61, 61, field);
    for level in [-0.6, -0.2, 0.0, 0.25, 0.7] {
        let area = grid.at_least(level);
        for i in 0..57 {
            for j in 0..57 {
                let (x, y) = (-0.97 + 0.0341 * f64::from(i), -0.97 + 0.0341 * f64::from(j));
                let height = field(x, y) - level;
                // Straight pieces miss the field by less than h² |f″| / 8 ≈ 0.002.
                if 0.002 < height.abs() {
                    assert_eq!(
                        encloses(&area.rings, [x, y]),
                        0.0 < height,
                        "{x} {y} {level}"
                    );
                }
            }
        }
    }
}

#[test]
fn constant_and_degenerate_grids_are_quiet() {
    assert_eq!(size(&sampled(4, 4, |_, _| 2.0).at_least(2.0)), 4.0);
    let values = Array2::from_elem((2, 1), 1.0);
    let thin = Lattice::new(&[0.0], &[0.0, 1.0], values.view());
    assert_eq!(thin.at_least(0.0), Area::default());
    assert_eq!(thin.refined([3, 3]).at_least(0.0), Area::default());
    // A lone sample of four: the corner half-way to its neighbours.
    let values = Array2::from_elem((1, 1), 1.0);
    let short = Lattice::new(&[0.0, 1.0], &[0.0, 1.0], values.view());
    let corner = size(&short.at_least(0.0));
    assert!(0.0 < corner && corner < 0.25, "{corner}");
    let empty = Lattice::new(&[], &[], Array2::zeros((0, 0)).view());
    assert_eq!(empty.refined([2, 5]).at_least(0.0), Area::default());
}

#[test]
fn a_finer_lattice_is_smoother_and_adds_nothing() {
    // Straight fields and data edges stay what they are.
    let ramp = sampled(7, 5, |x, _| 0.7 * x + 0.2).refined([4, 3]);
    assert!((size(&ramp.at_least(0.3)) - 2.0 * (6.0 / 7.0)).abs() < 1e-12);
    let edge = sampled(21, 21, |x, y| if 0.45 < x { f64::NAN } else { x + y }).refined([5, 2]);
    assert!((size(&edge.at_least(f64::NEG_INFINITY)) - 2.0 * 1.45).abs() < 1e-9);
    // A step rises between its two samples only, and nothing lies beyond them.
    let step = sampled(9, 9, |x, _| if x < 0.1 { 1.3 } else { 7.0 }).refined([6, 6]);
    assert_eq!(size(&step.at_least(1.3)), 4.0);
    assert_eq!(step.at_least(7.0 + 1e-9), Area::default());
    for level in [1.3 + 1e-6, 4.0, 7.0 - 1e-6] {
        let lines = step.at_least(level).lines;
        let places = lines.iter().flatten().map(|it| it[0]);
        assert!(places.into_iter().all(|it| (0.0..=0.25).contains(&it)));
    }
    // A coarse circle loses more than half of what its chords are off; what stays is the flattening
    // of the cubics at the top of the field, which may not overshoot.
    let coarse = sampled(9, 9, |x, y| 0.73f64.powi(2) - x * x - y * y);
    let off = |area: Area| -> f64 {
        let radii = area.lines[0].iter().map(|it| it[0].hypot(it[1]));
        radii.map(|it| (it - 0.73).abs()).fold(0.0, f64::max)
    };
    let (before, after) = (
        off(coarse.at_least(0.0)),
        off(coarse.refined([8, 8]).at_least(0.0)),
    );
    assert!(2.0 * after < before, "{after} against {before}");
}
