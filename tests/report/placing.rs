//! Label geometry: turned rectangles meet when they overlap, and curves are measured inside them.

use lightseam::report::svg::placing::Candidate;
use lightseam::report::svg::placing::Cover;
use lightseam::report::svg::placing::Placing;
use lightseam::report::svg::placing::encloses;
use lightseam::report::svg::placing::uncovered;

fn cover(centre: [f64; 2], angle_degrees: f64) -> Cover {
    Cover {
        centre,
        half: [20.0, 5.0],
        angle: f64::to_radians(angle_degrees),
    }
}

#[test]
fn turned_rectangles_meet_as_drawn() {
    let flat = cover([0.0, 0.0], 0.0);
    assert!(flat.meets(&cover([39.0, 9.0], 0.0)));
    assert!(!flat.meets(&cover([41.0, 0.0], 0.0)));
    assert!(!flat.meets(&cover([0.0, 10.0], 0.0)));
    // Upright beside it: 5 px wide, so apart from 25 px on.
    assert!(flat.meets(&cover([24.0, 0.0], 90.0)));
    assert!(!flat.meets(&cover([26.0, 0.0], 90.0)));
    // Boxes around them overlap, they do not.
    assert!(!cover([0.0, 0.0], 45.0).meets(&cover([10.0, -10.0], 45.0)));
}

#[test]
fn lengths_inside_are_chords() {
    let flat = cover([3.0, 7.0], 0.0);
    assert!((flat.length_inside([-100.0, 7.0], [100.0, 7.0]) - 40.0).abs() < 1e-12);
    assert!((flat.length_inside([3.0, 0.0], [3.0, 9.0]) - 7.0).abs() < 1e-12);
    assert_eq!(flat.length_inside([-100.0, 13.0], [100.0, 13.0]), 0.0);
    let turned = cover([3.0, 7.0], 30.0);
    let (sin, cos) = 30f64.to_radians().sin_cos();
    let along = |t: f64| [3.0 + t * cos, 7.0 + t * sin];
    assert!((turned.length_inside(along(-60.0), along(60.0)) - 40.0).abs() < 1e-9);
}

#[test]
fn curves_are_interrupted_under_labels_only() {
    let curve: Vec<[f64; 2]> = (0..=100).map(|i| [f64::from(i), 0.0]).collect();
    let pieces = uncovered(&curve, &[cover([50.0, 0.0], 0.0)]);
    assert_eq!(pieces.len(), 2);
    assert_eq!(*pieces[0].last().unwrap(), [30.0, 0.0]);
    assert_eq!(pieces[1][0], [70.0, 0.0]);
    assert_eq!(uncovered(&curve, &[]), [curve]);
}

#[test]
fn labels_stay_inside_and_apart() {
    let mut placing = Placing::new([[0.0, 0.0], [200.0, 100.0]]);
    let offer = |centre, cost| Candidate {
        cover: cover(centre, 0.0),
        cost,
    };
    // The cheapest lies outside the frame, the next covers a curve, the third is taken.
    placing.keep_clear(&[[0.0, 50.0], [200.0, 50.0]], 5.0, (0, 0));
    let offers = [
        offer([10.0, 20.0], 0.0),
        offer([100.0, 50.0], 1.0),
        offer([100.0, 20.0], 30.0),
    ];
    let (cost, found) = placing.best(&offers, None).unwrap();
    assert_eq!((cost, found.centre), (30.0, [100.0, 20.0]));
    // Its own curve may be covered.
    let (_, own) = placing.best(&offers, Some((0, 0))).unwrap();
    assert_eq!(own.centre, [100.0, 50.0]);
    placing.take(found);
    assert_eq!(placing.best(&offers[2..], None), None);
}

#[test]
fn even_odd_counts_crossings() {
    let square = |r: f64| vec![[-r, -r], [r, -r], [r, r], [-r, r]];
    let rings = [square(2.0), square(1.0)];
    assert!(encloses(&rings, [1.5, 0.0]));
    assert!(!encloses(&rings, [0.5, 0.0]));
    assert!(!encloses(&rings, [2.5, 0.0]));
}
