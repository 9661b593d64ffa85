//! Closed forms of conduction with constant properties in two and three dimensions.
//!
//! Sources: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed. (1959), sec. 10.3
//! (instantaneous line source), 10.5 (strip), 10.7 (moving sources); D. Rosenthal, Trans. ASME 68
//! (1946) 849 (moving point source); J. C. Jaeger, J. Proc. R. Soc. NSW 76 (1942) 203 (moving
//! rectangle); all from memory, as integrals of the heat kernel, which each test can be read from.

use std::f64::consts::{E, PI};
use std::sync::Arc;

use lightseam::heat::Column;
use lightseam::heat::cross_section::{self, Across, CrossSection, Settings};

use crate::heat::joints::{beer_lambert, body, plain, pulse, two_layers};

const RHO: f64 = 1130.0;
const CP: f64 = 1900.0;
const K: f64 = 0.27;
const ALPHA: f64 = K / (RHO * CP);

/// All light dies close below the interface of two bodies too thick for their faces to matter: a
/// source in a plane in full space. `decay` is small against every distance looked at.
fn buried(flux: f64, dwell: f64, decay: f64) -> Column {
    let thermal = Arc::new(plain(RHO, CP, K));
    let mut column = two_layers(
        [body(&thermal, 8e-3, 0), body(&thermal, 8e-3, 1)],
        beer_lambert([1e-6, 1.0 / decay], [8e-3, 8e-3]),
        pulse(flux, dwell),
    );
    column.laser_side.coefficient_w_per_m2_k = 0.0;
    column.far_side.coefficient_w_per_m2_k = 0.0;
    column
}

/// Error of a step where the source itself gets a thousand times hotter than what is looked at.
const FAR_OFF: f64 = 1e-5;

/// Cells at a distance from the source are a sixteenth of it: 0.5 % in what falls with its square.
fn run(column: &Column, across: Across, tolerance: f64) -> CrossSection {
    let settings = Settings {
        follow_to_share: 2e-5,
        cells_per_e_fold: 16.0,
        tolerance,
        ..Settings::standard()
    };
    let it = cross_section::run(column, &across, &settings).unwrap();
    assert!(it.ledger.relative_residual().abs() < 1e-10);
    it
}

/// ∫ f ds from 0 to `end` by the midpoint rule in √s, which takes out the kernel's root.
fn integral(end: f64, f: impl Fn(f64) -> f64) -> f64 {
    const POINTS: usize = 4000;
    let h = end.sqrt() / POINTS as f64;
    (0..POINTS)
        .map(|i| {
            let root = (i as f64 + 0.5) * h;
            2.0 * root * h * f(root * root)
        })
        .sum()
}

/// Share of a strip's heat of age `s` at a distance `y` from its middle, relative to even heat.
fn strip(y: f64, half: f64, s: f64) -> f64 {
    let root = 2.0 * (ALPHA * s).sqrt();
    0.5 * (libm::erf((y + half) / root) - libm::erf((y - half) / root))
}

/// Rise for a constant flux in a strip of a plane in full space since `t`.
fn strip_rise(y: f64, z: f64, half: f64, flux: f64, t: f64) -> f64 {
    let kernel = |s: f64| (-z * z / (4.0 * ALPHA * s)).exp() / (2.0 * (PI * ALPHA * s).sqrt());
    flux / (RHO * CP) * integral(t, |s| kernel(s) * strip(y, half, s))
}

/// At the end of heating the interface is at its peak under the light: the strip of Carslaw and
/// Jaeger, for Fourier numbers α t / w² from 0.006 to 2.3.
#[test]
fn a_heated_strip() {
    for (width, dwell) in [(1.0e-3, 0.05), (0.6e-3, 0.7), (0.4e-3, 3.0)] {
        let flux = 4.1e4 / f64::sqrt(dwell);
        let it = run(
            &buried(flux, dwell, 50e-9),
            Across::TopHat { width_m: width },
            1e-3,
        );
        let middle = strip_rise(0.0, 0.0, 0.5 * width, flux, dwell);
        let row = it.part_rows[1].start;
        let mut seen = 0;
        for (j, &y) in it.across_m.iter().enumerate() {
            // Beside the light the peak comes later than the end of heating.
            if 0.45 * width < y {
                continue;
            }
            seen += 1;
            let wanted = strip_rise(y, 0.0, 0.5 * width, flux, dwell);
            let off = (it.peak_k[row][j] - 296.15 - wanted) / middle;
            assert!(off.abs() < 2e-3, "{width} {y}: {off}");
        }
        assert!(5 < seen);
        // The closed form of the middle, Carslaw and Jaeger 10.5 at y = z = 0, against the integral:
        // T = q/(2k) √(αt/π) {2 erf p + (2p/√π) E1(p²)},  p = b/√(4αt).
        let p = 0.25 * width / (ALPHA * dwell).sqrt();
        let e1 = |x: f64| integral(1.0, |u| (-x / u).exp() / u);
        let closed = flux / (2.0 * K)
            * (ALPHA * dwell / PI).sqrt()
            * (2.0 * libm::erf(p) + 2.0 * p / PI.sqrt() * e1(p * p));
        assert!((closed / middle - 1.0).abs() < 1e-4, "{closed} {middle}");
    }
}

/// Peaks around an instantaneous line source: Q / (π e ρ c r²), whatever the conductivity.
#[test]
fn an_instantaneous_line_source() {
    let (width, dwell, energy) = (20e-6, 2e-5, 3.1);
    let it = run(
        &buried(energy / (width * dwell), dwell, 1e-6),
        Across::TopHat { width_m: width },
        FAR_OFF,
    );
    let mut seen = 0;
    for (row, &depth) in it.depth_m.iter().enumerate() {
        for (j, &y) in it.across_m.iter().enumerate() {
            // The light is absorbed 1 µm below the interface on average.
            let r = y.hypot(depth - 8e-3 - 1e-6);
            // Beyond ten widths of the source, and where the run was long enough.
            let wanted = energy / (PI * E * RHO * CP * r * r);
            if !(0.1e-3..0.3e-3).contains(&r) || wanted < 1.1 * (it.final_above_k - 296.15) {
                continue;
            }
            seen += 1;
            let off = (it.peak_k[row][j] - 296.15) / wanted - 1.0;
            assert!(off.abs() < 0.01, "{y} {depth}: {off}");
        }
    }
    assert!(100 < seen, "{seen}");
}

/// Peaks around a moving point source, conduction along the seam included: Rosenthal's.
#[test]
fn a_moving_point_source() {
    let (speed, power, length) = (0.05, 0.16, 20e-6);
    let (width, dwell) = (20e-6, length / speed);
    let it = run(
        &buried(power / (width * length), dwell, 1e-6),
        Across::TopHat { width_m: width },
        FAR_OFF,
    );
    let rosenthal = |r: f64| -> f64 {
        // Highest over the distance behind the source, T = P/(4πkR) exp(−v (R − x)/(2α)).
        (0..4000)
            .map(|i| {
                let behind = r * 10f64.powf(-3.0 + 8.0 * f64::from(i) / 4000.0);
                let distance = r.hypot(behind);
                power / (4.0 * PI * K * distance)
                    * (-speed * (distance - behind) / (2.0 * ALPHA)).exp()
            })
            .fold(0.0, f64::max)
    };
    let row = it.part_rows[1].start;
    let mut seen = 0;
    for (j, &y) in it.across_m.iter().enumerate() {
        let wanted = rosenthal(y);
        if !(0.1e-3..0.3e-3).contains(&y) || wanted < 1.1 * (it.final_above_k - 296.15) {
            continue;
        }
        seen += 1;
        // Conduction along the seam, which the cross-section leaves out, lowers the peak by about
        // 2 α / (v r): 2.5 % to 0.8 % here.
        let (off, along) = (
            (it.peak_k[row][j] - 296.15) / wanted - 1.0,
            2.0 * ALPHA / (speed * y),
        );
        assert!((-0.01..0.01 + along).contains(&off), "{y}: {off}");
    }
    assert!(3 < seen, "{seen}");
}

/// A rectangle of light that moves, Jaeger's: the middle of the seam at its highest.
#[test]
fn a_moving_rectangle() {
    for (speed, size) in [(0.02, 0.8e-3), (0.05, 1.2e-3), (0.005, 1.5e-3)] {
        let flux = 4.0e5;
        let it = run(
            &buried(flux, size / speed, 50e-9),
            Across::TopHat { width_m: size },
            1e-3,
        );
        let half = 0.5 * size;
        // Place x behind the middle of the rectangle; the source was at x − v s an age s ago.
        let rise = |x: f64| {
            let kernel = |s: f64| {
                let root = 2.0 * (ALPHA * s).sqrt();
                let along = 0.5
                    * (libm::erf((speed * s - x + half) / root)
                        - libm::erf((speed * s - x - half) / root));
                along * strip(0.0, half, s) / (2.0 * (PI * ALPHA * s).sqrt())
            };
            flux / (RHO * CP) * integral(3.0 * size / speed, kernel)
        };
        let wanted = (0..60)
            .map(|i| rise(half * (0.5 + 0.6 * f64::from(i) / 60.0)))
            .fold(0.0, f64::max);
        let found = it.interface_peak_k[1] - 296.15;
        // Conduction along the seam, which the cross-section leaves out, lowers the peak by about
        // α / (v l): 1/480 to 1/60.
        let (off, along) = (found / wanted - 1.0, ALPHA / (speed * size));
        assert!((-2e-3..2e-3 + 2.0 * along).contains(&off), "{speed}: {off}");
    }
}
