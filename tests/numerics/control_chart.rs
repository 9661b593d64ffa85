//! Individuals charts and capability against the handbook, and the interval against its own promise.

use lightseam::numerics::control_chart::{ControlChart, Limits, capability};
use lightseam::numerics::random::Stream;

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: flow rate of ten batches.
const FLOW_RATE: [f64; 10] = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];

#[test]
fn the_handbook_s_individuals_chart_comes_out() {
    let chart = ControlChart::new(&FLOW_RATE).unwrap();
    // The handbook: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159.
    assert!((chart.mean - 50.81).abs() < 5e-5);
    assert!((chart.mean_range - 1.8778).abs() < 5e-5);
    // Its limits rest on the mean range rounded to four digits.
    assert!((chart.upper - 55.8041).abs() < 2e-4, "{}", chart.upper);
    assert!((chart.lower - 45.8159).abs() < 2e-4, "{}", chart.lower);
    assert!(chart.is_steady());
}

#[test]
fn the_handbook_s_capability_comes_out() {
    // 6.1.6: limits 8 and 20, mean 16, standard deviation 2: Cpk 0.6667.
    let chart = ControlChart::new(&[14.0, 16.0, 18.0]).unwrap();
    assert!((chart.mean - 16.0).abs() < 1e-12 && (chart.deviation - 2.0).abs() < 1e-12);
    let found = capability(
        &chart,
        Limits {
            least: Some(8.0),
            most: Some(20.0),
        },
    )
    .unwrap();
    assert!((found.ppk - 0.6667).abs() < 5e-5);
    // One limit alone counts by itself.
    let least = Limits {
        least: Some(8.0),
        most: None,
    };
    assert!((capability(&chart, least).unwrap().ppk - 8.0 / 6.0).abs() < 1e-12);
    assert!(capability(&chart, Limits::default()).is_none());
}

#[test]
fn the_interval_is_that_of_a_worked_exercise() {
    // 30 values, mean 97, s 1.6, limits 90 and 100: Cpk 0.625; 0.625 ± 1.96 · 0.10217 by hand.
    let half: Vec<f64> = (0..30)
        .map(|i| if i % 2 == 0 { 1.0 } else { -1.0 })
        .collect();
    let scale = 1.6 * (29.0f64 / 30.0).sqrt();
    let values: Vec<f64> = half.iter().map(|it| 97.0 + scale * it).collect();
    let chart = ControlChart::new(&values).unwrap();
    let found = capability(
        &chart,
        Limits {
            least: Some(90.0),
            most: Some(100.0),
        },
    )
    .unwrap();
    assert!((found.ppk - 0.625).abs() < 1e-9);
    assert!(
        (found.interval.0 - 0.4248).abs() < 1e-4,
        "{:?}",
        found.interval
    );
    assert!(
        (found.interval.1 - 0.8252).abs() < 1e-4,
        "{:?}",
        found.interval
    );
}

#[test]
fn the_interval_covers_the_truth_about_as_often_as_it_says() {
    let mut stream = Stream::new(11, 7, 0);
    let mut normal = || {
        let (u, v) = (stream.uniform().max(1e-300), stream.uniform());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    };
    // Mean 0.3, deviation 1.7, one limit at 5: Ppk 4.7 / 5.1.
    let truth = 4.7 / 5.1;
    let limits = Limits {
        least: None,
        most: Some(5.0),
    };
    let (runs, mut inside) = (4000, 0);
    for _ in 0..runs {
        let values: Vec<f64> = (0..20).map(|_| 0.3 + 1.7 * normal()).collect();
        let (low, high) = capability(&ControlChart::new(&values).unwrap(), limits)
            .unwrap()
            .interval;
        inside += usize::from(low <= truth && truth <= high);
    }
    // Four standard errors of a share of 95 % in 4000 runs are 1.4 %; the interval is approximate.
    let share = inside as f64 / f64::from(runs);
    assert!((0.93..0.97).contains(&share), "{share}");
}

#[test]
fn signals_are_found_where_they_are() {
    let mut values = vec![10.0, 10.2, 9.9, 10.1, 10.0, 9.8, 10.1, 9.9];
    values.push(14.0);
    let chart = ControlChart::new(&values).unwrap();
    assert_eq!(chart.outside, [8]);
    let shifted: Vec<f64> = (0..16)
        .map(|i| {
            if i < 8 {
                1.0 + 0.01 * f64::from(i % 2)
            } else {
                1.5
            }
        })
        .collect();
    let chart = ControlChart::new(&shifted).unwrap();
    assert_eq!(chart.shifted, [7, 15]);
}

#[test]
fn no_spread_and_too_little_give_no_nonsense() {
    assert!(ControlChart::new(&[1.0]).is_none());
    assert!(ControlChart::new(&[1.0, f64::NAN]).is_none());
    let chart = ControlChart::new(&[0.1 + 0.2; 7]).unwrap();
    assert!(chart.is_steady(), "{chart:?}");
    let limits = Limits {
        least: Some(0.0),
        most: None,
    };
    assert!(capability(&chart, limits).is_none());
}
