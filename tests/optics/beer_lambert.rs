//! Clear layers against another library's incoherent slabs and closed forms.

use lightseam::material::optical::{OpticalConstants, absorption_per_m};
use lightseam::optics::beer_lambert;
use lightseam::numerics::interpolate::MonotoneCubic;
use lightseam::optics::DepthProfile;
use lightseam::optics::fresnel::{Boundary, cos_refracted, polarised_reflectance, reflectance};
use lightseam::optics::slab::{Slab, Stack};

use super::published::{number, rows, slab, stack};

#[test]
fn slabs_in_air_by_another_library() {
    let (mut straight, mut slanted) = (0, 0);
    // The last rows of the table are coherent gaps thinner than the wavelength: not this model.
    let slabs = rows("light-fresnel-slab.csv").into_iter();
    for row in slabs.filter(|row| row("case").ends_with("slab in air")) {
        let get = |head: &str| number(row(head));
        let (n, wavelength_m) = (get("n"), get("wavelength_nm") * 1e-9);
        let mu_a_per_m = absorption_per_m(get("k"), wavelength_m);
        let thickness_m = get("d_mm") * 1e-3;
        if get("angle_deg") == 0.0 {
            straight += 1;
            let constants = OpticalConstants {
                n,
                mu_a_per_m,
                mu_s_per_m: 0.0,
                g: 0.0,
            };
            let one = Slab {
                thickness_m,
                constants,
            };
            let got = beer_lambert::absorb(&stack(vec![one]));
            // The table has seven figures and four of k.
            assert!((got.reflected - get("R")).abs() < 2e-6, "{}", row("case"));
            assert!((got.transmitted - get("T")).abs() < 5e-5, "{}", row("case"));
        } else {
            slanted += 1;
            let cosine = get("angle_deg").to_radians().cos();
            let boundary = Boundary {
                n_from: 1.0,
                n_into: n,
            };
            let both = polarised_reflectance(boundary, cosine);
            let r = if row("pol") == "s" { both.s } else { both.p };
            let inside = cos_refracted(boundary, cosine).unwrap();
            let t = (-mu_a_per_m * thickness_m / inside).exp();
            let transmitted = (1.0 - r).powi(2) * t / (1.0 - r * r * t * t);
            assert!((transmitted - get("T")).abs() < 5e-5, "{}", row("case"));
            let reflected = r + r * t * transmitted;
            assert!((reflected - get("R")).abs() < 2e-6, "{}", row("case"));
        }
    }
    assert!(10 < straight && 10 < slanted);
}

#[test]
fn faces_of_plastics() {
    // 4 % a face at n = 1.5; a clear PMMA plaque passes 92 to 93 % (handbooks).
    let face = Boundary {
        n_from: 1.0,
        n_into: 1.5,
    };
    assert!((reflectance(face, 1.0) - 0.04).abs() < 1e-15);
    let pmma = beer_lambert::absorb(&stack(vec![slab(1.49, 3.0, [0.001, 0.0, 0.0])]));
    assert!(0.92 < pmma.transmitted && pmma.transmitted < 0.93);
    // Brewster's angle: no p-polarised light is reflected; total reflection beyond the critical one.
    let brewster = 1.5_f64.atan();
    assert!(polarised_reflectance(face, brewster.cos()).p < 1e-30);
    let out = Boundary {
        n_from: 1.5,
        n_into: 1.0,
    };
    let critical = (1.0_f64 / 1.5).asin();
    assert_eq!(reflectance(out, (critical + 1e-6).cos()), 1.0);
    assert!(reflectance(out, (critical - 1e-3).cos()) < 0.9);
    // The same from both sides at refracted angles.
    let inside = cos_refracted(face, 0.6).unwrap();
    assert!((reflectance(face, 0.6) - reflectance(out, inside)).abs() < 1e-15);
}

#[test]
fn two_parts_in_contact_by_hand() {
    // Data file 5.4, stack B: R 0.04, upper 0.01901, lower 0.94099; and the sums written out.
    let joint = stack(vec![
        slab(1.5, 2.0, [0.01, 0.0, 0.0]),
        slab(1.5, 2.0, [10.0, 0.0, 0.0]),
    ]);
    let got = beer_lambert::absorb(&joint);
    let entering = 0.96;
    let upper = (-0.02_f64).exp();
    assert!((got.absorbed_upper() - entering * (1.0 - upper)).abs() < 1e-9);
    assert!((got.absorbed_lower() - entering * upper).abs() < 1e-8);
    let half = got.layers[1].cumulative(1e-4);
    assert!((half - entering * upper * (1.0 - (-1.0_f64).exp())).abs() < 1e-9);
    assert!(got.energy_residual().abs() < 1e-14);
}

#[test]
fn a_gap_costs_two_faces() {
    let (lid, body) = (
        slab(1.5, 1.0, [0.02, 0.0, 0.0]),
        slab(1.5, 3.0, [30.0, 0.0, 0.0]),
    );
    let contact = beer_lambert::absorb(&Stack::contact(lid, body));
    let gap = Stack {
        slabs: vec![lid, Slab::air(2e-5), body],
        upper: 0,
        lower: 2,
    };
    let gap = beer_lambert::absorb(&gap);
    // Film of air: r' = 2 r / (1 + r) in place of nothing, and the returning light once more.
    let r = 0.04_f64;
    let film = 2.0 * r / (1.0 + r);
    let t = (-0.02_f64).exp();
    let expected = (1.0 - r) * t * (1.0 - film) / (1.0 - r * film * t * t);
    assert!((gap.delivered_to_interface() - expected).abs() < 1e-12);
    assert!(gap.delivered_to_interface() < 0.94 * contact.delivered_to_interface());
}

/// By its definition, Σ z dA over thin slices, where light comes from both sides, dies at once, hardly
/// dies, or stands in a table.
#[test]
fn mean_depth_of_absorption() {
    let thickness_m = 3e-3;
    let exponential = |mu_per_m: f64, up: f64| DepthProfile::Exponential {
        down: 0.6,
        up,
        mu_per_m,
        thickness_m,
    };
    let depths: Vec<f64> = (0..40).map(|i| thickness_m * f64::from(i) / 39.0).collect();
    let from_both = exponential(700.0, 0.2);
    let entries = depths.iter().map(|&z| from_both.cumulative(z)).collect();
    let tabulated = DepthProfile::Tabulated(MonotoneCubic::new(depths, entries).unwrap());
    for profile in [
        exponential(700.0, 0.0),
        exponential(2e4, 0.0),
        exponential(0.02, 0.0),
        exponential(1e-9, 0.0),
        from_both,
        tabulated,
    ] {
        let slices = 20_000;
        let edge = |i: i32| thickness_m * f64::from(i) / f64::from(slices);
        let moment: f64 = (0..slices)
            .map(|i| {
                let (from, to) = (edge(i), edge(i + 1));
                0.5 * (from + to) * (profile.cumulative(to) - profile.cumulative(from))
            })
            .sum();
        let mean = moment / profile.total();
        let found = profile.mean_depth_m();
        assert!((found - mean).abs() < 2e-6 * thickness_m, "{profile:?}: {found} {mean}");
    }
    let nothing = DepthProfile::Exponential {
        down: 0.0,
        up: 0.0,
        mu_per_m: 0.0,
        thickness_m,
    };
    assert_eq!(nothing.mean_depth_m(), 0.0);
}
