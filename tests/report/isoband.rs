//! Areas and lines of known fields against closed forms, and against looking point by point.

use std::f64::consts::PI;

use lightseam::report::isoband::Area;
use lightseam::report::isoband::Grid;
use lightseam::report::isoband::at_least;
use lightseam::report::svg::placing::encloses;

/// What a field of straight pieces may miss of a smooth one on these grids.
const AREA_TOLERANCE: f64 = 0.01;

fn sampled(columns: usize, rows: usize, field: impl Fn(f64, f64) -> f64) -> Grid {
    let spread = |count: usize| -> Vec<f64> {
        (0..count)
            .map(|i| 2.0 * i as f64 / (count - 1) as f64 - 1.0)
            .collect()
    };
    let (x, y) = (spread(columns), spread(rows));
    let values = y
        .iter()
        .flat_map(|y| x.iter().map(|x| field(*x, *y)))
        .collect();
    Grid { x, y, values }
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
    let area = at_least(&grid, 0.3);
    assert!((size(&area) - 2.0 * (6.0 / 7.0)).abs() < 1e-12);
    // One straight line from edge to edge, and none along the edges of the data.
    assert_eq!(area.lines.len(), 1);
    assert_eq!(area.lines[0].len(), 2);
    for point in &area.lines[0] {
        assert!((point[0] - 1.0 / 7.0).abs() < 1e-12 && point[1].abs() == 1.0);
    }
    assert_eq!(size(&at_least(&grid, -5.0)), 4.0);
    assert_eq!(at_least(&grid, 5.0), Area::default());
}

#[test]
fn a_circle_has_its_area_and_a_closed_line() {
    let radius = 0.73;
    let area = at_least(&sampled(41, 33, |x, y| radius - x.hypot(y)), 0.0);
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
    let area = at_least(
        &sampled(81, 81, |x, y| 0.12 - (x.hypot(y) - 0.6).abs()),
        0.0,
    );
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
    let all = at_least(&grid, f64::NEG_INFINITY);
    assert!((size(&all) - 2.0 * 1.45).abs() < 1e-9);
    // The field goes straight on to that edge: x + y ≥ 0.4 there is a triangle above y = −0.05.
    let part = at_least(&grid, 0.4);
    assert!((size(&part) - 1.05f64.powi(2) / 2.0).abs() < 1e-9);
    // A lone value is a small diamond, none is nothing.
    let lone = sampled(
        5,
        5,
        |x, y| if x == 0.0 && y == 0.0 { 3.0 } else { f64::NAN },
    );
    assert!(0.0 < size(&at_least(&lone, f64::NEG_INFINITY)));
    let none = sampled(5, 5, |_, _| f64::NAN);
    assert_eq!(at_least(&none, f64::NEG_INFINITY), Area::default());
}

#[test]
fn outlines_agree_with_looking_point_by_point() {
    let field = |x: f64, y: f64| (3.1 * x).sin() * (2.3 * y + 0.4).cos() + 0.3 * x * y;
    let grid = sampled(61, 61, field);
    for level in [-0.6, -0.2, 0.0, 0.25, 0.7] {
        let area = at_least(&grid, level);
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
    assert_eq!(size(&at_least(&sampled(4, 4, |_, _| 2.0), 2.0)), 4.0);
    let thin = Grid {
        x: vec![0.0],
        y: vec![0.0, 1.0],
        values: vec![1.0, 2.0],
    };
    assert_eq!(at_least(&thin, 0.0), Area::default());
    let short = Grid {
        x: vec![0.0, 1.0],
        y: vec![0.0, 1.0],
        values: vec![1.0],
    };
    assert_eq!(at_least(&short, 0.0), Area::default());
}
