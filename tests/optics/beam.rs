//! Irradiance in time: energy of a passage, and its shape.

use approx::assert_relative_eq;
use lightseam::optics::Exposure;
use lightseam::optics::beam::{Beam, Shape};
use std::f64::consts::PI;

fn beam(shape: Shape) -> Beam {
    Beam {
        shape,
        length_m: 1.7e-3,
        width_m: 0.9e-3,
        power_w: 23.0,
    }
}

#[test]
fn a_top_hat_delivers_power_over_width_and_speed() {
    let exposure = beam(Shape::TopHat).passage(0.037);
    // E = P / (l w) for l / v: fluence P / (w v) = 23 / (0.9e-3 · 0.037).
    assert_relative_eq!(
        exposure.fluence_j_per_m2(),
        690_690.690_690_7,
        max_relative = 1e-12
    );
    assert_relative_eq!(exposure.heating_s(), 1.7 / 37.0, max_relative = 1e-12);
}

/// The power of a Gaussian spot, integrated over the plane, is the power of the laser.
#[test]
fn a_gaussian_spot_carries_its_power() {
    let it = beam(Shape::Gaussian);
    let n = 400;
    let cell = |size: f64| 4.0 * size / n as f64;
    let at = |i: usize, size: f64| -2.0 * size + (i as f64 + 0.5) * cell(size);
    let mut sum = 0.0;
    for i in 0..n {
        for j in 0..n {
            let (x, y) = (at(i, it.length_m), at(j, it.width_m));
            let exponent = 8.0 * ((x / it.length_m).powi(2) + (y / it.width_m).powi(2));
            sum += it.peak_irradiance_w_per_m2() * (-exponent).exp();
        }
    }
    let power = sum * cell(it.length_m) * cell(it.width_m);
    assert_relative_eq!(power, 23.0, max_relative = 1e-6);
}

/// 1/e² full widths: ISO 11146-1 defines them by second moments, d = 4σ. The fluence at the seam
/// centre is P √(8/π) / (w v): the line integral of the Gaussian.
#[test]
fn a_gaussian_passage_delivers_the_line_integral() {
    let exposure = beam(Shape::Gaussian).passage(0.037);
    let expected = 23.0 * (8.0 / PI).sqrt() / (0.9e-3 * 0.037);
    assert_relative_eq!(exposure.fluence_j_per_m2(), expected, max_relative = 1e-12);
    assert_relative_eq!(
        exposure.fluence_until_j_per_m2(exposure.heating_s()),
        expected,
        max_relative = 1e-12
    );
    assert_relative_eq!(
        exposure.fluence_until_j_per_m2(0.5 * exposure.heating_s()),
        0.5 * expected,
        max_relative = 1e-9
    );
    // The slope of the energy at the middle is the peak irradiance (6e-5 of the tail put back).
    let (middle, h) = (0.5 * exposure.heating_s(), 1e-5);
    let slope = (exposure.fluence_until_j_per_m2(middle + h)
        - exposure.fluence_until_j_per_m2(middle - h))
        / (2.0 * h);
    assert_relative_eq!(
        slope,
        beam(Shape::Gaussian).peak_irradiance_w_per_m2(),
        max_relative = 2e-4
    );
}

#[test]
fn many_passes_add_up_and_never_fall() {
    let exposure = Exposure {
        pulse: Shape::TopHat,
        irradiance_w_per_m2: 7e6,
        dwell_s: 0.4e-3,
        passes: 17,
        period_s: 30e-3,
    };
    assert_relative_eq!(exposure.heating_s(), 16.0 * 30e-3 + 0.4e-3);
    assert_relative_eq!(exposure.fluence_j_per_m2(), 17.0 * 2800.0);
    let mut before = 0.0;
    for i in 0..=10_000 {
        let now = exposure.fluence_until_j_per_m2(0.6 * i as f64 / 10_000.0);
        assert!(before <= now);
        before = now;
    }
    assert_relative_eq!(before, 17.0 * 2800.0);
    assert_relative_eq!(
        exposure.fluence_until_j_per_m2(60e-3 + 0.1e-3),
        2.0 * 2800.0 + 700.0,
        max_relative = 1e-9
    );
}

/// A Gaussian spot on a path not much longer than itself begins its next pass before this one ends.
#[test]
fn overlapping_passes_are_the_sum_of_single_ones() {
    let exposure = Exposure {
        passes: 9,
        period_s: 20e-3,
        ..beam(Shape::Gaussian).passage(0.037)
    };
    let single = Exposure {
        passes: 1,
        ..exposure
    };
    assert!(1.5 * exposure.period_s < single.pulse_s());
    for i in 0..=400 {
        let time_s = exposure.heating_s() * f64::from(i) / 390.0;
        let sum: f64 = (0..9)
            .map(|pulse| single.fluence_until_j_per_m2(time_s - f64::from(pulse) * 20e-3))
            .sum();
        assert_relative_eq!(
            exposure.fluence_until_j_per_m2(time_s),
            sum,
            max_relative = 1e-12
        );
    }
}
