//! Scattering layers against tables of others; each table in `tests/published/` names its source.

use lightseam::material::optical::OpticalConstants;
use lightseam::optics::adding_doubling::{self, Followed, Incidence, Resolution};
use lightseam::optics::slab::{Slab, Stack};

/// Rows of a committed table, comments left out, as text by column name.
pub fn rows(name: &str) -> Vec<impl Fn(&str) -> String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/published");
    let text = std::fs::read_to_string(format!("{folder}/{name}")).unwrap();
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let heads: Vec<String> = lines.next().unwrap().split(',').map(String::from).collect();
    let rows: Vec<Vec<String>> = lines
        .map(|line| line.split(',').map(String::from).collect())
        .collect();
    assert!(!rows.is_empty(), "{name} is empty");
    rows.into_iter()
        .map(|row| {
            let heads = heads.clone();
            move |head: &str| {
                let column = heads.iter().position(|it| it == head);
                row[column.unwrap_or_else(|| panic!("no column {head}"))].clone()
            }
        })
        .collect()
}

pub fn number(text: String) -> f64 {
    text.parse().unwrap()
}

/// A slab with lengths in mm and coefficients in 1/mm.
pub(super) fn slab(n: f64, thickness_mm: f64, [mu_a, mu_s, g]: [f64; 3]) -> Slab {
    Slab {
        thickness_m: thickness_mm * 1e-3,
        constants: OpticalConstants {
            n,
            mu_a_per_m: mu_a * 1e3,
            mu_s_per_m: mu_s * 1e3,
            g,
        },
    }
}

pub(super) fn stack(slabs: Vec<Slab>) -> Stack {
    let lower = slabs.len() - 1;
    Stack {
        slabs,
        upper: 0,
        lower,
    }
}

pub(super) fn standard(stack: &Stack, incidence: Incidence) -> Followed {
    adding_doubling::follow(stack, incidence, Resolution::standard()).unwrap()
}

fn near(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (got - expected).abs() <= tolerance,
        "{what}: {got:.7} differs from {expected:.7} by {:.1e}, allowed {tolerance:.1e}",
        got - expected
    );
}

#[test]
fn slab_totals_of_a_64_point_library() {
    let (mut worst_normal, mut worst_diffuse) = (0.0_f64, 0.0_f64);
    let rows = rows("light-slab-totals.csv");
    assert_eq!(rows.len(), 215);
    for row in rows {
        let get = |head: &str| number(row(head));
        let (albedo, depth) = (get("a"), get("b"));
        // Lengths that are not one: the thickness is 1.7 mm whatever the optical thickness.
        let extinction = depth / 1.7;
        let mu = [(1.0 - albedo) * extinction, albedo * extinction, get("g")];
        let mut slabs = vec![slab(get("n"), 1.7, mu)];
        if get("n_slide") != 1.0 {
            let slide = Slab::clear(get("n_slide"), 1e-3);
            slabs.insert(0, slide);
            slabs.push(slide);
        }
        let stack = stack(slabs);
        let normal = standard(&stack, Incidence::Normal).absorbed;
        let diffuse = standard(&stack, Incidence::Diffuse).absorbed;
        for (got, head) in [(normal.reflected, "UR1"), (normal.transmitted, "UT1")] {
            worst_normal = worst_normal.max((got - get(head)).abs());
        }
        for (got, head) in [(diffuse.reflected, "URU"), (diffuse.transmitted, "UTU")] {
            worst_diffuse = worst_diffuse.max((got - get(head)).abs());
        }
    }
    assert!(worst_normal < 1e-4, "normal incidence: {worst_normal:.2e}");
    assert!(
        worst_diffuse < 5e-5,
        "diffuse incidence: {worst_diffuse:.2e}"
    );
}

/// The stacks of the reference set: A and B of two parts, C of one.
fn reference_stack(case: &str, n: f64) -> Stack {
    match case {
        "A" => stack(vec![
            slab(n, 1.5, [0.05, 2.0, 0.8]),
            slab(n, 1.0, [10.0, 1.0, 0.0]),
        ]),
        "B" => stack(vec![
            slab(n, 1.5, [0.02, 20.0, 0.9]),
            slab(n, 1.0, [5.0, 5.0, 0.6]),
        ]),
        _ => stack(vec![slab(n, 2.0, [0.1, 5.0, 0.75])]),
    }
}

#[test]
fn layers_by_photon_monte_carlo() {
    for row in rows("light-monte-carlo-layers.csv") {
        let get = |head: &str| number(row(head));
        let case = row("case");
        let got = standard(&reference_stack(&case, get("n")), Incidence::Normal).absorbed;
        let mut shares = vec![
            (got.reflected, "R", "se_R"),
            (got.transmitted, "T", "se_T"),
            (got.absorbed_upper(), "A_upper", "se_Au"),
        ];
        if case != "C" {
            shares.push((got.absorbed_lower(), "A_lower", "se_Al"));
        }
        for (value, head, error) in shares {
            let what = format!("{head} of {case}, n = {}", get("n"));
            near(value, get(head), 4.0 * get(error), &what);
        }
    }
}

#[test]
fn depth_profiles_of_a_discrete_ordinates_library() {
    let mut worst = 0.0_f64;
    for row in rows("light-depth-profiles.csv") {
        let case = row("case")[..1].to_string();
        let stack = reference_stack(&case, 1.0);
        let got = standard(&stack, Incidence::Normal);
        let depth_m = number(row("z_mm")) * 1e-3;
        let expected = number(row("cumulative_absorbed"));
        let first_m = stack.slabs[0].thickness_m;
        let layers = &got.absorbed.layers;
        let cumulative = if row("layer") == "1" {
            layers[0].cumulative(depth_m)
        } else {
            layers[0].total() + layers[1].cumulative(depth_m - first_m)
        };
        worst = worst.max((cumulative - expected).abs());
        let net = got.net_at_faces[0] - cumulative;
        worst = worst.max((net - number(row("net_flux_down_over_incident"))).abs());
    }
    assert!(worst < 1e-4, "{worst:.2e}");
}

/// Semi-infinite: so thick that nothing comes back from the other face.
const DEEP_MM: f64 = 400.0;

#[test]
fn van_de_hulst_slab() {
    // H. C. van de Hulst 1980 as quoted in the MCML manual V1, table 6.1: R 0.09739, T 0.66096 for
    // n = 1, mu_a 1 and mu_s 9 per mm, g 0.75, 0.2 mm; unscattered exp(-2).
    let got = standard(
        &stack(vec![slab(1.0, 0.2, [1.0, 9.0, 0.75])]),
        Incidence::Normal,
    );
    near(got.absorbed.reflected, 0.09739, 1e-5, "R");
    near(got.absorbed.transmitted, 0.66096, 1e-5, "T");
    near(
        got.transmitted_unscattered,
        (-2.0_f64).exp(),
        1e-12,
        "unscattered",
    );
    near(got.absorbed.absorbed_upper(), 0.241648, 1e-5, "absorbed");
}

#[test]
fn giovanelli_half_space() {
    // R. G. Giovanelli 1955: 0.2600 for n = 1.5, albedo 0.9, isotropic. The MCML manual V1 calls it
    // diffuse; V2 says that it includes the specular 0.04, and so it does. Converged: 0.25992.
    let got = standard(
        &stack(vec![slab(1.5, DEEP_MM, [1.0, 9.0, 0.0])]),
        Incidence::Normal,
    );
    near(got.absorbed.reflected, 0.25992, 2e-5, "R");
    near(got.absorbed.reflected, 0.2600, 1e-4, "R as printed");
    near(got.reflected_unscattered, 0.04, 1e-12, "specular");
    // MCML V2 sample 1b by discrete ordinates: absorbed per cm in bins of 0.02 mm.
    let bins = [30.994, 29.203, 27.263, 25.293, 23.355, 21.486];
    let edges: Vec<f64> = (0..=bins.len()).map(|i| i as f64 * 2e-5).collect();
    let shares = got.absorbed.layers[0].between(&edges);
    for (share, expected) in shares.iter().zip(bins) {
        near(share / 2e-3, expected, 0.02, "absorbed per cm");
    }
}

#[test]
fn three_layers_of_the_mcml_sample() {
    // MCML V1 sample.mco (1e6 photons), and converged values of a discrete-ordinates solver.
    let layers = vec![
        slab(1.37, 1.0, [0.1, 10.0, 0.9]),
        slab(1.37, 1.0, [0.1, 1.0, 0.0]),
        slab(1.37, 2.0, [0.2, 1.0, 0.7]),
    ];
    let got = standard(&stack(layers), Incidence::Normal).absorbed;
    let specular = 0.0243729;
    near(got.reflected - specular, 0.23786, 1e-4, "diffuse R");
    near(got.transmitted, 0.09605, 5e-5, "T");
    for (layer, expected) in got.layers.iter().zip([0.26194, 0.14875, 0.23103]) {
        near(layer.total(), expected, 1e-4, "absorbed in a layer");
    }
    let bins = [
        2.807, 2.827, 2.825, 2.794, 2.738, 2.659, 2.562, 2.451, 2.330, 2.201,
    ];
    let edges: Vec<f64> = (0..=bins.len()).map(|i| i as f64 * 1e-4).collect();
    for (share, expected) in got.layers[0].between(&edges).iter().zip(bins) {
        near(share / 1e-2, expected, 3e-3, "absorbed per cm");
    }
}

#[test]
fn half_spaces_by_the_h_function() {
    // R = 1 - H(1) sqrt(1 - a), S. Chandrasekhar, Radiative Transfer (1960); H(1) to six digits.
    let published = [
        (0.5, 1.251260),
        (0.8, 1.598220),
        (0.9, 1.850099),
        (0.95, 2.077124),
        (0.99, 2.472793),
    ];
    for (albedo, h) in published {
        let mu = [3.0 * (1.0 - albedo), 3.0 * albedo, 0.0];
        let got = standard(&stack(vec![slab(1.0, DEEP_MM, mu)]), Incidence::Normal);
        let expected = 1.0 - h * (1.0_f64 - albedo).sqrt();
        near(
            got.absorbed.reflected,
            expected,
            2e-6,
            &format!("a = {albedo}"),
        );
    }
}

#[test]
fn conservative_isotropic_slabs() {
    // Converged discrete ordinates, n = 1; T = 1 - R.
    let published = [
        (0.5, 0.202506),
        (1.0, 0.341329),
        (2.0, 0.517515),
        (4.0, 0.690926),
        (8.0, 0.821803),
    ];
    for (depth, expected) in published {
        let got = standard(
            &stack(vec![slab(1.0, 0.3, [0.0, depth / 0.3, 0.0])]),
            Incidence::Normal,
        );
        near(
            got.absorbed.reflected,
            expected,
            2e-6,
            &format!("depth {depth}"),
        );
    }
}

#[test]
fn glass_slide_tables() {
    // Adding-doubling files of S. A. Prahl (iad, basic_B and basic_C): n 1.40 between clear slides of
    // 1.50, 1 mm, totals with specular; a discrete-ordinates solver agrees within 2.5e-5. The last
    // place of basic_C was never printed.
    let mut worst = 0.0_f64;
    for row in rows("light-glass-slides.csv") {
        let get = |head: &str| number(row(head));
        let slide = Slab::clear(1.5, 1e-3);
        let sample = slab(1.4, 1.0, [get("mu_a"), get("mu_s"), get("g")]);
        let got = standard(&stack(vec![slide, sample, slide]), Incidence::Normal).absorbed;
        for (value, head) in [(got.reflected, "R"), (got.transmitted, "T")] {
            worst = worst.max((value - get(head)).abs());
        }
    }
    assert!(worst < 1e-4, "{worst:.2e}");
}

#[test]
fn half_spaces_under_glass() {
    // S. A. Prahl, iad basic_A, semi-infinite under a slide of 1.5; converged 0.299242 and so on.
    let published = [
        (0.1, 0.299242),
        (0.3, 0.172235),
        (0.5, 0.130825),
        (0.7, 0.109617),
        (0.9, 0.096617),
    ];
    for (mu_a, expected) in published {
        let layers = vec![Slab::clear(1.5, 1e-3), slab(1.4, DEEP_MM, [mu_a, 1.0, 0.0])];
        let got = standard(&stack(layers), Incidence::Normal).absorbed;
        near(got.reflected, expected, 1e-5, &format!("mu_a {mu_a}"));
    }
}

#[test]
fn slabs_without_slides() {
    // Converged discrete ordinates of iad's basic_D (n 1.4, depth 4, isotropic): R and T by albedo.
    let published = [
        (0.0, 0.027787, 0.017312),
        (0.36, 0.059165, 0.021822),
        (0.64, 0.112052, 0.033557),
        (0.84, 0.210343, 0.070594),
        (0.91, 0.292671, 0.115561),
        (0.96, 0.409820, 0.195659),
        (0.99, 0.550760, 0.307944),
        (1.0, 0.626902, 0.373098),
    ];
    for (albedo, r, t) in published {
        let mu = [1.6 * (1.0 - albedo), 1.6 * albedo, 0.0];
        let got = standard(&stack(vec![slab(1.4, 2.5, mu)]), Incidence::Normal).absorbed;
        near(got.reflected, r, 1e-5, &format!("R, a = {albedo}"));
        near(got.transmitted, t, 1e-5, &format!("T, a = {albedo}"));
    }
}

/// Two parts of 2 mm, n = 1.5, in contact.
fn welding_stack(upper: [f64; 3], lower: [f64; 3]) -> Stack {
    stack(vec![slab(1.5, 2.0, upper), slab(1.5, 2.0, lower)])
}

#[test]
fn welding_stacks() {
    // Converged discrete ordinates (the project's data file, section 5.4).
    let cases = [
        (
            [0.05, 20.0, 0.9],
            [10.0, 0.0, 0.0],
            [0.41733, 0.27424, 0.30843],
        ),
        (
            [0.01, 0.0, 0.0],
            [10.0, 0.0, 0.0],
            [0.04000, 0.01901, 0.94099],
        ),
        (
            [0.05, 40.0, 0.9],
            [25.0, 0.0, 0.0],
            [0.55067, 0.28573, 0.16360],
        ),
    ];
    for (upper, lower, [reflected, in_upper, in_lower]) in cases {
        let got = standard(&welding_stack(upper, lower), Incidence::Normal).absorbed;
        near(got.reflected, reflected, 1e-4, "R");
        near(got.absorbed_upper(), in_upper, 1e-4, "upper");
        near(got.absorbed_lower(), in_lower, 1e-4, "lower");
        near(got.transmitted, 0.0, 1e-5, "T");
    }
}

#[test]
fn diffuse_light_dies_faster_in_the_lower_part() {
    // Stack A, same source: share of the delivered light left below a depth in the lower part.
    // Beer-Lambert says 0.905, 0.819, 0.607, 0.368, 0.135.
    let contact = welding_stack([0.05, 20.0, 0.9], [10.0, 0.0, 0.0]);
    let got = standard(&contact, Incidence::Normal).absorbed;
    let delivered = got.delivered_to_interface();
    let lower = &got.layers[1];
    for (depth_mm, expected) in [
        (0.01, 0.851),
        (0.02, 0.731),
        (0.05, 0.474),
        (0.1, 0.242),
        (0.2, 0.069),
    ] {
        let left = 1.0 - lower.cumulative(depth_mm * 1e-3) / delivered;
        near(left, expected, 6e-4, &format!("{depth_mm} mm"));
    }
    // The same upper part measured in air passes less than it delivers in contact: 0.223 to 0.308.
    let in_air = stack(vec![slab(1.5, 2.0, [0.05, 20.0, 0.9])]);
    let measured = standard(&in_air, Incidence::Normal).absorbed.transmitted;
    near(measured, 0.223, 5e-4, "T in air");
    near(delivered, 0.308, 5e-4, "delivered in contact");
}
