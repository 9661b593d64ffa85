//! Two layers with melting against values converged by another program.

use std::sync::Arc;

use crate::error::Error;
use crate::heat::Settings;
use crate::material::thermal::{LatentHeat, Thermal};
use crate::numerics::interpolate::PiecewiseLinear;
use crate::study::validation::exact_heat::{body, column, dying, plain, posed, pulse, solve};
use crate::study::validation::table::{Rows, Worst};
use crate::study::validation::{Check, Kind, Stage, Validation};
use crate::units::{MM, celsius, kelvin};

/// The reference joints A1 (strong) and B (just above the threshold).
///
/// # Errors
/// A joint is refused.
pub fn checks() -> Result<Validation, Error> {
    let table = Rows::of(include_str!("../../../tests/published/heat-two-layer.csv"));
    let expected = |case: &str, quantity: &str| {
        let mut rows = table.iter();
        rows.find(|it| it.word("case") == case && it.word("quantity") == quantity)
            .map_or(f64::NAN, |it| it.number("extrapolated_200_400"))
    };
    let mut peaks = Worst::default();
    let mut times = Worst::default();
    let mut depths = [Worst::default(), Worst::default()];
    for (i, (case, irradiance)) in [("A1", 20e6), ("B", 8e6)].into_iter().enumerate() {
        let it = solve(joint(irradiance), &Settings::standard())?;
        for (found, quantity) in [
            (it.interface_peak_upper_k, "T_peak"),
            (it.interface_peak_lower_k, "T_peak"),
        ] {
            peaks.compare(celsius(found), expected(case, quantity));
        }
        if case == "A1" {
            peaks.compare(celsius(it.body_peak_k), expected(case, "Tmax_body"));
        }
        times.compare_relative(it.first_flow_s.unwrap_or(f64::NAN), expected(case, "t_up"));
        times.compare_relative(it.time_above_flow_s, expected(case, "t_above"));
        depths[i].compare_relative(it.upper_melt_depth_m / MM, expected(case, "d_up_mm"));
        depths[i].compare_relative(it.lower_melt_depth_m / MM, expected(case, "d_lo_mm"));
    }
    let check = |worst: Worst, what: &'static str, limit: f64, unit: &'static str| Check {
        stage: Stage::Heat,
        what,
        kind: Kind::OtherProgram,
        source: "finite volumes and scipy's Radau, 200 and 400 nodes a layer, extrapolated; \
                 quadratic elements agree within 1e-5 K",
        values: worst.values,
        deviation: worst.deviation,
        limit,
        unit,
    };
    let [strong, mild] = depths;
    Ok(Validation {
        checks: vec![
            check(peaks, "peak temperatures of two layers that melt", 0.5, "K"),
            check(
                times,
                "times of first flow and above flow",
                0.01,
                "relative",
            ),
            check(strong, "melt depths, strong case", 0.02, "relative"),
            check(
                mild,
                "melt depths, just above the threshold",
                0.05,
                "relative",
            ),
        ],
        findings: Vec::new(),
    })
}

/// 1700 + 400 (1 + tanh((T − 220)/5)) J/(kg K), 60 kJ/kg of latent heat from 200 to 225 °C,
/// 1130 kg/m³, 0.25 W/(m K); 1.5 mm on 3 mm, 0.1 and 10 /mm, 20 ms.
fn joint(irradiance_w_per_m2: f64) -> crate::heat::Column {
    let t: Vec<f64> = (0..=480).map(|i| 160.0 + 0.25 * f64::from(i)).collect();
    let cp = t
        .iter()
        .map(|t| 1700.0 + 400.0 * (1.0 + ((t - 220.0) / 5.0).tanh()))
        .collect();
    let t = t.into_iter().map(kelvin).collect();
    let specific_heat =
        PiecewiseLinear::new(t, cp).unwrap_or_else(|_| PiecewiseLinear::constant(f64::NAN));
    let thermal = Arc::new(Thermal {
        specific_heat_j_per_kg_k: posed(specific_heat),
        latent_heat: Some(posed(LatentHeat {
            heat_j_per_kg: 60e3,
            from_k: kelvin(200.0),
            to_k: kelvin(225.0),
        })),
        flow_temperature_k: posed(kelvin(220.0)),
        ..plain(1130.0, 1700.0, 0.25)
    });
    let room = kelvin(23.0);
    column(
        [
            body(&thermal, 1.5 * MM, 0, room),
            body(&thermal, 3.0 * MM, 1, room),
        ],
        dying([100.0, 1e4], [1.5 * MM, 3.0 * MM]),
        pulse(irradiance_w_per_m2, 0.020),
        10.0,
    )
}
