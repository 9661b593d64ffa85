//! Scattering parts: adding-doubling against tables, closed forms and other programs.

use crate::error::Error;
use crate::material::optical::OpticalConstants;
use crate::optics::adding_doubling::{Followed, Incidence, Resolution, follow};
use crate::optics::slab::{Slab, Stack};
use crate::study::validation::table::{Row, Rows, Worst};
use crate::study::validation::{Check, Finding, Kind, Stage, Validation};
use crate::units::MM;

/// So thick, in mm, that nothing comes back from the other face.
const DEEP_MM: f64 = 400.0;

/// All checks of adding-doubling.
///
/// # Errors
/// A stack is refused.
pub fn checks() -> Result<Validation, Error> {
    let mut checks = slab_totals()?;
    checks.extend([
        slides()?,
        depth_profiles()?,
        oblique()?,
        photons()?,
        van_de_hulst()?,
        giovanelli()?,
        half_spaces()?,
    ]);
    let forward = [0.75, 0.9, 0.95].map(forward);
    let mut words = Vec::new();
    for ((g, what, limit), worst) in FORWARD.into_iter().zip(forward) {
        let worst = worst?;
        words.push(format!("{:.1e} of the light at g = {g}", worst.deviation));
        checks.push(check(
            worst,
            limit,
            what,
            Kind::Finer,
            "28 escaping and 22 trapped directions, 80 moments",
        ));
    }
    let findings = vec![Finding {
        stage: Stage::Light,
        what: "adding-doubling where scattering is strongly forward",
        theirs: "the same method with 28 escaping and 22 trapped directions and 80 moments",
        ours: format!("apart by up to {}", words.join(", ")),
        remark: "Far below what a spectrometer knows, 0.003; fewer directions are kept for speed.",
    }];
    Ok(Validation { checks, findings })
}

fn check(worst: Worst, limit: f64, what: &'static str, kind: Kind, source: &'static str) -> Check {
    Check {
        stage: Stage::Light,
        what,
        kind,
        source,
        values: worst.values,
        deviation: worst.deviation,
        limit,
        unit: "of the light",
    }
}

/// A slab with lengths in mm: index, thickness, µa, µs, g.
pub fn slab(n: f64, thickness_mm: f64, [mu_a, mu_s, g]: [f64; 3]) -> Slab {
    Slab {
        thickness_m: thickness_mm * MM,
        constants: OpticalConstants {
            n,
            mu_a_per_m: mu_a / MM,
            mu_s_per_m: mu_s / MM,
            g,
        },
    }
}

fn stack(slabs: Vec<Slab>) -> Stack {
    let lower = slabs.len() - 1;
    Stack {
        slabs,
        upper: 0,
        lower,
    }
}

fn standard(slabs: Vec<Slab>, incidence: Incidence) -> Result<Followed, Error> {
    follow(&stack(slabs), incidence, Resolution::standard())
}

fn slab_totals() -> Result<Vec<Check>, Error> {
    let table = Rows::of(include_str!(
        "../../../tests/published/light-slab-totals.csv"
    ));
    let (mut normal, mut diffuse, mut balance) =
        (Worst::default(), Worst::default(), Worst::default());
    for row in table.iter() {
        let (albedo, depth) = (row.number("a"), row.number("b"));
        // Lengths that are not one: 1.7 mm whatever the optical thickness.
        let extinction = depth / 1.7;
        let mu = [
            (1.0 - albedo) * extinction,
            albedo * extinction,
            row.number("g"),
        ];
        let mut slabs = vec![slab(row.number("n"), 1.7, mu)];
        if row.number("n_slide") != 1.0 {
            let slide = Slab::clear(row.number("n_slide"), MM);
            slabs.insert(0, slide);
            slabs.push(slide);
        }
        let straight = standard(slabs.clone(), Incidence::Normal)?.absorbed;
        let all_round = standard(slabs, Incidence::Diffuse)?.absorbed;
        normal.compare(straight.reflected, row.number("UR1"));
        normal.compare(straight.transmitted, row.number("UT1"));
        diffuse.compare(all_round.reflected, row.number("URU"));
        diffuse.compare(all_round.transmitted, row.number("UTU"));
        balance.add(straight.energy_residual());
        balance.add(all_round.energy_residual());
    }
    let library = "S. A. Prahl, iadpython 0.5.3 with 64 Radau points";
    Ok(vec![
        check(
            normal,
            1e-4,
            "R and T of 215 slabs, a beam",
            Kind::OtherProgram,
            library,
        ),
        check(
            diffuse,
            5e-5,
            "R and T of 215 slabs, diffuse light",
            Kind::OtherProgram,
            library,
        ),
        check(
            balance,
            1e-9,
            "reflected + transmitted + absorbed = 1",
            Kind::ClosedForm,
            "conservation of energy, same slabs",
        ),
    ])
}

fn slides() -> Result<Check, Error> {
    let table = Rows::of(include_str!(
        "../../../tests/published/light-glass-slides.csv"
    ));
    let mut worst = Worst::default();
    for row in table.iter() {
        let slide = Slab::clear(1.5, MM);
        let mu = ["mu_a", "mu_s", "g"].map(|it| row.number(it));
        let got = standard(vec![slide, slab(1.4, 1.0, mu), slide], Incidence::Normal)?.absorbed;
        worst.compare(got.reflected, row.number("R"));
        worst.compare(got.transmitted, row.number("T"));
    }
    Ok(check(
        worst,
        1e-4,
        "R and T between glass slides",
        Kind::Published,
        "S. A. Prahl, iad, tables basic_B and basic_C",
    ))
}

/// The stacks A and B of two parts and C of one.
fn reference_stack(case: &str, n: f64) -> Vec<Slab> {
    match &case[..1] {
        "A" => vec![
            slab(n, 1.5, [0.05, 2.0, 0.8]),
            slab(n, 1.0, [10.0, 1.0, 0.0]),
        ],
        "B" => vec![
            slab(n, 1.5, [0.02, 20.0, 0.9]),
            slab(n, 1.0, [5.0, 5.0, 0.6]),
        ],
        _ => vec![slab(n, 2.0, [0.1, 5.0, 0.75])],
    }
}

fn depth_profiles() -> Result<Check, Error> {
    let table = Rows::of(include_str!(
        "../../../tests/published/light-depth-profiles.csv"
    ));
    let rows: Vec<Row> = table.iter().collect();
    let mut worst = Worst::default();
    for case in ["A", "B", "C"] {
        let slabs = reference_stack(case, 1.0);
        let first_m = slabs[0].thickness_m;
        let got = standard(slabs, Incidence::Normal)?;
        let layers = &got.absorbed.layers;
        for row in rows.iter().filter(|it| it.word("case").starts_with(case)) {
            let depth_m = row.number("z_mm") * MM;
            let cumulative = match row.word("layer") {
                "1" => layers[0].cumulative(depth_m),
                _ => layers[0].total() + layers[1].cumulative(depth_m - first_m),
            };
            worst.compare(cumulative, row.number("cumulative_absorbed"));
            let net = got.net_at_faces[0] - cumulative;
            worst.compare(net, row.number("net_flux_down_over_incident"));
        }
    }
    Ok(check(
        worst,
        1e-4,
        "net flux against depth in three stacks",
        Kind::OtherProgram,
        "discrete ordinates, PythonicDISORT 1.8",
    ))
}

fn oblique() -> Result<Check, Error> {
    let table = Rows::of(include_str!("../../../tests/published/light-oblique.csv"));
    let mut worst = Worst::default();
    for row in table.iter() {
        let layer = |[d, mu_a, mu_s, g]: [&str; 4]| {
            slab(1.0, row.number(d), [mu_a, mu_s, g].map(|it| row.number(it)))
        };
        let slabs = vec![
            layer(["d1", "mu_a1", "mu_s1", "g1"]),
            layer(["d2", "mu_a2", "mu_s2", "g2"]),
        ];
        let angle_rad = row.number("angle_deg").to_radians();
        let light = standard(slabs, Incidence::Oblique { angle_rad })?.absorbed;
        worst.compare(light.reflected, row.number("R"));
        worst.compare(light.transmitted, row.number("T"));
        worst.compare(light.layers[0].total(), row.number("A1"));
        worst.compare(light.layers[1].total(), row.number("A2"));
    }
    Ok(check(
        worst,
        5e-5,
        "oblique light on two layers",
        Kind::OtherProgram,
        "discrete ordinates, PythonicDISORT 1.8, 64 streams",
    ))
}

fn photons() -> Result<Check, Error> {
    let table = Rows::of(include_str!(
        "../../../tests/published/light-monte-carlo-layers.csv"
    ));
    let mut worst = Worst::default();
    for row in table.iter() {
        let slabs = reference_stack(row.word("case"), row.number("n"));
        let two = slabs.len() == 2;
        let got = standard(slabs, Incidence::Normal)?.absorbed;
        let mut shares = vec![
            (got.reflected, "R", "se_R"),
            (got.transmitted, "T", "se_T"),
            (got.absorbed_upper(), "A_upper", "se_Au"),
        ];
        if two {
            shares.push((got.absorbed_lower(), "A_lower", "se_Al"));
        }
        for (found, head, error) in shares {
            worst.add((found - row.number(head)) / row.number(error));
        }
    }
    Ok(Check {
        unit: "standard errors",
        ..check(
            worst,
            4.0,
            "shares of three stacks by photons",
            Kind::OtherProgram,
            "an independent photon Monte Carlo, 1e6 photons",
        )
    })
}

fn van_de_hulst() -> Result<Check, Error> {
    let got = standard(vec![slab(1.0, 0.2, [1.0, 9.0, 0.75])], Incidence::Normal)?.absorbed;
    let mut worst = Worst::default();
    worst.compare(got.reflected, 0.09739);
    worst.compare(got.transmitted, 0.66096);
    Ok(check(
        worst,
        1e-5,
        "slab of optical thickness 2, g = 0.75",
        Kind::Published,
        "H. C. van de Hulst, Multiple Light Scattering (1980), as quoted in the MCML manual",
    ))
}

fn giovanelli() -> Result<Check, Error> {
    let got = standard(vec![slab(1.5, DEEP_MM, [1.0, 9.0, 0.0])], Incidence::Normal)?;
    let mut worst = Worst::default();
    worst.compare(got.absorbed.reflected, 0.2600);
    Ok(check(
        worst,
        1e-4,
        "half-space of index 1.5",
        Kind::Published,
        "R. G. Giovanelli (1955), as quoted in the MCML manual; printed with four digits",
    ))
}

fn half_spaces() -> Result<Check, Error> {
    let mut worst = Worst::default();
    for (albedo, h) in [
        (0.5, 1.251260),
        (0.8, 1.598220),
        (0.9, 1.850099),
        (0.95, 2.077124),
        (0.99, 2.472793),
    ] {
        let mu = [3.0 * (1.0 - albedo), 3.0 * albedo, 0.0];
        let got = standard(vec![slab(1.0, DEEP_MM, mu)], Incidence::Normal)?;
        worst.compare(got.absorbed.reflected, 1.0 - h * (1.0_f64 - albedo).sqrt());
    }
    Ok(check(
        worst,
        2e-6,
        "half-spaces by the H function",
        Kind::ClosedForm,
        "S. Chandrasekhar, Radiative Transfer (1960); H(1) to six digits",
    ))
}

/// Anisotropies with what is compared and the error stated for the method.
const FORWARD: [(f64, &str, f64); 3] = [
    (0.75, "slabs of a few free paths, g = 0.75", 1e-5),
    (0.9, "slabs of a few free paths, g = 0.9", 3e-4),
    (0.95, "slabs of a few free paths, g = 0.95", 1e-3),
];

/// Forward scattering: the standard resolution against one about three times as fine.
fn forward(g: f64) -> Result<Worst, Error> {
    let fine = Resolution {
        escaping: 28,
        trapped: 22,
        moments: 80,
    };
    let mut worst = Worst::default();
    for depth in [0.5, 1.0, 2.0, 4.0, 8.0, 20.0] {
        for albedo in [0.9, 0.999] {
            let extinction = depth / 1.7;
            let mu = [(1.0 - albedo) * extinction, albedo * extinction, g];
            let stack = stack(vec![slab(1.5, 1.7, mu)]);
            let usual = follow(&stack, Incidence::Normal, Resolution::for_stack(&stack))?.absorbed;
            let finer = follow(&stack, Incidence::Normal, fine)?.absorbed;
            worst.compare(usual.reflected, finer.reflected);
            worst.compare(usual.transmitted, finer.transmitted);
        }
    }
    Ok(worst)
}
