//! The widened spot: interpolated nodes against photons followed for the very stack.

use approx::assert_relative_eq;
use lightseam::material::optical::OpticalConstants;
use lightseam::optics::photon_monte_carlo;
use lightseam::optics::{Method, Slab, Stack};
use lightseam::weld::light::{Memory, SEED, lights_of};
use lightseam::weld::{Joint, Settings, simulate};

use crate::support::joints;

fn lid(mu_a_per_mm: f64, mu_s_per_mm: f64, thickness_mm: f64) -> Joint {
    joints::from_text(&format!(
        r#"
[upper]
material = "pp"
thickness = "{thickness_mm} mm"
refractive_index = 1.5
absorption = "{mu_a_per_mm} /mm"
scattering = "{mu_s_per_mm} /mm"
anisotropy = 0.9
[lower]
material = "pp"
thickness = "2 mm"
refractive_index = 1.5
absorption = "15 /mm"
[beam]
wavelength = "980 nm"
length = "1.4 mm"
width = "0.9 mm"
power = "6 W"
[motion]
mode = "contour"
speed = "40 mm/s"
"#
    ))
}

/// Photons for the stack of the joint itself, four times as many as a node follows, so that a node
/// has twice their standard error: the difference stays within four of both together and 0.5 % for
/// the interpolation.
#[test]
fn interpolated_spread_is_that_of_the_stack() {
    let settings = Settings::standard();
    for (mu_a, mu_s, d) in [(0.05, 2.0, 1.5), (0.02, 6.3, 0.8), (0.4, 11.0, 2.1)] {
        let joint = lid(mu_a, mu_s, d);
        let light = lights_of(std::slice::from_ref(&joint), &settings.memory)
            .remove(0)
            .unwrap();
        assert_eq!(light.method, Method::AddingDoubling);
        let slab = |mu_a_per_m: f64, mu_s_per_m: f64, thickness_m: f64| Slab {
            thickness_m,
            constants: OpticalConstants {
                n: 1.5,
                mu_a_per_m,
                mu_s_per_m,
                g: 0.9,
            },
        };
        let stack = Stack::contact(
            slab(1e3 * mu_a, 1e3 * mu_s, 1e-3 * d),
            slab(15e3, 0.0, 2e-3),
        );
        let direct = photon_monte_carlo::spread(
            &stack,
            &photon_monte_carlo::Settings {
                photons: 131_072,
                seed: SEED + 1,
                ..photon_monte_carlo::Settings::standard()
            },
        )
        .unwrap();
        let beam = joint.beam;
        let ratio = |it: f64| beam.length_m * beam.width_m / it;
        let peak = direct.peak_factor(beam.shape, beam.length_m, beam.width_m);
        let energy = direct.energy_factor(beam.shape, beam.width_m);
        let both = 5f64.sqrt();
        for (found, expected) in [
            (ratio(light.beam.length_m * light.beam.width_m), peak),
            (beam.width_m / light.beam.width_m, energy),
        ] {
            let far = (found - expected.value).abs();
            let allowed = 4.0 * both * expected.standard_error + 0.005 * expected.value;
            assert!(far < allowed, "{found} for {expected:?}");
            assert!(
                allowed < 0.09 * expected.value,
                "the check has no teeth: {expected:?}"
            );
        }
    }
}

/// A wider spot is a cooler seam: power must rise by about the loss of irradiance.
#[test]
fn scattering_widens_the_spot_and_cools_the_seam() {
    let settings = Settings::standard();
    let clear = lid(0.02, 0.0, 1.5);
    let cloudy = lid(0.02, 5.0, 1.5);
    let outcomes: Vec<_> = simulate(&[clear, cloudy], &settings)
        .into_iter()
        .map(Result::unwrap)
        .collect();
    let area = |i: usize| outcomes[i].beam.length_m * outcomes[i].beam.width_m;
    assert_relative_eq!(area(0), 1.4e-3 * 0.9e-3);
    assert!(1.3 * area(0) < area(1), "{} m²", area(1));
    assert!(
        outcomes[1].history.interface_peak_upper_k < outcomes[0].history.interface_peak_upper_k
    );
}

/// What is remembered is what would be found: the order of questions changes nothing.
#[test]
fn memory_changes_no_answer() {
    let joints = [lid(0.05, 2.0, 1.5), lid(0.3, 9.0, 1.1), lid(0.02, 4.0, 2.4)];
    let together = lights_of(&joints, &Memory::default());
    let memory = Memory::default();
    for (joint, together) in joints.iter().zip(&together).rev() {
        let alone = lights_of(std::slice::from_ref(joint), &memory)
            .remove(0)
            .unwrap();
        let together = together.as_ref().unwrap();
        assert_eq!(alone.beam, together.beam);
        assert_eq!(alone.absorbed, together.absorbed);
    }
}

/// Behind a lid that lets nothing through what is left is rounding, which is no negative heat.
#[test]
fn nothing_behind_an_opaque_lid_is_nothing() {
    let joints: Vec<Joint> = [(2.0, 1.5), (4.0, 0.5), (8.0, 3.0), (15.0, 9.0)]
        .map(|(mu_a, mu_s)| lid(mu_a, mu_s, 50.0))
        .to_vec();
    for light in lights_of(&joints, &Memory::default()) {
        let light = light.unwrap();
        assert!((0.0..1e-12).contains(&light.absorbed.absorbed_lower()));
        assert!(light.absorbed.energy_residual().abs() < 1e-9);
    }
}
