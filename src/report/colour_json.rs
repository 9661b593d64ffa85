//! Coloured plaques as JSON: SI units unless a name says otherwise; keys are stable.

use serde_json::{Map, Value, json as object};

use crate::colour::Observer;
use crate::colour::visible::Between;
use crate::report::colour_report::headline;
use crate::report::failures;
use crate::study::colour_batches::{Batch, Chart, ColourStudy};
use crate::study::colours::Colour;
use crate::study::specification::Characteristic;
use crate::units::celsius;

/// Result as JSON, SI units unless a name says otherwise.
pub fn json(study: &ColourStudy, remarks: &[String]) -> Value {
    object!({
        "answer": headline(study),
        "observer": study.observer.name(),
        "illuminant": "D65",
        "compared_by": study.seen.words(),
        "line_nm": study.line_m * 1e9,
        "natural_transmittance": study.natural_transmittance,
        "batches": study.batches.iter().map(|it| batch_json(study, it)).collect::<Vec<_>>(),
        "charts": study.charts.iter().map(|it| chart_json(study, it)).collect::<Vec<_>>(),
        "unsound": study.unsound().iter().map(|it| it.sample.name.as_str()).collect::<Vec<_>>(),
        "outside": study.outside().iter().map(|it| it.sample.name.as_str()).collect::<Vec<_>>(),
        "unjudged": study.unjudged().iter().map(|it| it.sample.name.as_str()).collect::<Vec<_>>(),
        "left_out": failures::rows(&study.left_out),
        "warnings": remarks,
        "version": env!("CARGO_PKG_VERSION"),
    })
}

fn batch_json(study: &ColourStudy, batch: &Batch) -> Value {
    let values: Map<String, Value> = Characteristic::ALL
        .into_iter()
        .map(|of| {
            let key = match of {
                Characteristic::Extinction => "extinction_per_m",
                _ => of.key(),
            };
            (key.into(), batch.value(of, study.observer).into())
        })
        .collect();
    let light = batch.light.as_ref().map(|it| {
        object!({
            "plaque_thickness_m": it.plaque_thickness_m,
            "plaque_transmittance": it.plaque_transmittance,
            "part_thickness_m": it.part_thickness_m,
            "transmittance": it.transmittance().map(|it| it.value),
            "transmittance_standard_error": it.transmittance().map(|it| it.standard_error),
            "absorption_per_m": it.estimate.map(|it| it.pair.mu_a_per_m),
            "reduced_scattering_per_m": it.estimate.map(|it| it.pair.mu_s_reduced_per_m),
        })
    });
    let weld = batch.weld.as_ref().map(|it| {
        object!({
            "verdict": it.outcome.verdict.word(),
            "governing_criterion": it.outcome.governing.rule.key(),
            "margin": it.outcome.governing.margin,
            "absorbed_upper_w": it.absorbed_upper_w(),
            "absorbed_upper": it.outcome.light.absorbed_upper(),
            "laser_side_peak_c": celsius(it.outcome.history.laser_side_peak_k),
            "self_heating_margin": it.surface().map(|it| it.margin),
            "low_power_w": it.limits.low.power_w(),
            "high_power_w": it.limits.high.power_w(),
        })
    });
    object!({
        "name": batch.sample.name,
        "file": batch.sample.file,
        "values": values,
        "colours": batch.colours.iter().map(colour_json).collect::<Vec<_>>(),
        "laser": light,
        "weld": weld,
        "outside": batch
            .broken(&study.specification, study.observer)
            .iter()
            .map(|it| it.key())
            .collect::<Vec<_>>(),
        "unjudged": batch
            .unjudged(&study.specification, study.observer)
            .iter()
            .map(|it| it.key())
            .collect::<Vec<_>>(),
    })
}

fn colour_json(colour: &Colour) -> Value {
    let observers: Map<String, Value> = Observer::ALL
        .into_iter()
        .map(|observer| {
            let it = colour.to(observer);
            let (xyz, lab) = (it.tristimulus, it.lab);
            (
                observer.name().trim_end_matches('°').into(),
                object!({
                    "X": xyz.x, "Y": xyz.y, "Z": xyz.z,
                    "L": lab.lightness, "a": lab.a, "b": lab.b,
                    "C": lab.chroma(), "h_deg": lab.hue_deg(),
                }),
            )
        })
        .collect();
    let sampling = &colour.visible.sampling;
    object!({
        "of": colour.seen.words(),
        "observers": observers,
        "srgb": colour.swatch.hex(),
        "srgb_clipped": colour.swatch.clipped,
        "from_nm": sampling.measured_nm.0,
        "to_nm": sampling.measured_nm.1,
        "step_nm": sampling.step_nm,
        "interpolation": match sampling.between {
            Between::Sprague => "Sprague",
            Between::MonotoneCubic => "monotone cubic",
        },
        "held": sampling.held(),
    })
}

fn chart_json(study: &ColourStudy, it: &Chart) -> Value {
    let name = |i: &usize| study.batches[*i].sample.name.clone();
    let chart = &it.chart;
    object!({
        "characteristic": it.characteristic.key(),
        "mean": chart.mean,
        "standard_deviation": chart.deviation,
        "mean_moving_range": chart.mean_range,
        "lower_control_limit": chart.lower,
        "upper_control_limit": chart.upper,
        "outside": chart.outside.iter().map(name).collect::<Vec<_>>(),
        "shifted": chart.shifted.iter().map(name).collect::<Vec<_>>(),
        "least": it.limits.least,
        "most": it.limits.most,
        "ppk": it.capability.map(|it| it.ppk),
        "ppk_low": it.capability.map(|it| it.interval.0),
        "ppk_high": it.capability.map(|it| it.interval.1),
    })
}
