//! Shares of light against published tables and reference libraries.

use approx::assert_abs_diff_eq;
use lightseam::numerics::statistics::Estimate;
use lightseam::optics::photon_monte_carlo::{Settings, run};

use super::{assert_within_four, follow, number, published, rows, settings, stack};

/// H. C. van de Hulst, *Multiple Light Scattering* (1980): albedo 0.9, optical thickness 2,
/// g = 0.75, matched; table of the MCML manual (Wang and Jacques 1992), p. 48. Absorbed share by
/// discrete ordinates.
#[test]
fn van_de_hulst_slab() {
    let plate = stack(&[[1.0, 1.0, 9.0, 0.75, 0.2]], 1);
    let shares = follow(&plate, 128).shares;
    let exact = Estimate::exact;
    assert_within_four("R", shares.reflected, exact(0.09739));
    assert_within_four("T", shares.transmitted, exact(0.66096));
    assert_within_four("T diffuse", shares.transmitted_scattered, exact(0.52562));
    assert_within_four("A", shares.layers[0].absorbed, exact(0.241648));
    let straight = shares.transmitted_unscattered;
    assert_abs_diff_eq!(straight.value, (-2f64).exp(), epsilon = 1e-15);
    assert_eq!(straight.standard_error, 0.0);
}

/// R. G. Giovanelli, Opt. Acta 2 (1955) 153: half-space, n = 1.5, albedo 0.9, isotropic: total
/// reflectance 0.2600, of which 0.04 at the surface (MCML manual, p. 49, where the total is called
/// diffuse). Absorption by depth: discrete ordinates, and the manual's sample file within its own
/// 1e5 photons.
#[test]
fn giovanelli_half_space() {
    let deep = stack(&[[1.5, 1.0, 9.0, 0.0, 10.0]], 1);
    let bins = 500;
    let found = run(
        &deep,
        &Settings {
            depth_bins: bins,
            ..settings(64)
        },
    );
    let shares = found.unwrap().shares;
    assert_within_four(
        "R",
        shares.reflected,
        published(0.2600, 0.00005 / 3f64.sqrt()),
    );
    assert_within_four(
        "R scattered",
        shares.reflected_scattered,
        published(0.21992, 1e-5),
    );
    assert_abs_diff_eq!(shares.reflected_unscattered.value, 0.04, epsilon = 1e-12);
    let per_cm = [30.994, 29.203, 27.263, 25.293, 23.355, 21.486];
    for (bin, expected) in shares.layers[0].bins.iter().zip(per_cm) {
        let density = bin.scaled(1.0 / 2e-3);
        assert_within_four("A(z), 1/cm", density, published(expected, 1e-3));
    }
}

/// Three layers of the MCML manual (Wang and Jacques 1992), sample file, 1e6 photons; refined by
/// discrete ordinates, whose values stand here.
#[test]
fn three_layers_in_air() {
    let layers = stack(
        &[
            [1.37, 0.1, 10.0, 0.9, 1.0],
            [1.37, 0.1, 1.0, 0.0, 1.0],
            [1.37, 0.2, 1.0, 0.7, 2.0],
        ],
        1,
    );
    let found = run(
        &layers,
        &Settings {
            depth_bins: 10,
            ..settings(48)
        },
    );
    let shares = found.unwrap().shares;
    let last_digit = 1e-5;
    let specular = shares.reflected_unscattered.value;
    assert_abs_diff_eq!(specular, 0.024373, epsilon = 1e-6);
    for (what, found, expected) in [
        ("R", shares.reflected_scattered, 0.23786),
        ("T", shares.transmitted, 0.09605),
        ("A1", shares.layers[0].absorbed, 0.26194),
        ("A2", shares.layers[1].absorbed, 0.14875),
        ("A3", shares.layers[2].absorbed, 0.23103),
    ] {
        assert_within_four(what, found, published(expected, last_digit));
    }
    let per_cm = [
        2.807, 2.827, 2.825, 2.794, 2.738, 2.659, 2.562, 2.451, 2.330, 2.201,
    ];
    for (bin, expected) in shares.layers[0].bins.iter().zip(per_cm) {
        assert_within_four("A(z)", bin.scaled(1.0 / 1e-2), published(expected, 1e-3));
    }
}

/// S. Chandrasekhar, *Radiative Transfer* (1960): plane albedo of an isotropic half-space at normal
/// incidence, R = 1 − H(1) √(1 − a), with his tabulated H functions.
#[test]
fn chandrasekhar_half_space() {
    for (albedo, expected) in [(0.5, 0.115226), (0.8, 0.285255), (0.95, 0.535541)] {
        let mu_t = 7.0;
        let deep = [1.0, mu_t * (1.0 - albedo), mu_t * albedo, 0.0, 20.0];
        let found = follow(&stack(&[deep], 1), 32).shares.reflected;
        assert_within_four("R", found, Estimate::exact(expected));
    }
}

#[test]
fn independent_monte_carlo_of_layers() {
    for row in rows(include_str!("../../published/photon-layers.csv")) {
        let n = number(row[1]);
        let layers: &[[f64; 5]] = match row[0] {
            "A" => &[[n, 0.05, 2.0, 0.8, 1.5], [n, 10.0, 1.0, 0.0, 1.0]],
            "B" => &[[n, 0.02, 20.0, 0.9, 1.5], [n, 5.0, 5.0, 0.6, 1.0]],
            _ => &[[n, 0.1, 5.0, 0.75, 2.0]],
        };
        let shares = follow(&stack(layers, 1), 20).shares;
        let of = |column: usize| published(number(row[column]), number(row[column + 1]));
        assert_within_four(&format!("R of {row:?}"), shares.reflected, of(2));
        assert_within_four(&format!("T of {row:?}"), shares.transmitted, of(4));
        let upper = shares.layers[0].absorbed;
        assert_within_four(&format!("upper of {row:?}"), upper, of(6));
        if let Some(lower) = shares.layers.get(1) {
            assert_within_four(&format!("lower of {row:?}"), lower.absorbed, of(8));
        }
    }
}

#[test]
fn adding_doubling_slabs() {
    for row in rows(include_str!("../../published/photon-slab-totals.csv")) {
        let values: Vec<f64> = row.iter().map(|text| number(text)).collect();
        let &[n, n_slide, albedo, depth, g, reflected, transmitted] = values.as_slice() else {
            panic!("seven columns: {row:?}");
        };
        let plate = [n, depth * (1.0 - albedo), depth * albedo, g, 1.0];
        let slide = [n_slide, 0.0, 0.0, 0.0, 1.3];
        let layers = if n_slide == 1.0 {
            vec![plate]
        } else {
            vec![slide, plate, slide]
        };
        let shares = follow(&stack(&layers, layers.len()), 16).shares;
        let digits = 1e-5;
        assert_within_four(
            &format!("{row:?}"),
            shares.reflected,
            published(reflected, digits),
        );
        assert_within_four(
            &format!("{row:?}"),
            shares.transmitted,
            published(transmitted, digits),
        );
    }
}

#[test]
fn discrete_ordinates_by_depth() {
    let table = rows(include_str!("../../published/photon-depth.csv"));
    for (case, layers, bins) in [
        (
            "A",
            &[[1.0, 0.05, 2.0, 0.8, 1.5], [1.0, 10.0, 1.0, 0.0, 1.0]][..],
            30,
        ),
        (
            "B",
            &[[1.0, 0.02, 20.0, 0.9, 1.5], [1.0, 5.0, 5.0, 0.6, 1.0]][..],
            30,
        ),
        ("C", &[[1.0, 0.1, 5.0, 0.75, 2.0]][..], 25),
    ] {
        let wanted = Settings {
            depth_bins: bins,
            ..settings(20)
        };
        let shares = run(&stack(layers, 1), &wanted).unwrap().shares;
        let known: Vec<(f64, f64)> = table
            .iter()
            .filter(|row| row[0] == case)
            .map(|row| (number(row[1]), number(row[2])))
            .collect();
        let mut checked = 0;
        for pair in known.windows(2) {
            let (from, to) = (pair[0].0, pair[1].0);
            let (shares, top) = if to < layers[0][4] + 1e-9 {
                (&shares.layers[0], 0.0)
            } else {
                (&shares.layers[1], layers[0][4])
            };
            let bin_mm = shares.bin_m * 1e3;
            let first = ((from - top) / bin_mm).round() as usize;
            let last = ((to - top) / bin_mm).round() as usize;
            let value = shares.bins[first..last].iter().map(|it| it.value).sum();
            // Neighbouring bins of one run vary together at worst.
            let error = shares.bins[first..last]
                .iter()
                .map(|it| it.standard_error)
                .sum();
            let found = published(value, error);
            let expected = published(pair[1].1 - pair[0].1, 1e-7);
            assert_within_four(&format!("{case}, {from} to {to} mm"), found, expected);
            checked += 1;
        }
        assert!(24 <= checked, "{case}: {checked} depths");
    }
}
