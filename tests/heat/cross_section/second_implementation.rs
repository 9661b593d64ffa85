//! A slow, literal second implementation: explicit steps on even squares over the whole width.

// Cells index many arrays at once.
#![allow(clippy::needless_range_loop)]

use lightseam::heat::cross_section::{self, Across, Settings};
use lightseam::material::Thermal;

use crate::heat::joints::reference_joint;

/// Enthalpy over temperature of the reference material, summed step by step.
struct Slow {
    enthalpy: Vec<f64>,
}

const STEP_K: f64 = 0.05;
const FROM_K: f64 = 290.0;

impl Slow {
    fn new(thermal: &Thermal) -> Self {
        let latent = thermal.latent_heat.as_ref().unwrap().value;
        let width = latent.to_k - latent.from_k;
        let mut enthalpy = vec![0.0];
        for i in 0..20_000 {
            let t = FROM_K + (f64::from(i) + 0.5) * STEP_K;
            let hump = if (latent.from_k..latent.to_k).contains(&t) {
                let angle = 2.0 * std::f64::consts::PI * (t - latent.from_k) / width;
                latent.heat_j_per_kg / width * (1.0 - angle.cos())
            } else {
                0.0
            };
            let cp = thermal.specific_heat_j_per_kg_k.value.at(t) + hump;
            let rho = thermal.density_kg_per_m3.value.at(t);
            enthalpy.push(enthalpy[i as usize] + rho * cp * STEP_K);
        }
        Slow { enthalpy }
    }

    fn temperature(&self, h: f64) -> f64 {
        let i = self.enthalpy.partition_point(|&it| it <= h).max(1) - 1;
        let share = (h - self.enthalpy[i]) / (self.enthalpy[i + 1] - self.enthalpy[i]);
        FROM_K + (i as f64 + share) * STEP_K
    }
}

#[test]
fn explicit_steps_on_squares_give_the_same_section() {
    let width = 0.5e-3;
    let column = reference_joint(13e6);
    let thermal = &column.bodies[0].thermal;
    let slow = Slow::new(thermal);
    let k = thermal.conductivity_w_per_m_k.value.at(300.0);
    // 0.6 mm above and 0.75 mm below the interface: further away it stays cold.
    let (above, below, half) = (60, 75, 60);
    let cell = 10e-6;
    let (rows, columns) = (above + below, 2 * half);
    let start = slow.enthalpy[((column.bodies[0].initial_k - FROM_K) / STEP_K).round() as usize];
    let mut enthalpy = vec![vec![start; columns]; rows];
    let mut peak = vec![vec![0.0f64; columns]; rows];
    let upper_m = column.bodies[0].thickness_m;
    // The same light, from its own formula.
    let heat: Vec<f64> = (0..rows)
        .map(|i| {
            let (body, from) = if i < above {
                (0, upper_m - (above - i) as f64 * cell)
            } else {
                (1, (i - above) as f64 * cell)
            };
            let layer = &column.light.layers[column.bodies[body].light_layer];
            (layer.cumulative(from + cell) - layer.cumulative(from)) / cell
        })
        .collect();
    let (irradiance, dwell) = (column.exposure.irradiance_w_per_m2, column.exposure.dwell_s);
    // A quarter of the greatest stable step of the solid; the melting solid allows more.
    let step = dwell / 300.0;
    assert!(step < 0.25 * cell * cell * 1130.0 * 1700.0 / k);
    for n in 0..1800 {
        let temperature: Vec<Vec<f64>> = enthalpy
            .iter()
            .map(|row| row.iter().map(|&h| slow.temperature(h)).collect())
            .collect();
        for (peak, t) in peak.iter_mut().flatten().zip(temperature.iter().flatten()) {
            *peak = peak.max(*t);
        }
        for i in 0..rows {
            for j in 0..columns {
                let t = |i: usize, j: usize| temperature[i][j];
                let mut flow = 0.0;
                if 0 < i {
                    flow += t(i - 1, j) - t(i, j);
                }
                if i + 1 < rows {
                    flow += t(i + 1, j) - t(i, j);
                }
                if 0 < j {
                    flow += t(i, j - 1) - t(i, j);
                }
                if j + 1 < columns {
                    flow += t(i, j + 1) - t(i, j);
                }
                let y = ((j as f64 + 0.5) - half as f64) * cell;
                let lit = n < 300 && y.abs() < 0.5 * width;
                let light = if lit { irradiance * heat[i] } else { 0.0 };
                enthalpy[i][j] += step * (k * flow / (cell * cell) + light);
            }
        }
    }
    // Symmetric to the last bit, as the half that is computed assumes.
    for row in &peak {
        for j in 0..half {
            assert!((row[j] - row[columns - 1 - j]).abs() < 1e-9);
        }
    }
    let it = cross_section::run(
        &column,
        &Across::TopHat { width_m: width },
        &Settings::fine(),
    )
    .unwrap();
    let flow = thermal.flow_temperature_k.value;
    let rise = it.body_peak_k - 296.15;
    let slow_top = peak.iter().flatten().fold(0.0, |a: f64, &b| a.max(b));
    // 1 % of the rise: squares of 10 µm miss a little of the light's fall over 100 µm.
    assert!(
        (slow_top - it.body_peak_k).abs() < 0.01 * rise,
        "{slow_top} {}",
        it.body_peak_k
    );
    // Melt depth in the middle and width of the melt, within a square of 10 µm.
    let melted = |i: usize, j: usize| flow <= peak[i][j];
    let depth =
        |rows: std::ops::Range<usize>| rows.filter(|&i| melted(i, half)).count() as f64 * cell;
    let found = [depth(0..above), depth(above..rows)];
    for part in 0..2 {
        let off = (found[part] - it.melt_depth_m[part]).abs();
        assert!(
            off < cell,
            "{part}: {} {}",
            found[part],
            it.melt_depth_m[part]
        );
    }
    let widest = |rows: std::ops::Range<usize>| {
        rows.map(|i| (0..columns).filter(|&j| melted(i, j)).count())
            .max()
            .unwrap() as f64
            * cell
    };
    let found = [widest(0..above), widest(above..rows)];
    for part in 0..2 {
        let off = (found[part] - it.melt_width_m[part]).abs();
        assert!(
            off < 2.0 * cell,
            "{part}: {} {}",
            found[part],
            it.melt_width_m[part]
        );
    }
    assert!(0.2e-3 < it.seam_width_m && it.seam_width_m <= it.melt_width_m[1] + 1e-9);
}
