//! Exact limits of the light methods, convergence, and what is refused.

use lightseam::optics::adding_doubling::{Incidence, Resolution, follow};
use lightseam::optics::slab::{Slab, Stack};
use lightseam::optics::{Method, absorb, beer_lambert};

use super::published::{slab, stack, standard};

fn clear_stacks() -> Vec<Stack> {
    vec![
        stack(vec![
            slab(1.5, 2.0, [0.01, 0.0, 0.0]),
            slab(1.5, 2.0, [10.0, 0.0, 0.0]),
        ]),
        stack(vec![
            Slab::clear(1.52, 1e-2),
            slab(1.49, 1.5, [0.3, 0.0, 0.0]),
            Slab::air(5e-5),
            slab(1.57, 0.4, [1.7, 0.0, 0.0]),
        ]),
        stack(vec![slab(1.33, 0.7, [0.0, 0.0, 0.0])]),
    ]
}

#[test]
fn no_scattering_is_beer_lambert() {
    for clear in clear_stacks() {
        let exact = beer_lambert::absorb(&clear);
        // Truly clear, and so little scattering that nothing may come of it.
        let mut hazy = clear.clone();
        for slab in &mut hazy.slabs {
            slab.constants.mu_s_per_m = 1e-8;
            slab.constants.g = 0.4;
        }
        for stack in [&clear, &hazy] {
            let got = standard(stack, Incidence::Normal).absorbed;
            assert!((got.reflected - exact.reflected).abs() < 1e-9);
            assert!((got.transmitted - exact.transmitted).abs() < 1e-9);
            for (layer, expected) in got.layers.iter().zip(&exact.layers) {
                assert!((layer.total() - expected.total()).abs() < 1e-9);
            }
        }
        // Depths of the table are within its own error.
        let got = standard(&clear, Incidence::Normal).absorbed;
        for (i, slab) in clear.slabs.iter().enumerate() {
            for share in [0.001, 0.03, 0.37, 0.5, 0.98] {
                let depth = share * slab.thickness_m;
                let difference =
                    got.layers[i].cumulative(depth) - exact.layers[i].cumulative(depth);
                assert!(difference.abs() < 1e-6, "{difference:e} at {share}");
            }
        }
        assert_eq!(absorb(&clear, Method::AddingDoubling).unwrap(), exact);
    }
}

#[test]
fn scattering_straight_on_is_no_scattering() {
    // g = 1 scatters straight on: no scattering at all, but for the split into unscattered light.
    let forward = stack(vec![slab(1.5, 2.0, [0.1, 30.0, 1.0])]);
    let clear = stack(vec![slab(1.5, 2.0, [0.1, 0.0, 0.0])]);
    let got = standard(&forward, Incidence::Normal).absorbed;
    let expected = standard(&clear, Incidence::Normal).absorbed;
    assert!((got.transmitted - expected.transmitted).abs() < 1e-12);
}

#[test]
fn a_matched_film_is_no_film() {
    let lid = slab(1.5, 1.0, [0.05, 5.0, 0.8]);
    let body = slab(1.5, 1.0, [9.0, 0.0, 0.0]);
    let bare = standard(&stack(vec![lid, body]), Incidence::Normal).absorbed;
    let film = Slab::clear(1.5, 1e-4);
    let filmed = standard(&stack(vec![lid, film, body]), Incidence::Normal).absorbed;
    assert!((bare.reflected - filmed.reflected).abs() < 1e-12);
    assert!((bare.layers[1].total() - filmed.layers[2].total()).abs() < 1e-12);
}

#[test]
fn a_deep_slab_is_a_half_space() {
    let mu = [0.5, 8.0, 0.6];
    let deep = standard(&stack(vec![slab(1.5, 30.0, mu)]), Incidence::Normal).absorbed;
    let deeper = standard(&stack(vec![slab(1.5, 90.0, mu)]), Incidence::Normal).absorbed;
    assert!((deep.reflected - deeper.reflected).abs() < 1e-10);
    assert!(deep.transmitted < 1e-10);
}

/// Largest differences of R and T between the standard resolution and a fine one.
fn truncation_error(g: f64) -> f64 {
    let fine = Resolution {
        escaping: 26,
        trapped: 22,
        moments: 76,
    };
    let mut worst = 0.0_f64;
    for depth in [0.5, 2.0, 10.0, 40.0, 200.0] {
        for albedo in [0.5, 0.9, 0.99, 1.0] {
            let extinction = depth / 1.9;
            let mu = [(1.0 - albedo) * extinction, albedo * extinction, g];
            let one = stack(vec![slab(1.5, 1.9, mu)]);
            let coarse = standard(&one, Incidence::Normal).absorbed;
            let exact = follow(&one, Incidence::Normal, fine).unwrap().absorbed;
            worst = worst.max((coarse.reflected - exact.reflected).abs());
            worst = worst.max((coarse.transmitted - exact.transmitted).abs());
        }
    }
    worst
}

#[test]
fn error_of_the_standard_resolution() {
    // The figures that the documentation states.
    for (g, allowed) in [
        (0.0, 1e-6),
        (0.5, 1e-6),
        (0.75, 1e-5),
        (0.9, 3e-4),
        (0.95, 1e-3),
    ] {
        let error = truncation_error(g);
        assert!(error < allowed, "g = {g}: {error:.1e}");
    }
}

#[test]
fn error_falls_with_resolution() {
    let one = stack(vec![slab(1.5, 1.9, [0.1, 2.0, 0.6])]);
    let at = |escaping, trapped, moments| {
        let resolution = Resolution {
            escaping,
            trapped,
            moments,
        };
        let got = follow(&one, Incidence::Normal, resolution).unwrap();
        got.absorbed.reflected
    };
    let exact = at(24, 22, 70);
    let errors = [at(4, 3, 8), at(6, 5, 14), at(10, 8, 28)].map(|it| (it - exact).abs());
    assert!(
        errors[1] < errors[0] / 5.0 && errors[2] < errors[1] / 5.0,
        "{errors:?}"
    );
}

#[test]
fn default_method() {
    assert_eq!(Method::default_for(&clear_stacks()[0]), Method::BeerLambert);
    let hazy = stack(vec![slab(1.5, 1.0, [0.1, 1e-6, 0.0])]);
    assert_eq!(Method::default_for(&hazy), Method::AddingDoubling);
}

#[test]
fn values_out_of_range_are_refused_by_name() {
    let good = slab(1.5, 1.0, [0.1, 5.0, 0.8]);
    let spoilt = |spoil: &dyn Fn(&mut Slab)| {
        let mut slab = good;
        spoil(&mut slab);
        let outcome = absorb(&stack(vec![good, slab]), Method::AddingDoubling);
        outcome.unwrap_err().to_string()
    };
    let message = spoilt(&|it| it.constants.n = 0.9);
    assert_eq!(
        message,
        "adding-doubling cannot be used here: refractive index 0.9 of layer 2 is outside 1 to 10"
    );
    assert!(spoilt(&|it| it.constants.g = -1.0).contains("anisotropy g = -1 of layer 2"));
    assert!(spoilt(&|it| it.thickness_m = 0.0).contains("thickness 0 m of layer 2"));
    assert!(spoilt(&|it| it.constants.mu_a_per_m = -1.0).contains("coefficient of layer 2"));
    assert!(spoilt(&|it| it.constants.mu_s_per_m = f64::NAN).contains("coefficient of layer 2"));
    assert!(spoilt(&|it| it.constants.mu_s_per_m = 1e12).contains("optical thickness 1.0e9"));
    let flat = Incidence::Oblique { angle_rad: 1.5 };
    let outcome = follow(&stack(vec![good]), flat, Resolution::standard());
    assert!(outcome.unwrap_err().to_string().contains("angle of 85.9°"));
}
#[test]
fn unlike_and_almost_like_indices_are_resolved() {
    // Layers of the same polymer differ by a few 1e-3 in index: the grid must not stumble there.
    let fine = Resolution {
        escaping: 34,
        trapped: 34,
        moments: 40,
    };
    let pairs = [
        (1.0, 1.0001),
        (1.0, 1.01),
        (1.5, 1.500_01),
        (1.5, 1.501),
        (1.5, 1.505),
        (1.505, 1.5),
        (1.5, 1.53),
        (1.53, 1.6),
        (1.6, 1.53),
    ];
    for (g, allowed) in [(0.0, 1e-4), (0.7, 1e-4), (0.9, 4e-4)] {
        for (n_upper, n_lower) in pairs {
            let layers = stack(vec![
                slab(n_upper, 1.0, [0.05, 2.0 / (1.0 - g), g]),
                slab(n_lower, 1.0, [2.0, 2.0 / (1.0 - g), g]),
            ]);
            let coarse = standard(&layers, Incidence::Normal).absorbed;
            let exact = follow(&layers, Incidence::Normal, fine).unwrap().absorbed;
            let worst = (coarse.reflected - exact.reflected)
                .abs()
                .max((coarse.absorbed_lower() - exact.absorbed_lower()).abs());
            assert!(
                worst < allowed,
                "g {g}, {n_upper} on {n_lower}: {worst:.1e}"
            );
        }
    }
}
