//! Places along axes are exact, round trips close, ticks are the numbers one would write.

use lightseam::report::axis::Placed;
use lightseam::report::axis::round_values;
use lightseam::report::figure::Axis;
use plotters::coord::ranged1d::Ranged;

fn placed(axis: Axis) -> (Axis, Placed) {
    let placed = Placed::new(&axis, [].into_iter(), [40.0, 640.0]);
    (axis, placed)
}

#[test]
fn logarithmic_places_are_logarithms() {
    let (_, axis) = placed(Axis::log("", "").over(0.5, 500.0));
    // Three decades over 600 px: 200 px a decade, from 40.
    for (value, place) in [(0.5, 40.0), (5.0, 240.0), (50.0, 440.0), (500.0, 640.0)] {
        assert!((axis.place(value).unwrap() - place).abs() < 1e-10);
    }
    let two = axis.place(2.0).unwrap();
    assert!((two - (40.0 + 200.0 * 4f64.log10())).abs() < 1e-10);
    assert_eq!(axis.place(0.0), None);
    assert_eq!(axis.place(-3.0), None);
    assert!(axis.edge(0.0).unwrap() < 40.0 - 600.0);
}

#[test]
fn reversed_axes_run_backwards() {
    let (_, axis) = placed(Axis::linear("", "").over(7.0, -3.0));
    assert_eq!(axis.place(7.0), Some(40.0));
    assert_eq!(axis.place(-3.0), Some(640.0));
    assert_eq!(axis.place(2.0), Some(340.0));
    assert!(axis.holds(0.0) && !axis.holds(8.0));
    let (_, axis) = placed(Axis::log("", "").over(1000.0, 1.0));
    assert!((axis.place(100.0).unwrap() - 240.0).abs() < 1e-10);
    // What has no logarithm lies beyond the end of small values, which is now the right one.
    assert!(640.0 + 500.0 < axis.edge(0.0).unwrap());
}

#[test]
fn places_and_values_are_inverse() {
    for (_, axis) in [
        placed(Axis::linear("", "").over(-3.0, 1100.0)),
        placed(Axis::log("", "").over(0.3, 7e4)),
    ] {
        for i in 0..=60 {
            let place = 40.0 + 10.0 * f64::from(i);
            let back = axis.place(axis.value(place)).unwrap();
            assert!((back - place).abs() < 1e-9, "{back} for {place}");
        }
    }
}

#[test]
fn ranges_without_width_or_data_get_one() {
    let range =
        |axis: Axis, data: &[f64]| Placed::new(&axis, data.iter().copied(), [0.0, 1.0]).range();
    assert_eq!(range(Axis::linear("", ""), &[]), [0.0, 1.0]);
    assert_eq!(
        range(Axis::log("", ""), &[f64::NAN, -1.0, 0.0]),
        [1.0, 10.0]
    );
    let [low, high] = range(Axis::linear("", ""), &[5.0, 5.0]);
    assert!(low < 5.0 && 5.0 < high);
    let [low, high] = range(Axis::log("", ""), &[5.0]);
    assert!(low < 5.0 && 5.0 < high);
    // A range that makes no sense on the axis is not taken.
    assert_eq!(range(Axis::log("", "").over(-1.0, 10.0), &[]), [1.0, 10.0]);
    // The ends of the number range: settled, and ticks end.
    let huge = Axis::log("", "").over(1e308, 1e308);
    let settled = Placed::new(&huge, [1e308, 5e-324].into_iter(), [0.0, 1.0]);
    assert_eq!(settled.range(), [1.0, 10.0]);
    assert!(!settled.ticks(&huge, 6).0.is_empty());
    // Quantities that are never negative start at zero.
    assert_eq!(range(Axis::linear("", ""), &[0.0, 10.0])[0], 0.0);
}

#[test]
fn ticks_are_round_numbers() {
    let labels = |axis: Axis, about: usize| -> Vec<String> {
        let (axis, placed) = placed(axis);
        placed
            .ticks(&axis, about)
            .0
            .into_iter()
            .map(|it| it.label)
            .collect()
    };
    assert_eq!(
        labels(Axis::log("", "").over(3.0, 250.0), 6),
        ["5", "10", "20", "50", "100", "200"]
    );
    assert_eq!(
        labels(Axis::linear("", "").over(-0.2, 0.4), 6),
        ["−0.2", "−0.1", "0.0", "0.1", "0.2", "0.3", "0.4"]
    );
    assert_eq!(
        labels(Axis::log("", "").over(1e-7, 1e9), 6),
        ["10⁻⁶", "0.001", "1", "1000", "10⁶", "10⁹"]
    );
    assert_eq!(labels(Axis::linear("", "").over(0.0, 4e7), 4)[1], "1 × 10⁷");
    assert_eq!(round_values(0.0, 0.5, 5), [0.0, 0.1, 0.2, 0.3, 0.4, 0.5]);
    assert!(round_values(f64::NAN, 1.0, 5).is_empty());
}

#[test]
fn an_axis_has_two_numbers_at_least() {
    // A chart whose values lie between 33 and 73: 50 alone is no scale.
    let (axis, tight) = placed(Axis::linear("", "").over(33.0, 73.0));
    let labels: Vec<String> = tight
        .ticks(&axis, 2)
        .0
        .into_iter()
        .map(|it| it.label)
        .collect();
    assert_eq!(labels, ["40", "60"]);
    for make in [Axis::linear, Axis::log] {
        for i in 1..400 {
            let first = 0.013 * f64::from(i);
            for factor in [1.02, 1.3, 1.9, 3.7, 5.3, 17.0, 230.0, 4.1e3, 7.7e6] {
                let (axis, placed) = placed(make("", "").over(first, first * factor));
                for about in 2..=12 {
                    let count = placed.ticks(&axis, about).0.len();
                    assert!(2 <= count, "{first} × {factor}, about {about}: {count}");
                }
            }
        }
    }
}

#[test]
fn places_agree_with_the_coordinates_of_the_drawing_library() {
    for axis in [
        Axis::linear("", "").over(-0.3, 1100.0),
        Axis::linear("", "").over(7.0, -3.0),
        Axis::log("", "").over(0.3, 7e4),
        Axis::log("", "").over(200.0, 5.0),
    ] {
        let (_, axis) = placed(axis);
        for i in 0..=77 {
            let value = axis.value(40.0 + 600.0 * f64::from(i) / 77.0);
            let place = axis.place(value).unwrap();
            // Of 60 000 units over 600 px; theirs are rounded towards the first value.
            let theirs = f64::from(axis.map(&value, (4_000, 64_000))) / 100.0;
            assert!((theirs - place).abs() <= 0.0101, "{theirs} {place}");
        }
    }
}
