//! Interpolated light against light followed for every joint: shares, spot, and what becomes of it.

use lightseam::numerics::sobol::Sobol;
use lightseam::study::scatter::{Draw, Quantity};
use lightseam::study::tolerance::Sampler;
use lightseam::weld::light::lights_of;
use lightseam::weld::{Interface, Joint, Motion, Settings, simulate};

use crate::support::joints;

fn scattering_lid() -> Joint {
    joints::from_text(
        r#"
upper = { material = "pp", thickness = "1.5 mm", absorption = "0.04 /mm", scattering = "6 /mm", anisotropy = 0.9 }
lower = { material = "pp", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "9 W" }
motion = { mode = "contour", speed = "40 mm/s" }
"#,
    )
}

/// Largest differences between interpolated and direct: delivered share, profile, spot, margin.
fn differences(joint: &Joint, spreads: &[(Quantity, f64)], count: u32) -> [f64; 4] {
    let settings = Settings::standard();
    let sampler = Sampler::around(joint, &settings).unwrap();
    let draw = Draw::around(joint).unwrap();
    let quantities: Vec<Quantity> = spreads.iter().map(|it| it.0).collect();
    let sobol = Sobol::scrambled(spreads.len(), 3, 0);
    let drawn: Vec<Joint> = (0..count)
        .map(|i| {
            let factors: Vec<f64> = sobol
                .point(i)
                .iter()
                .zip(spreads)
                .map(|(u, it)| (2.0 * it.1 * (u - 0.5)).exp())
                .collect();
            draw.at(&quantities, &factors).joint
        })
        .collect();
    let near = sampler.light.lights(&drawn, &settings.memory);
    let exact = lights_of(&drawn, &settings.memory);
    let mut worst = [0.0f64; 4];
    for ((near, exact), joint) in near.iter().zip(&exact).zip(&drawn) {
        let (near, exact) = (near.as_ref().unwrap(), exact.as_ref().unwrap());
        assert_eq!(near.wetted.is_some(), joint.closes_gap());
        assert_eq!(exact.wetted.is_some(), joint.closes_gap());
        let wetted = near.wetted.iter().zip(&exact.wetted);
        for (a, b) in std::iter::once((&near.absorbed, &exact.absorbed)).chain(wetted) {
            assert!(a.energy_residual().abs() < 1e-9);
            let delivered = [a, b].map(|it| it.delivered_to_interface());
            worst[0] = worst[0].max((delivered[0] - delivered[1]).abs());
            let (upper, lower) = (joint.upper.thickness_m, joint.lower.thickness_m);
            for share in [0.003, 0.01, 0.03, 0.1, 0.4, 0.8] {
                for (layer, thickness) in [(a.upper, upper), (a.lower, lower)] {
                    let z = share * thickness;
                    let off = a.layers[layer].cumulative(z) - b.layers[layer].cumulative(z);
                    worst[1] = worst[1].max(off.abs());
                }
            }
        }
        worst[2] = worst[2].max((near.beam.width_m / exact.beam.width_m).ln().abs());
        worst[2] = worst[2].max((near.beam.length_m / exact.beam.length_m).ln().abs());
    }
    let near = sampler.simulate(&drawn);
    for (near, exact) in near.iter().zip(simulate(&drawn, &settings)) {
        let (near, exact) = (near.as_ref().unwrap(), exact.unwrap());
        let off = near.governing.margin - exact.governing.margin;
        worst[3] = worst[3].max(off.abs());
    }
    worst
}

/// Spreads as a joint file states them, drawn to three standard deviations.
#[test]
fn narrow_spreads_are_interpolated_to_a_thousandth() {
    let spreads = [
        (Quantity::UpperOptics, 0.15),
        (Quantity::UpperThickness, 0.06),
        (Quantity::Absorber, 0.3),
        (Quantity::Spot, 0.15),
    ];
    let [delivered, profile, spot, margin] = differences(&scattering_lid(), &spreads, 24);
    assert!(delivered < 1e-4, "{delivered}");
    assert!(profile < 2e-4, "{profile}");
    assert!(spot < 5e-3, "{spot}");
    assert!(margin < 5e-3, "{margin}");
}

/// The same over a gap that closes: the light over the gap, and where melt has wetted the other part.
#[test]
fn both_lights_of_a_gap_are_interpolated() {
    let mut joint = scattering_lid();
    joint.interface = Interface::of_gap(10e-6);
    assert!(joint.closes_gap());
    let spreads = [
        (Quantity::UpperOptics, 0.15),
        (Quantity::UpperThickness, 0.06),
        (Quantity::Contact, 0.3),
    ];
    let [delivered, profile, _, margin] = differences(&joint, &spreads, 16);
    assert!(delivered < 1e-4, "{delivered}");
    assert!(profile < 2e-4, "{profile}");
    assert!(margin < 5e-3, "{margin}");
}

/// Cards from memory: scattering and absorption known to a factor of two, and apart.
#[test]
fn wide_spreads_are_interpolated_to_a_hundredth() {
    let spreads = [
        (Quantity::UpperScattering, 0.9),
        (Quantity::UpperAbsorption, 1.5),
        (Quantity::Absorber, 1.2),
    ];
    let [delivered, profile, spot, margin] = differences(&scattering_lid(), &spreads, 12);
    assert!(delivered < 5e-4, "{delivered}");
    assert!(profile < 5e-4, "{profile}");
    assert!(spot < 1e-2, "{spot}");
    assert!(margin < 1e-2, "{margin}");
}

#[test]
fn without_scattering_light_is_followed_directly() {
    let spreads = [(Quantity::UpperOptics, 0.5), (Quantity::Absorber, 1.0)];
    let [delivered, profile, spot, margin] = differences(&joints::clear_on_black(), &spreads, 16);
    assert_eq!([delivered, profile, spot, margin], [0.0; 4]);
}

/// A mask lets through what it is as wide as, whatever the line that is swept over it.
#[test]
fn a_mask_is_widened_by_its_opening() {
    let mut joint = scattering_lid();
    joint.beam.width_m = 10e-3;
    joint.motion = Motion::Mask {
        speed_m_per_s: 20e-3,
        opening_m: 0.5e-3,
    };
    let spreads = [
        (Quantity::UpperOptics, 0.15),
        (Quantity::UpperThickness, 0.06),
        (Quantity::Spot, 0.15),
    ];
    let [delivered, profile, spot, margin] = differences(&joint, &spreads, 24);
    assert!(delivered < 1e-4, "{delivered}");
    assert!(profile < 2e-4, "{profile}");
    assert!(spot < 5e-3, "{spot}");
    assert!(margin < 2e-3, "{margin}");
}
