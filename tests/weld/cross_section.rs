//! Cross-sections of whole joints: widths an engineer expects, and how scattering widens the seam.

use lightseam::heat::cross_section::Across;
use lightseam::optics::Method;
use lightseam::optics::beam::Shape;
use lightseam::weld::cross_section::{cross_section, profile};
use lightseam::weld::{Interface, Joint, Settings, simulate};

use crate::support::joints;

fn cut(joint: &Joint) -> lightseam::heat::cross_section::CrossSection {
    let settings = Settings::standard();
    let outcome = simulate(std::slice::from_ref(joint), &settings)
        .remove(0)
        .unwrap();
    let it = cross_section(joint, &outcome, &settings).unwrap();
    assert!(it.ledger.relative_residual().abs() < 1e-10);
    it
}

#[test]
fn the_seam_is_about_as_wide_as_a_top_hat_and_narrower_than_a_gaussian() {
    let joint = joints::clear_on_black();
    let it = cut(&joint);
    let width = joint.beam.width_m;
    assert!(
        (0.8..1.0).contains(&(it.seam_width_m / width)),
        "{}",
        it.seam_width_m
    );
    let mut gaussian = joint;
    gaussian.beam.shape = Shape::Gaussian;
    let seam = cut(&gaussian).seam_width_m / width;
    assert!((0.2..0.9).contains(&seam), "{seam}");
}

/// What a scattering upper part sends across the seam: the energy is that of the beam, the middle
/// is the one-dimensional one, and the seam follows the photons.
#[test]
fn scattering_spreads_the_light_across_the_seam_and_keeps_its_energy() {
    let mut joint = joints::from_text(
        r#"
upper = { material = "pa6", thickness = "1.5 mm", refractive_index = 1.53, absorption = "0.02 /mm", scattering = "8 /mm", anisotropy = 0.8 }
lower = { material = "pa6", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
beam = { wavelength = "980 nm", length = "1 mm", width = "1 mm", power = "30 W" }
motion = { mode = "contour", speed = "20 mm/s" }
"#,
    );
    let settings = Settings::standard();
    for shape in [Shape::TopHat, Shape::Gaussian] {
        joint.beam.shape = shape;
        let outcome = simulate(std::slice::from_ref(&joint), &settings)
            .remove(0)
            .unwrap();
        let across = profile(&joint, &settings).unwrap();
        assert!(matches!(across, Across::Tabulated(_)));
        // Power over speed is the energy for unit length; the middle's energy times the profile's
        // width must give it back.
        let speed = 0.02;
        let middle = outcome.beam.passage(speed).fluence_j_per_m2();
        let whole = 2.0 * middle * across.until_m(1.0);
        let share = whole / (joint.beam.power_w / speed);
        // 2 %: light more than five thicknesses away, and the two factors of the photons.
        assert!((share - 1.0).abs() < 0.02, "{shape:?} {share}");
    }
    joint.beam.shape = Shape::TopHat;
    joint.method = Some(Method::BeerLambert);
    assert_eq!(
        profile(&joint, &settings).unwrap(),
        Across::TopHat { width_m: 1e-3 }
    );
}

/// A gap: the lower part melts over a width and the upper part over a narrower one.
#[test]
fn across_a_gap_the_upper_part_melts_less() {
    let mut joint = joints::clear_on_black();
    joint.beam.power_w = 12.0;
    joint.interface = Interface::of_gap(10e-6);
    let it = cut(&joint);
    assert!(it.melt_width_m[0] < it.melt_width_m[1]);
    assert!(it.interface_peak_k[0] < it.interface_peak_k[1]);
    assert!(it.seam_width_m <= it.melt_width_m[0] + 1e-9);
}

/// A wide spot over a gap that closes: the middle is the one-dimensional answer, closing included;
/// the same gap held open has no seam, however much melts.
#[test]
fn a_gap_closes_across_the_seam_as_in_one_dimension() {
    let mut joint = joints::from_text(
        r#"
upper = { material = "pc", thickness = "2 mm" }
lower = { material = "pc", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.1 %" } }
contact = { gap = "20 µm" }
beam = { wavelength = "980 nm", length = "2 mm", width = "6 mm", power = "48 W" }
motion = { mode = "contour", speed = "20 mm/s" }
"#,
    );
    // The standard grid of one dimension is coarse where a soft polymer only swells.
    let fine = Settings {
        heat: lightseam::heat::Settings::fine(),
        ..Settings::standard()
    };
    let line = simulate(std::slice::from_ref(&joint), &fine)
        .remove(0)
        .unwrap()
        .history;
    let it = cut(&joint);
    let rise = line.body_peak_k - joint.surroundings.ambient_k;
    for (found, wanted) in it
        .interface_peak_k
        .into_iter()
        .zip([line.interface_peak_upper_k, line.interface_peak_lower_k])
    {
        // What `cross_section::Settings::standard` promises.
        assert!((found - wanted).abs() < 5e-3 * rise, "{found} {wanted}");
    }
    for (found, wanted) in it
        .melt_depth_m
        .into_iter()
        .zip([line.upper_melt_depth_m, line.lower_melt_depth_m])
    {
        assert!((found / wanted - 1.0).abs() < 0.015, "{found} {wanted}");
    }
    let bridge = it.bridge.unwrap();
    let swelling_m = line.film.unwrap().swelling_m.unwrap();
    let found_m = bridge.swelling_m.unwrap();
    assert!(
        (found_m / swelling_m - 1.0).abs() < 0.015,
        "{found_m} {swelling_m}"
    );
    assert!(line.film.unwrap().closed_s.is_some());
    assert!((5e-3..6.2e-3).contains(&bridge.closed_width_m));
    assert!(5e-3 < it.seam_width_m);

    for (closes, conductance_w_per_m2_k) in [(false, None), (false, Some(20_000.0))] {
        joint.interface = Interface::Gap {
            gap_m: 1e-6,
            conductance_w_per_m2_k,
            closes,
            film_factor: 1.0,
        };
        let it = cut(&joint);
        assert!(5e-3 < it.melt_width_m[0] && it.seam_width_m == 0.0);
    }
}

/// Slower and longer: more of the heat leaves sideways.
#[test]
fn long_heating_loses_more_than_the_one_dimensional_answer_says() {
    let settings = Settings::standard();
    let loss = |speed: f64| {
        let mut joint = joints::polycarbonate(1e-3);
        joint.motion = lightseam::weld::Motion::Contour {
            speed_m_per_s: speed,
        };
        joint.beam.power_w = 3.0;
        let outcome = simulate(std::slice::from_ref(&joint), &settings)
            .remove(0)
            .unwrap();
        let it = cross_section(&joint, &outcome, &settings).unwrap();
        1.0 - (it.interface_peak_k[1] - 296.15) / (outcome.history.interface_peak_lower_k - 296.15)
    };
    let losses = [0.1, 0.01, 0.002].map(loss);
    assert!(losses[0].abs() < 5e-3, "{losses:?}");
    assert!(
        losses[0] < losses[1] && losses[1] < losses[2] && 0.01 < losses[2],
        "{losses:?}"
    );
}
