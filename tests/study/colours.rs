//! Coloured plaques: the light in them against closed forms, their welds, what is refused.

use std::sync::Arc;

use lightseam::colour::Observer;
use lightseam::input::{joint_file, library};
use lightseam::material::plaque::Geometry;
use lightseam::material::{Plaque, Sourced, Spectrum, Status};
use lightseam::numerics::control_chart::Limits;
use lightseam::optics::plaque::slab_transmittance;
use lightseam::optics::reduction::Assumptions;
use lightseam::study::Silent;
use lightseam::study::colour_batches::{BatchQuestion, ColourStudy, colour_batches};
use lightseam::study::colours::{LaserQuestion, Sample, Seen, laser_light};
use lightseam::study::specification::{Characteristic, Specified};
use lightseam::weld::{Joint, Settings, Verdict};

const N: f64 = 1.49;

/// A clear black: grey of `share` over black, extinction `mu_per_m` at the laser line.
fn sample(name: &str, share: f64, mu_per_m: f64) -> Sample {
    let nm: Vec<f64> = (0..=70).map(|i| 400.0 + 10.0 * f64::from(i)).collect();
    let m: Vec<f64> = nm.iter().map(|it| it * 1e-9).collect();
    let through = |nm: &f64| {
        let mu = if *nm < 750.0 { 9000.0 } else { mu_per_m };
        slab_transmittance(N, mu, 1.1e-3)
    };
    let transmittance = Spectrum::table("T", m.clone(), nm.iter().map(through).collect()).unwrap();
    let black = Spectrum::table("R", m, vec![share; nm.len()]).unwrap();
    Sample {
        name: name.into(),
        file: format!("{name}.csv"),
        plaques: vec![Plaque {
            name: "T".into(),
            thickness_m: 1.1e-3,
            geometry: Geometry::Total,
            transmittance: transmittance.clone(),
            reflectance: None,
        }],
        curves: vec![(Seen::OverBlack, black), (Seen::Transmitted, transmittance)],
    }
}

fn laser(part_thickness_m: Option<f64>) -> LaserQuestion {
    LaserQuestion {
        line_m: 980e-9,
        part_thickness_m,
        refractive_index: Sourced::new(Spectrum::constant(N), "test", Status::Stated),
        assumed: Assumptions::default(),
    }
}

fn joint() -> Joint {
    let text = r#"
upper = { material = "pc", thickness = "1.7 mm" }
lower = { material = "pc", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.2 %" } }
beam = { wavelength = "980 nm", diameter = "1.3 mm", power = "9 W" }
motion = { mode = "contour", speed = "30 mm/s" }
"#;
    joint_file::parse(text, "joint.toml", &library::no_files)
        .unwrap()
        .0
}

fn studied(samples: &[Sample], joint: Option<&Joint>, limits: &[Specified]) -> ColourStudy {
    let standard = sample("standard", 0.045, 100.0);
    let asked = BatchQuestion {
        observer: Observer::TenDegrees,
        laser: laser(Some(1.7e-3)),
        laser_asked: true,
        standard: Some(&standard),
        natural: None,
        joint,
        specification: limits,
    };
    colour_batches(samples, &asked, &Settings::standard(), &Silent).unwrap()
}

#[test]
fn a_clear_part_of_another_thickness_transmits_what_the_closed_form_says() {
    let light = laser_light(&sample("k", 0.04, 370.0), &laser(Some(1.7e-3)))
        .unwrap()
        .unwrap();
    assert!((light.extinction_per_m - 370.0).abs() < 1e-6);
    let told = light.transmittance().unwrap();
    assert!(
        (told.value - slab_transmittance(N, 370.0, 1.7e-3)).abs() < 1e-9,
        "{told:?}"
    );
    // Without a part the plaque's own thickness counts.
    let own = laser_light(&sample("k", 0.04, 370.0), &laser(None))
        .unwrap()
        .unwrap();
    assert!((own.transmittance().unwrap().value - own.plaque_transmittance).abs() < 1e-9);
}

#[test]
fn greys_differ_by_lightness_and_break_their_limits() {
    let samples = [
        sample("a", 0.045, 100.0),
        sample("b", 0.055, 100.0),
        sample("c", 0.045, 140.0),
    ];
    let limits = [
        Specified {
            characteristic: Characteristic::Difference,
            limits: Limits {
                least: None,
                most: Some(1.0),
            },
        },
        Specified {
            characteristic: Characteristic::Extinction,
            limits: Limits {
                least: None,
                most: Some(120.0),
            },
        },
    ];
    let study = studied(&samples, None, &limits);
    let lightness = |share: f64| 116.0 * share.cbrt() - 16.0;
    let from_middle = (0.5 * (lightness(0.045) + lightness(0.055)) - 50.0).powi(2);
    let s_l = 1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt();
    let expected = (lightness(0.055) - lightness(0.045)) / s_l;
    assert!(study.batches[0].difference.unwrap() < 1e-9);
    assert!((study.batches[1].difference.unwrap() - expected).abs() < 1e-9);
    let outside: Vec<&str> = study
        .outside()
        .iter()
        .map(|it| it.sample.name.as_str())
        .collect();
    assert_eq!(outside, ["b", "c"]);
    assert!(study.unsound().is_empty() && study.natural_weld.is_none());
    let charted: Vec<&str> = study
        .charts
        .iter()
        .map(|it| it.characteristic.key())
        .collect();
    assert_eq!(charted, ["L", "dE00", "T", "extinction"]);
}

#[test]
fn a_black_that_hides_carbon_black_heats_itself_and_the_verdict_says_so() {
    let joint = joint();
    let extinctions = [20.0, 150.0, 700.0, 2500.0];
    let samples: Vec<Sample> = extinctions
        .iter()
        .map(|it| sample(&it.to_string(), 0.045, *it))
        .collect();
    let study = studied(&samples, Some(&joint), &[]);
    let welds: Vec<_> = study
        .batches
        .iter()
        .map(|it| it.weld.as_ref().unwrap())
        .collect();
    for (weld, mu_per_m) in welds.iter().zip(extinctions) {
        // Absorbed on the way down, less the face that sends a little back; the body is black.
        let face = ((N - 1.0) / (N + 1.0)).powi(2);
        let once = (1.0 - face) * -(-mu_per_m * 1.7e-3f64).exp_m1();
        let found = weld.absorbed_upper_w() / joint.beam.power_w;
        assert!((found - once).abs() < 0.02, "{mu_per_m}: {found} {once}");
        assert!(weld.outcome.light.energy_residual().abs() < 1e-9);
    }
    // Plausibility: more absorption is a hotter surface, less margin, less light at the interface.
    let margins: Vec<f64> = welds
        .iter()
        .map(|it| it.surface().unwrap().margin)
        .collect();
    assert!(margins.windows(2).all(|it| it[1] < it[0]), "{margins:?}");
    assert_ne!(welds[3].outcome.verdict, Verdict::Sound);
    let retained: Vec<f64> = study
        .batches
        .iter()
        .map(|it| it.retained.unwrap())
        .collect();
    assert!(retained.windows(2).all(|it| it[1] < it[0]) && retained[3] < 0.05);
    // The joint's own upper part is the natural grade.
    let natural = study.natural_weld.as_ref().unwrap();
    assert!(Arc::ptr_eq(
        &natural.joint.upper.optical,
        &joint.upper.optical
    ));
    // A batch welds alike whether it comes alone or among others.
    let alone = studied(&samples[1..2], Some(&joint), &[]);
    let again = alone.batches[0].weld.as_ref().unwrap();
    assert_eq!(again.outcome.verdict, welds[1].outcome.verdict);
    assert!((again.absorbed_upper_w() - welds[1].absorbed_upper_w()).abs() < 1e-12);
}

#[test]
fn a_batch_that_welds_at_no_power_breaks_any_limit_of_latitude() {
    let joint = joint();
    let samples = [sample("clear", 0.045, 20.0), sample("shut", 0.045, 9000.0)];
    let latitude = |least, most| Specified {
        characteristic: Characteristic::Latitude,
        limits: Limits { least, most },
    };
    for limits in [[latitude(Some(1.01), None)], [latitude(None, Some(900.0))]] {
        let study = studied(&samples, Some(&joint), &limits);
        let shut = &study.batches[1];
        let ratio = shut.weld.as_ref().unwrap().limits.latitude();
        assert!(ratio.is_none_or(|it| it < 1.0), "{ratio:?}");
        assert_eq!(
            shut.broken(&limits, Observer::TenDegrees),
            [Characteristic::Latitude]
        );
        assert!(study.unjudged().is_empty());
        assert_eq!(study.outside().len(), 1);
    }
}

#[test]
fn colours_measured_in_different_ways_are_not_compared() {
    let mut other = sample("other", 0.05, 100.0);
    other.curves = vec![(Seen::OverWhite, other.curves[0].1.clone())];
    other.plaques.clear();
    let samples = [sample("first", 0.05, 100.0), other];
    let asked = BatchQuestion {
        observer: Observer::TwoDegrees,
        laser: laser(None),
        laser_asked: false,
        standard: None,
        natural: None,
        joint: None,
        specification: &[],
    };
    let error = colour_batches(&samples, &asked, &Settings::standard(), &Silent).unwrap_err();
    assert_eq!(
        error.to_string(),
        "other.csv shows reflectance over white, first.csv reflectance over black, transmittance\n  \
         in:   other.csv, line 1\n  cure: measure all plaques, and the standard, in the same way"
    );
}
