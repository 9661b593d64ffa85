//! A beam seen through lateral displacement: what is left at its middle, and its profile.
//!
//! Light displaced by r in a random direction reaches the middle of the beam if it entered at a
//! distance r from it. So the relative irradiance at the middle is the beam's own profile averaged
//! over a circle of radius r, and then over the displacements:
//!
//! ```text
//! top-hat   (2/π) max(0, asin min(1, w/2r) − acos min(1, l/2r))
//! Gaussian  exp(−a + b) I0e(b),   a = 4 r² (1/l² + 1/w²),   b = 4 r² |1/l² − 1/w²|
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | r | `r_m` | displacement | m |
//! | l, w | `length_m`, `width_m` | beam along and across the seam; 1/e² full widths of a Gaussian | m |
//! | I0e(b) | `scaled_bessel_i0` | exp(−b) I0(b), modified Bessel function | – |
//!
//! Source: the averages are elementary; I0: M. Abramowitz and I. A. Stegun (1964), 9.8.1 and
//! 9.8.2, relative error below 2e-7 (from memory, checked against tabulated values).
//! Checked in: `tests/optics/photon.rs`.

use std::f64::consts::{FRAC_1_PI, FRAC_2_PI, PI};

use crate::optics::beam::Shape;

/// Irradiance at the middle of a beam whose light is displaced by `r_m`, relative to no
/// displacement; between 0 and 1.
pub fn at_middle(shape: Shape, length_m: f64, width_m: f64, r_m: f64) -> f64 {
    if r_m == 0.0 {
        return 1.0;
    }
    match shape {
        Shape::TopHat => {
            let within_width = (0.5 * width_m / r_m).min(1.0).asin();
            let beyond_length = (0.5 * length_m / r_m).min(1.0).acos();
            FRAC_2_PI * (within_width - beyond_length).max(0.0)
        }
        Shape::Gaussian => {
            let squared = 4.0 * r_m * r_m;
            let along = squared / (length_m * length_m);
            let across = squared / (width_m * width_m);
            let difference = (along - across).abs();
            // a − b is twice the smaller of the two.
            (-2.0 * along.min(across)).exp() * scaled_bessel_i0(difference)
        }
    }
}

/// Energy a beam that passes along the seam leaves at a distance `across_m` from the middle of the
/// seam when its light is displaced by `r_m`, relative to the middle without displacement.
pub fn across_seam(shape: Shape, width_m: f64, across_m: f64, r_m: f64) -> f64 {
    match shape {
        Shape::TopHat => {
            let half = 0.5 * width_m;
            line_cumulative(across_m + half, r_m) - line_cumulative(across_m - half, r_m)
        }
        Shape::Gaussian => {
            if FAR * width_m < r_m - across_m.abs() {
                // Only the Gaussian's own width of the circle matters, where it is straight.
                let slant_m = (r_m * r_m - across_m * across_m).sqrt();
                return width_m / (8.0 * PI).sqrt() / slant_m;
            }
            // The midpoint rule converges faster than any power once a step is well below the
            // Gaussian's width.
            let points = 16.0 + (4.0 * PI * r_m / width_m).ceil();
            let mut sum = 0.0;
            for point in 0..points as usize {
                let angle = PI * ((point as f64 + 0.5) / points - 0.5);
                let off = (across_m - r_m * angle.sin()) / width_m;
                sum += (-8.0 * off * off).exp();
            }
            sum / points
        }
    }
}

/// Distance in beam widths from which a circle counts as straight; what is left out is below 2e-4
/// of the average.
const FAR: f64 = 10.0;

/// Share of light displaced by `r_m` in a random direction whose displacement across the seam is
/// below `across_m`.
pub fn line_cumulative(across_m: f64, r_m: f64) -> f64 {
    if r_m == 0.0 {
        // All of it sits at zero; half of it counts as below.
        return if across_m == 0.0 {
            0.5
        } else {
            f64::from(u8::from(0.0 < across_m))
        };
    }
    0.5 + FRAC_1_PI * (across_m / r_m).clamp(-1.0, 1.0).asin()
}

/// exp(−x) I0(x) for x ≥ 0, relative error below 2e-7.
pub fn scaled_bessel_i0(x: f64) -> f64 {
    let horner = |coefficients: &[f64], t: f64| {
        coefficients
            .iter()
            .rev()
            .fold(0.0, |sum, coefficient| sum * t + coefficient)
    };
    if x < 3.75 {
        let t = (x / 3.75).powi(2);
        (-x).exp()
            * horner(
                &[
                    1.0,
                    3.515_622_9,
                    3.089_942_4,
                    1.206_749_2,
                    0.265_973_2,
                    0.036_076_8,
                    0.004_581_3,
                ],
                t,
            )
    } else {
        horner(
            &[
                0.398_942_28,
                0.013_285_92,
                0.002_253_19,
                -0.001_575_65,
                0.009_162_81,
                -0.020_577_06,
                0.026_355_37,
                -0.016_476_33,
                0.003_923_77,
            ],
            3.75 / x,
        ) / x.sqrt()
    }
}
