//! Adding-doubling against itself taken differently: cut layers, turned stacks, other incidence, and
//! the exponential of the whole system in place of doubling.

use lightseam::numerics::quadrature::gauss_legendre;
use lightseam::numerics::small_matrix::Matrix;
use lightseam::optics::adding_doubling::doubling::Doubled;
use lightseam::optics::adding_doubling::redistribution::redistribution;
use lightseam::optics::adding_doubling::{Incidence, Resolution, follow};
use lightseam::optics::fresnel::{Boundary, reflectance};
use lightseam::optics::slab::{Slab, Stack};
use lightseam::optics::{Absorbed, Method, absorb};

use super::published::{number, rows, slab, stack, standard};

/// Three unlike layers with a gap: steps of index both ways.
fn unlike() -> Vec<Slab> {
    vec![
        slab(1.52, 3.0, [0.01, 0.0, 0.0]),
        slab(1.49, 1.3, [0.07, 7.0, 0.8]),
        Slab::air(2e-5),
        slab(1.6, 0.7, [0.3, 11.0, 0.3]),
    ]
}

#[test]
fn a_layer_cut_in_two_is_the_same_layer() {
    let whole = slab(1.53, 1.7, [0.2, 9.0, 0.85]);
    let lower = slab(1.57, 0.4, [4.0, 2.0, 0.5]);
    let (mut first, mut second) = (whole, whole);
    first.thickness_m *= 0.37;
    second.thickness_m -= first.thickness_m;
    let one = standard(&stack(vec![whole, lower]), Incidence::Normal).absorbed;
    let two = standard(&stack(vec![first, second, lower]), Incidence::Normal).absorbed;
    assert!((one.reflected - two.reflected).abs() < 1e-7);
    assert!((one.transmitted - two.transmitted).abs() < 1e-7);
    let in_two = two.layers[0].total() + two.layers[1].total();
    assert!((one.layers[0].total() - in_two).abs() < 1e-7);
    // The table of the whole layer, at the cut.
    let at_cut = one.layers[0].cumulative(first.thickness_m);
    assert!((at_cut - two.layers[0].total()).abs() < 2e-6);
    assert!((one.layers[1].total() - two.layers[2].total()).abs() < 1e-7);
}

#[test]
fn a_turned_stack_passes_the_same_diffuse_light() {
    // Helmholtz reciprocity: the étendue in front and behind is the same.
    let forward = stack(unlike());
    let backward = stack(unlike().into_iter().rev().collect());
    let there = standard(&forward, Incidence::Diffuse).absorbed;
    let back = standard(&backward, Incidence::Diffuse).absorbed;
    assert!(1e-3 < there.transmitted);
    let relative = back.transmitted / there.transmitted - 1.0;
    assert!(relative.abs() < 1e-11, "{relative:e}");
    assert!(1e-2 < (there.reflected - back.reflected).abs());
}

#[test]
fn diffuse_light_is_the_mean_over_all_angles() {
    // R and T of diffuse light are ∫ 2 µ R(µ) dµ over single beams: the weightless direction of
    // oblique light against the weights of the rule. The stack has no clear first layer, whose
    // reflectance rises too steeply towards grazing incidence for so few beams.
    let layers = stack(vec![
        slab(1.49, 1.3, [0.07, 7.0, 0.8]),
        slab(1.6, 0.7, [0.3, 11.0, 0.3]),
    ]);
    let rule = gauss_legendre(24);
    let steepest = 75.0_f64.to_radians().cos();
    let resolution = Resolution::standard();
    let (mut reflected, mut transmitted, mut weights) = (0.0, 0.0, 0.0);
    for (point, weight) in rule.points.iter().zip(&rule.weights) {
        let cosine = steepest + (1.0 - steepest) * point;
        let angle_rad = cosine.acos();
        let got = follow(&layers, Incidence::Oblique { angle_rad }, resolution).unwrap();
        let weight = 2.0 * cosine * weight * (1.0 - steepest);
        reflected += weight * got.absorbed.reflected;
        transmitted += weight * got.absorbed.transmitted;
        weights += weight;
    }
    // Beams beyond 75° carry cos² 75° = 6.7 % of diffuse light; they lie between the mean and 1.
    let missing = steepest * steepest;
    assert!((weights + missing - 1.0).abs() < 1e-12);
    let diffuse = standard(&layers, Incidence::Diffuse).absorbed;
    let flat_reflectance = (diffuse.reflected - reflected) / missing;
    assert!(
        reflected / weights < flat_reflectance && flat_reflectance < 1.0,
        "{flat_reflectance}"
    );
    let flat_transmittance = (diffuse.transmitted - transmitted) / missing;
    assert!(
        0.0 < flat_transmittance && flat_transmittance < transmitted / weights,
        "{flat_transmittance}"
    );
}

#[test]
fn oblique_light_by_discrete_ordinates() {
    let mut worst = 0.0_f64;
    for row in rows("light-oblique.csv") {
        let get = |head: &str| number(row(head));
        let layers = stack(vec![
            slab(1.0, get("d1"), [get("mu_a1"), get("mu_s1"), get("g1")]),
            slab(1.0, get("d2"), [get("mu_a2"), get("mu_s2"), get("g2")]),
        ]);
        let angle_rad = get("angle_deg").to_radians();
        let got = standard(&layers, Incidence::Oblique { angle_rad });
        let light = got.absorbed;
        for (value, head) in [
            (light.reflected, "R"),
            (light.transmitted, "T"),
            (light.layers[0].total(), "A1"),
            (light.layers[1].total(), "A2"),
        ] {
            worst = worst.max((value - get(head)).abs());
        }
    }
    assert!(worst < 5e-5, "{worst:.1e}");
}

#[test]
fn oblique_light_on_a_clear_slab() {
    // R = r + (1 − r)² r t² / (1 − r² t²) with t = exp(−µa d / cos θ).
    let clear = slab(1.5, 2.0, [0.4, 0.0, 0.0]);
    for angle_deg in [5.0_f64, 30.0, 60.0] {
        let (sine, cosine) = angle_deg.to_radians().sin_cos();
        let inside = (1.0 - (sine / 1.5).powi(2)).sqrt();
        let air_to_plastic = Boundary {
            n_from: 1.0,
            n_into: 1.5,
        };
        let r = reflectance(air_to_plastic, cosine);
        let t = (-0.8 / inside).exp();
        let expected = r + (1.0 - r).powi(2) * r * t * t / (1.0 - r * r * t * t);
        let incidence = Incidence::Oblique {
            angle_rad: angle_deg.to_radians(),
        };
        let got = standard(&stack(vec![clear]), incidence);
        assert!((got.absorbed.reflected - expected).abs() < 1e-12);
        assert!((got.reflected_unscattered - expected).abs() < 1e-12);
        let passed = (1.0 - r).powi(2) * t / (1.0 - r * r * t * t);
        assert!((got.absorbed.transmitted - passed).abs() < 1e-12);
    }
}

#[test]
fn oblique_light_turns_into_normal_light() {
    let layers = stack(unlike());
    let normal = standard(&layers, Incidence::Normal).absorbed;
    let tilted = standard(&layers, Incidence::Oblique { angle_rad: 1e-3 }).absorbed;
    assert!((normal.reflected - tilted.reflected).abs() < 2e-6);
    assert!((normal.absorbed_upper() - tilted.absorbed_upper()).abs() < 2e-6);
    let straight = standard(&layers, Incidence::Oblique { angle_rad: 0.0 }).absorbed;
    assert_eq!(normal, straight);
}

#[test]
fn sharp_forward_peaks_are_followed_finely() {
    // Against twice the directions and moments; the standard resolution is 2e-4 off or more.
    let finest = Resolution {
        escaping: 36,
        trapped: 28,
        moments: 110,
    };
    for mu_s in [1.0, 4.0] {
        let layers = stack(vec![slab(1.5, 1.0, [0.1, mu_s, 0.95])]);
        let best = follow(&layers, Incidence::Normal, finest).unwrap().absorbed;
        let got = absorb(&layers, Method::AddingDoubling).unwrap();
        let far = |it: &Absorbed| {
            (it.reflected - best.reflected)
                .abs()
                .max((it.transmitted - best.transmitted).abs())
        };
        assert!(far(&got) < 3e-5, "{mu_s}: {:.1e}", far(&got));
        let standard = standard(&layers, Incidence::Normal).absorbed;
        assert!(1.5e-4 < far(&standard), "{:.1e}", far(&standard));
    }
    let usual = stack(vec![slab(1.5, 1.0, [0.1, 4.0, 0.9])]);
    assert_eq!(Resolution::for_stack(&usual), Resolution::standard());
}

/// exp of a square matrix by scaling and squaring of a long Taylor sum.
fn exponential(matrix: &Matrix) -> Matrix {
    let squarings = 12;
    let scaled = matrix.blend(0.5_f64.powi(squarings), matrix, 0.0);
    let mut sum = Matrix::identity(matrix.rows());
    let mut term = sum.clone();
    for k in 1..=16 {
        term = term.times(&scaled);
        term = term.blend(1.0 / f64::from(k), &term, 0.0);
        sum = sum.blend(1.0, &term, 1.0);
    }
    for _ in 0..squarings {
        sum = sum.times(&sum);
    }
    sum
}

#[test]
fn doubling_is_the_exponential_of_the_system() {
    // (d, u)' = [[−A, B], [−B, A]] (d, u) across the layer, u = 0 behind: R and T from the blocks.
    let cosines = [0.95, 0.6, 0.25];
    let roots = [0.4, 0.5, 0.3];
    for (mu, thickness_mm) in [([0.3, 2.0, 0.7], 0.9), ([0.0, 3.0, -0.3], 0.5)] {
        let constants = slab(1.4, 1.0, mu).constants;
        let matrices = redistribution(&constants, &cosines, &roots, 8);
        let thickness_m = thickness_mm * 1e-3;
        let doubled = Doubled::new(&matrices, thickness_m);
        let a = matrices.odd.blend(0.5, &matrices.even, 0.5);
        let b = matrices.odd.blend(0.5, &matrices.even, -0.5);
        let system = Matrix::from_fn(6, 6, |i, j| {
            let entry = match (i < 3, j < 3) {
                (true, true) => -a.row(i)[j],
                (true, false) => b.row(i)[j - 3],
                (false, true) => -b.row(i - 3)[j],
                (false, false) => a.row(i - 3)[j - 3],
            };
            entry * thickness_m
        });
        let across = exponential(&system);
        let block = |rows: usize, columns: usize| {
            Matrix::from_fn(3, 3, |i, j| across.row(i + 3 * rows)[j + 3 * columns])
        };
        // 0 = E₂₁ d + E₂₂ u in front: R = −E₂₂⁻¹ E₂₁, T = E₁₁ + E₁₂ R.
        let reflect = block(1, 1).inverse().times(&block(1, 0));
        let reflect = reflect.blend(-1.0, &reflect, 0.0);
        let through = block(0, 0).blend(1.0, &block(0, 1).times(&reflect), 1.0);
        for i in 0..3 {
            for j in 0..3 {
                let difference = (doubled.reflect.row(i)[j] - reflect.row(i)[j]).abs();
                assert!(difference < 2e-7, "R {i} {j}: {difference:.1e}");
                let difference = (doubled.through.row(i)[j] - through.row(i)[j]).abs();
                assert!(difference < 2e-7, "T {i} {j}: {difference:.1e}");
            }
        }
    }
}

#[test]
fn light_caught_between_two_mirrors_harms_nothing() {
    // A clear plate between two less dense media holds directions that no light reaches.
    let layers = Stack {
        slabs: vec![
            Slab::clear(1.52, 1e-2),
            slab(1.3, 1.0, [1.0, 0.0, 0.0]),
            slab(1.401, 1.0, [1.0, 39.6, 0.0]),
        ],
        upper: 1,
        lower: 2,
    };
    let got = standard(&layers, Incidence::Normal).absorbed;
    assert!(got.energy_residual().abs() < 1e-12);
}
