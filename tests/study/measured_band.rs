//! Bands of joints whose coefficients come from plaques: the standard errors of the spectra count.

use std::fmt::Write;

use lightseam::input::joint_file;
use lightseam::optics::adding_doubling::Resolution;
use lightseam::optics::invert::{Pair, Reading, Setup, Sphere, Uncertainty, predict};
use lightseam::study::Silent;
use lightseam::study::band::{Band, Input, band, uncertain_inputs};
use lightseam::study::window::window;
use lightseam::weld::{Joint, Settings};

const G: f64 = 0.9;

/// T and R of plaques of 1 and 2 mm as a spectrometer would write them, each value off by up to
/// `noise` of the light.
fn spectra(noise: f64) -> String {
    let setup = Setup {
        g: G,
        uncertainty: Uncertainty {
            transmittance: 0.003,
            reflectance: 0.003,
            collimated: 0.003,
        },
        sphere: Sphere::ideal(),
    };
    let pair = Pair {
        mu_a_per_m: 90.0,
        mu_s_reduced_per_m: 450.0,
    };
    let mut text =
        "wavelength [nm];T 1 mm total [%];R 1 mm [%];T 2 mm total [%];R 2 mm [%]\n".to_string();
    let mut state = 77_u64;
    for nm in (900..=1060).step_by(8) {
        write!(text, "{nm}").unwrap();
        for thickness_m in [1e-3, 2e-3] {
            let blank = Reading {
                thickness_m,
                n: 1.5,
                total_transmittance: Some(0.0),
                total_reflectance: Some(0.0),
                collimated_transmittance: None,
            };
            let it = predict(&blank, pair, &setup, Resolution::standard()).unwrap();
            for value in [it.total_transmittance, it.total_reflectance] {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                let even = (state >> 11) as f64 / (1_u64 << 53) as f64;
                write!(
                    text,
                    ";{:.4}",
                    100.0 * (value.unwrap() + noise * (2.0 * even - 1.0))
                )
                .unwrap();
            }
        }
        text.push('\n');
    }
    text
}

fn joint(noise: f64, more: &str) -> Joint {
    let text = format!(
        r#"
[upper]
material = "pp"
thickness = "1.4 mm"
refractive_index = 1.5
anisotropy = {G}
spectra = "lid.csv"
[lower]
material = "pp"
thickness = "2 mm"
refractive_index = 1.5
absorption = "12 /mm"
[beam]
wavelength = "980 nm"
length = "1.5 mm"
width = "1.5 mm"
power = "9 W"
[motion]
mode = "contour"
speed = "40 mm/s"
[machine]
power = ["1 W", "60 W"]
speed = ["20 mm/s", "80 mm/s"]
[optics]
photometric = "0.05 %"
[uncertainty]
thermal = "0 %"
{more}
"#
    );
    let csv = spectra(noise);
    joint_file::parse(&text, "joint.toml", &|_| Ok(csv.clone().into_bytes()))
        .unwrap_or_else(|it| panic!("{it}"))
        .0
}

fn band_of(joint: &Joint) -> Band {
    let settings = Settings::standard();
    let window = window(joint, &settings, &Silent).unwrap();
    band(joint, &window, &settings).unwrap()
}

#[test]
fn noisier_plaques_give_a_wider_band() {
    let (quiet, noisy) = (joint(1e-4, ""), joint(1.2e-2, ""));
    let [quiet, noisy] = [quiet, noisy].map(|it| band_of(&it));
    let inputs: Vec<Input> = quiet.inputs.iter().map(|it| it.input).collect();
    assert_eq!(inputs, [Input::UpperAbsorption, Input::UpperScattering]);
    for (a, b) in quiet.inputs.iter().zip(&noisy.inputs) {
        assert_eq!(a.source, "standard error of the spectra's inversion");
        assert!(5.0 * a.relative < b.relative, "{a:?} {b:?}");
    }
    let middle = quiet.speed_m_per_s.len() / 2;
    let (narrow, wide) = (quiet.low[middle].unwrap(), noisy.low[middle].unwrap());
    assert!(5.0 * narrow < wide && wide < 0.5, "{narrow} {wide}");
}

#[test]
fn uncertainty_is_that_at_the_wavelength_of_the_joint() {
    let joint = joint(1.2e-2, "");
    let absorption = &joint.upper.optical.absorption.as_ref().unwrap().value;
    let at = |nm: f64| absorption.relative_uncertainty_at(nm * 1e-9).unwrap();
    let stated = uncertain_inputs(&joint).remove(0);
    assert!((stated.relative / at(980.0) - 1.0).abs() < 1e-12);
    assert!(
        1e-3 < (at(980.0) / at(940.0) - 1.0).abs(),
        "the same everywhere"
    );
    assert!(absorption.relative_uncertainty_at(700e-9).is_none());
}

#[test]
fn what_the_joint_states_stands_in_place_of_the_spectra() {
    let joint = joint(1e-3, "upper_optics = \"4 %\"");
    let inputs = uncertain_inputs(&joint);
    assert_eq!(inputs.len(), 1);
    assert_eq!(inputs[0].input, Input::UpperOptics);
    assert_eq!((inputs[0].relative, inputs[0].source), (0.04, "joint file"));
}

#[test]
fn each_coefficient_is_moved_alone() {
    let joint = joint(1e-3, "");
    let at = |joint: &Joint| joint.upper.optical_at(980e-9).unwrap();
    let before = at(&joint);
    let absorbing = at(&Input::UpperAbsorption.scaled(&joint, 1.3));
    let cloudy = at(&Input::UpperScattering.scaled(&joint, 0.8));
    assert!((absorbing.mu_a_per_m / before.mu_a_per_m - 1.3).abs() < 1e-12);
    assert_eq!(absorbing.mu_s_per_m, before.mu_s_per_m);
    assert!((cloudy.mu_s_per_m / before.mu_s_per_m - 0.8).abs() < 1e-12);
    assert_eq!(cloudy.mu_a_per_m, before.mu_a_per_m);
}
