//! Reduction of plaques: what comes of each kind of data, gaps, disagreement, and light in a part.

use lightseam::error::{OpticsProblem, Problem};
use lightseam::material::optical::Reading as Meaning;
use lightseam::material::plaque::Geometry;
use lightseam::material::{Plaque, Sourced, Spectrum, Status};
use lightseam::optics::adding_doubling::Resolution;
use lightseam::optics::invert::{
    Estimate, Inverse, Pair, Reading, Setup, Sphere, Uncertainty, Why, invert, predict,
};
use lightseam::optics::plaque::slab_transmittance;
use lightseam::optics::reduction::part_light::Part;
use lightseam::optics::reduction::{
    ANOTHER_MATERIAL, Assumptions, Data, Reduced, Reduction, SMALL, part_light, reduce,
};

const N: f64 = 1.53;
const G: f64 = 0.85;

fn setup(sigma: f64) -> Setup {
    Setup {
        g: G,
        uncertainty: Uncertainty {
            transmittance: sigma,
            reflectance: sigma,
            collimated: sigma,
        },
        sphere: Sphere::ideal(),
    }
}

fn index() -> Sourced<Spectrum> {
    Sourced::new(Spectrum::constant(N), "test", Status::Stated)
}

fn assumed() -> Assumptions {
    Assumptions {
        g: Sourced::new(G, "test", Status::Stated),
        ..Assumptions::default()
    }
}

fn grid() -> Vec<f64> {
    (0..41).map(|i| 900e-9 + 10e-9 * f64::from(i)).collect()
}

/// Coefficients of an invented grade against wavelength.
fn truth(wavelength_m: f64) -> Pair {
    let x = wavelength_m / 1e-6;
    Pair {
        mu_a_per_m: 60.0 + 90.0 * (-((x - 1.15) / 0.05).powi(2)).exp(),
        mu_s_reduced_per_m: 700.0 * x.powf(-1.3),
    }
}

fn values(pair: Pair, thickness_m: f64) -> [f64; 3] {
    let blank = Reading {
        thickness_m,
        n: N,
        total_transmittance: Some(0.0),
        total_reflectance: Some(0.0),
        collimated_transmittance: Some(0.0),
    };
    let got = predict(&blank, pair, &setup(0.003), Resolution::standard()).unwrap();
    [
        got.total_transmittance.unwrap(),
        got.total_reflectance.unwrap(),
        got.collimated_transmittance.unwrap(),
    ]
}

fn spectrum(of: impl Fn(f64) -> f64) -> Spectrum {
    let grid = grid();
    let values = grid.iter().map(|it| of(*it)).collect();
    Spectrum::table("share", grid, values).unwrap()
}

/// A plaque of the invented grade, with or without reflectance.
fn plaque(thickness_mm: f64, reflectance: bool) -> Plaque {
    let of = |i: usize| spectrum(|it| values(truth(it), thickness_mm * 1e-3)[i]);
    Plaque {
        name: format!("T {thickness_mm} mm"),
        thickness_m: thickness_mm * 1e-3,
        geometry: Geometry::Total,
        transmittance: of(0),
        reflectance: reflectance.then(|| of(1)),
    }
}

fn collimated(thickness_mm: f64) -> Plaque {
    Plaque {
        name: "direct".into(),
        thickness_m: thickness_mm * 1e-3,
        geometry: Geometry::Collimated,
        transmittance: spectrum(|it| values(truth(it), thickness_mm * 1e-3)[2]),
        reflectance: None,
    }
}

fn reduced(plaques: &[Plaque], assumed: &Assumptions) -> Reduction {
    reduce(plaques, index(), "test", assumed).unwrap()
}

/// Largest relative miss of absorption and scattering.
fn miss(reduction: &Reduction) -> (f64, f64) {
    let mut worst = (0.0f64, 0.0f64);
    for wavelength_m in grid() {
        let got = reduction.optical.at("test", wavelength_m).unwrap();
        let truth = truth(wavelength_m);
        assert_eq!(got.g, G);
        let scattering = got.mu_s_per_m * (1.0 - G) / truth.mu_s_reduced_per_m;
        worst.0 = worst.0.max((got.mu_a_per_m / truth.mu_a_per_m - 1.0).abs());
        worst.1 = worst.1.max((scattering - 1.0).abs());
    }
    worst
}

#[test]
fn every_kind_of_data_gives_back_the_coefficients() {
    let scatters = Assumptions {
        scatters: true,
        ..assumed()
    };
    let cases = [
        (
            vec![plaque(1.5, true)],
            assumed(),
            Data::TotalAndReflectance,
        ),
        (
            vec![plaque(1.0, true), plaque(3.0, true)],
            assumed(),
            Data::TotalAndReflectance,
        ),
        (
            vec![plaque(0.6, false), collimated(0.6)],
            assumed(),
            Data::TotalAndCollimated,
        ),
        (
            vec![plaque(0.8, false), plaque(2.0, false), plaque(4.0, false)],
            scatters,
            Data::Thicknesses,
        ),
    ];
    for (plaques, assumed, data) in cases {
        let reduction = reduced(&plaques, &assumed);
        let Reduced::Coefficients(inversion) = &reduction.reduced else {
            panic!("{data:?}: {:?}", reduction.remarks);
        };
        assert_eq!(inversion.data, data);
        assert_eq!(reduction.optical.reading, Meaning::Coefficients);
        let (absorption, scattering) = miss(&reduction);
        assert!(absorption < 2e-3, "{data:?} {absorption}");
        assert!(scattering < 2e-3, "{data:?} {scattering}");
        let source = &reduction.optical.absorption.as_ref().unwrap().source;
        assert!(
            source.contains(data.words()) && source.contains("0.85"),
            "{source}"
        );
    }
}

#[test]
fn collimated_beside_total_t_and_r_tells_the_anisotropy() {
    let plaques = [plaque(0.6, true), collimated(0.6)];
    let believed = Assumptions {
        g: Sourced::new(0.9, "test", Status::CommonPractice),
        ..assumed()
    };
    let reduction = reduced(&plaques, &believed);
    let told = reduction.remarks.iter().find(|it| it.contains("tells g"));
    // The data were made with 0.85; reduced scattering hardly knows which g was assumed.
    assert!(
        told.is_some_and(|it| it.contains("g = 0.85") && it.contains("--g")),
        "{:?}",
        reduction.remarks
    );
    let scattering = reduction.optical.at("test", 1e-6).unwrap();
    let reduced_per_m = scattering.mu_s_per_m * (1.0 - scattering.g);
    let truth = truth(1e-6).mu_s_reduced_per_m;
    assert!(
        (reduced_per_m / truth - 1.0).abs() < 0.05,
        "{reduced_per_m} {truth}"
    );
}

#[test]
fn thicknesses_of_a_scattering_grade_show_it_without_a_card() {
    // No exponential describes 0.5 and 4 mm of this grade: 3 standard deviations are passed.
    let plaques = [plaque(0.5, false), plaque(1.5, false), plaque(4.0, false)];
    let reduction = reduced(&plaques, &assumed());
    assert!(matches!(reduction.reduced, Reduced::Coefficients(_)));
    let asked_not_to = Assumptions {
        invert: false,
        ..assumed()
    };
    let reduction = reduced(&plaques, &asked_not_to);
    assert!(matches!(reduction.reduced, Reduced::Extinction(_)));
    assert_eq!(reduction.optical.reading, Meaning::EffectiveExtinction);
}

#[test]
fn one_transmittance_gives_an_effective_extinction() {
    let reduction = reduced(&[plaque(1.5, false)], &assumed());
    assert_eq!(reduction.optical.reading, Meaning::EffectiveExtinction);
    assert!(!reduction.optical.scatters());
}

#[test]
fn clear_plaques_with_reflectance_are_treated_as_clear() {
    let mu_per_m = 25.0;
    let d = 3e-3;
    let t = slab_transmittance(N, mu_per_m, d);
    let [_, r, _] = values(
        Pair {
            mu_a_per_m: mu_per_m,
            mu_s_reduced_per_m: 0.0,
        },
        d,
    );
    let clear = Plaque {
        name: "clear".into(),
        thickness_m: d,
        geometry: Geometry::Total,
        transmittance: spectrum(|_| t),
        reflectance: Some(spectrum(|_| r)),
    };
    let reduction = reduced(&[clear], &assumed());
    assert_eq!(reduction.optical.reading, Meaning::Coefficients);
    assert!(!reduction.optical.scatters());
    let got = reduction.optical.at("clear", 1e-6).unwrap().mu_a_per_m;
    assert!((got / mu_per_m - 1.0).abs() < 1e-9, "{got}");
    assert!(
        reduction
            .remarks
            .iter()
            .any(|it| it.contains("treated as clear")),
        "{:?}",
        reduction.remarks
    );
}

#[test]
fn what_the_data_cannot_tell_is_a_gap_that_nothing_bridges() {
    // Too little reflectance for any coefficients, from 1050 to 1090 nm.
    let mut odd = plaque(1.5, true);
    let whole = odd.reflectance.clone().unwrap();
    odd.reflectance = Some(spectrum(|it| {
        let fault = (1045e-9..1095e-9).contains(&it);
        if fault {
            0.01
        } else {
            whole.at("R", it).unwrap()
        }
    }));
    let reduction = reduced(&[odd], &assumed());
    let at = |nm: f64| reduction.optical.at("odd", nm * 1e-9);
    assert!(at(1040.0).is_ok() && at(1100.0).is_ok());
    let error = at(1070.0).unwrap_err();
    assert!(
        error.to_string().contains("between 1040 nm and 1100 nm"),
        "{error}"
    );
    assert!(error.cure_text().is_some());
    let told = reduction.remarks.iter().find(|it| it.contains("left out"));
    assert!(
        told.is_some_and(|it| it.contains("5 of 41") && it.contains("1050 to 1090 nm")),
        "{:?}",
        reduction.remarks
    );

    // Two wavelengths that are missing are bridged; a hole in the table is not.
    let mut holed = plaque(1.5, true);
    let kept = |it: &f64| !(1005e-9..1045e-9).contains(it);
    let grid: Vec<f64> = grid().into_iter().filter(kept).collect();
    let values = grid
        .iter()
        .map(|it| holed.transmittance.at("T", *it).unwrap())
        .collect();
    holed.transmittance = Spectrum::table("T", grid, values).unwrap();
    let reduction = reduced(&[holed], &assumed());
    assert!(reduction.optical.at("holed", 1020e-9).is_err());
    assert!(reduction.optical.at("holed", 1050e-9).is_ok());
}

#[test]
fn plaques_that_disagree_count_with_their_misfit_or_are_refused() {
    // A thickness 4 % off.
    let mut off = plaque(3.0, true);
    off.thickness_m *= 1.04;
    let reduction = reduced(&[plaque(1.0, true), off], &assumed());
    if let Reduced::Coefficients(it) = &reduction.reduced {
        assert!(0.003 <= it.setup.uncertainty.transmittance);
        assert!(it.setup.uncertainty.transmittance < ANOTHER_MATERIAL);
    } else {
        panic!("{:?}", reduction.remarks);
    }
    // Another grade.
    let mut other = plaque(1.0, true);
    other.transmittance = spectrum(|_| 0.85);
    other.reflectance = Some(spectrum(|_| 0.08));
    let plaques = [plaque(1.0, true), plaque(3.0, true), other];
    let error = reduce(&plaques, index(), "test", &assumed()).unwrap_err();
    assert!(
        matches!(
            error.problem(),
            Problem::Optics(OpticsProblem::NotOneMaterial { misfit_percent }) if 5.0 < *misfit_percent
        ),
        "{error}"
    );
    assert!(error.cure_text().is_some());
}

/// Standard normal numbers from a counter (splitmix64, Box and Muller).
fn normal(counter: u64) -> f64 {
    let uniform = |mut z: u64| {
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    };
    let step = 0x9e37_79b9_7f4a_7c15_u64;
    let first = uniform(step.wrapping_mul(2 * counter + 1));
    let second = uniform(step.wrapping_mul(2 * counter + 2));
    (-2.0 * (1.0 - first).ln()).sqrt() * (2.0 * std::f64::consts::PI * second).cos()
}

#[test]
fn errors_of_the_part_are_those_of_repeated_measurements() {
    let (sigma, pair) = (
        0.003,
        Pair {
            mu_a_per_m: 110.0,
            mu_s_reduced_per_m: 620.0,
        },
    );
    let part = Part {
        thickness_m: 2.2e-3,
        n: N,
        g: G,
        delivered: true,
    };
    let [t, r, _] = values(pair, 1.4e-3);
    let (mut sums, mut squares, mut told) = ([0.0; 3], [0.0; 3], [0.0; 3]);
    let runs = 200;
    for run in 0..runs {
        let reading = Reading {
            thickness_m: 1.4e-3,
            n: N,
            total_transmittance: Some(t + sigma * normal(2 * run)),
            total_reflectance: Some(r + sigma * normal(2 * run + 1)),
            collimated_transmittance: None,
        };
        let inverse = invert(&[reading], &setup(sigma)).unwrap();
        let light = part_light(&part, inverse.found().unwrap()).unwrap();
        let all = [light.transmitted, light.reflected, light.delivered.unwrap()];
        for (i, it) in all.iter().enumerate() {
            sums[i] += it.value;
            squares[i] += it.value * it.value;
            told[i] += it.standard_error;
        }
    }
    for i in 0..3 {
        let mean = sums[i] / runs as f64;
        let spread = (squares[i] / runs as f64 - mean * mean).sqrt();
        let ratio = told[i] / runs as f64 / spread;
        // 200 runs tell a standard deviation to 5 %: four of these.
        assert!((0.8..1.2).contains(&ratio), "{i}: {ratio}");
    }
}

#[test]
fn contact_delivers_what_the_back_face_would_send_back() {
    // A clear part: only the back face differs, (1 - r) t against (1 - r)² t / (1 - r² t²).
    let clear = exactly(Pair {
        mu_a_per_m: 40.0,
        mu_s_reduced_per_m: 0.0,
    });
    let part = Part {
        thickness_m: 2e-3,
        n: N,
        g: G,
        delivered: true,
    };
    let light = part_light(&part, &clear).unwrap();
    let r = ((N - 1.0) / (N + 1.0)).powi(2);
    let t = (-40.0 * 2e-3f64).exp();
    assert!((light.delivered.unwrap().value - (1.0 - r) * t).abs() < 1e-9);
    assert!((light.transmitted.value - slab_transmittance(N, 40.0, 2e-3)).abs() < 1e-9);
    // A scattering part: much more.
    let milky = exactly(Pair {
        mu_a_per_m: 40.0,
        mu_s_reduced_per_m: 1000.0,
    });
    let light = part_light(&part, &milky).unwrap();
    let ratio = light.delivered.unwrap().value / light.transmitted.value;
    assert!(1.25 < ratio, "{ratio}");
}

/// An estimate without errors.
fn exactly(pair: Pair) -> Estimate {
    Estimate {
        pair,
        standard_error: Pair {
            mu_a_per_m: 0.0,
            mu_s_reduced_per_m: 0.0,
        },
        correlation: 0.0,
        misfit: 0.0,
        evaluations: 0,
    }
}

#[test]
fn what_is_kept_in_noise_changes_the_light_little() {
    // One plaque of T and R; absorption rises until scattering is lost in noise.
    let thickness_m = 2e-3;
    let part = Part {
        thickness_m,
        n: N,
        g: G,
        delivered: true,
    };
    let (mut nearest, mut largest) = (0.0f64, 0.0f64);
    for i in 0..60 {
        let pair = Pair {
            mu_a_per_m: 200.0 * 1.04f64.powi(i),
            mu_s_reduced_per_m: 60.0,
        };
        let [t, r, _] = values(pair, thickness_m);
        let reading = Reading {
            thickness_m,
            n: N,
            total_transmittance: Some(t),
            total_reflectance: Some(r),
            collimated_transmittance: None,
        };
        let Inverse::Undetermined {
            why: Why::ScatteringInNoise { .. },
            best: Some(best),
        } = invert(&[reading], &setup(0.003)).unwrap()
        else {
            continue;
        };
        let reach = best.standard_error.mu_s_reduced_per_m * thickness_m;
        if reach < SMALL {
            let delivered = part_light(&part, &best).unwrap().delivered.unwrap();
            largest = largest.max(delivered.standard_error / delivered.value);
            nearest = nearest.max(reach);
        }
    }
    assert!(0.9 * SMALL < nearest, "{nearest}");
    assert!(largest < 0.08, "{largest}");
}
