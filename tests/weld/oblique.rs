//! Light at an angle, from the joint file to the interface.

use approx::assert_relative_eq;
use lightseam::input::{joint_file, library};
use lightseam::optics::photon_monte_carlo;
use lightseam::optics::{Absorbed, ENERGY_TOLERANCE, Lighting, Method, absorb_lit};
use lightseam::study::method_comparison::compare_methods;
use lightseam::study::progress::Silent;
use lightseam::weld::clearing::{absorbed_through, simulate_cleared};
use lightseam::weld::light::{Light, Memory, SEED, lights_of, stack_of};
use lightseam::weld::{Joint, Settings};

use crate::optics::published::{number, rows};
use crate::support::joints;

/// A lid on a body, µ in 1/mm, thickness in mm: (n, µa, µs, g, d); more sections behind.
fn text(upper: [f64; 5], lower: [f64; 5], incidence: &str, more: &str) -> String {
    let part = |name: &str, [n, mu_a, mu_s, g, d]: [f64; 5]| {
        format!(
            "[{name}]\nmaterial = \"pp\"\nthickness = \"{d} mm\"\nrefractive_index = {n}\n\
             absorption = \"{mu_a} /mm\"\nscattering = \"{mu_s} /mm\"\nanisotropy = {g}\n"
        )
    };
    let incidence = match incidence {
        "" => String::new(),
        it => format!("incidence = \"{it}\"\n"),
    };
    format!(
        "{}{}[beam]\nwavelength = \"980 nm\"\nlength = \"1.4 mm\"\nwidth = \"0.9 mm\"\n\
         power = \"6 W\"\n{incidence}[motion]\nmode = \"contour\"\nspeed = \"40 mm/s\"\n{more}",
        part("upper", upper),
        part("lower", lower)
    )
}

fn joint(upper: [f64; 5], lower: [f64; 5], incidence: &str, more: &str) -> Joint {
    joints::from_text(&text(upper, lower, incidence, more))
}

fn light(joint: &Joint) -> Light {
    lights_of(std::slice::from_ref(joint), &Memory::default())
        .remove(0)
        .unwrap()
}

/// Shares that a joint's light consists of.
fn shares(it: &Absorbed) -> [f64; 4] {
    [
        it.reflected,
        it.transmitted,
        it.absorbed_upper(),
        it.layers[it.lower].total(),
    ]
}

const CLOUDY: [f64; 5] = [1.5, 0.05, 4.0, 0.9, 1.5];
const CLEAR: [f64; 5] = [1.49, 0.11, 0.0, 0.0, 1.7];
const BODY: [f64; 5] = [1.56, 9.0, 0.0, 0.0, 3.0];

#[test]
fn joint_file_states_the_angle() {
    let angle = |incidence: &str| joint(CLOUDY, BODY, incidence, "").incidence_rad;
    assert_eq!(angle(""), 0.0);
    assert_eq!(angle("0°"), 0.0);
    for same in ["10°", "10 °", "10 deg", "10deg", "1e1 º"] {
        assert_relative_eq!(angle(same), 10f64.to_radians(), max_relative = 1e-15);
    }
    assert_relative_eq!(
        angle("30°"),
        std::f64::consts::FRAC_PI_6,
        max_relative = 1e-15
    );
    for (wrong, words) in [
        ("31°", "from 0° to 30°"),
        ("-5°", "from 0° to 30°"),
        ("10", "allowed units: °, deg"),
        ("0.2 mm", "allowed units: °, deg"),
    ] {
        let text = text(CLOUDY, BODY, wrong, "");
        let error = joint_file::parse(&text, "joint.toml", &library::no_files).unwrap_err();
        let message = error.to_string();
        assert!(message.contains("angle of incidence"), "{message}");
        let whole = format!("{error:?}");
        assert!(whole.contains(words), "{wrong}: {whole}");
    }
}

/// Reflectances of the two polarisations in Fresnel's own form, by the angles on both sides.
fn fresnel(outside: f64, inside: f64) -> f64 {
    let s = ((outside - inside).sin() / (outside + inside).sin()).powi(2);
    let p = ((outside - inside).tan() / (outside + inside).tan()).powi(2);
    0.5 * (s + p)
}

#[test]
fn clear_lid_on_a_dense_body_by_hand() {
    for degrees in [7.0_f64, 18.0, 30.0] {
        let joint = joint(CLEAR, BODY, &format!("{degrees}°"), "");
        let sine = degrees.to_radians().sin();
        let (air, lid, body) = (
            degrees.to_radians(),
            (sine / CLEAR[0]).asin(),
            (sine / BODY[0]).asin(),
        );
        let (front, seam) = (fresnel(air, lid), fresnel(lid, body));
        let t = (-CLEAR[1] * CLEAR[4] / lid.cos()).exp();
        // The body is opaque: light goes to and fro in the lid alone.
        let loops = 1.0 - front * seam * t * t;
        let reflected = front + (1.0 - front).powi(2) * t * t * seam / loops;
        let lower = (1.0 - front) * t * (1.0 - seam) / loops;
        let got = light(&joint);
        assert_eq!(got.method, Method::BeerLambert);
        let [r, transmitted, upper, down] = shares(&got.absorbed);
        assert!((r - reflected).abs() < 1e-11, "{degrees}: {r}");
        assert!((down - lower).abs() < 1e-11, "{degrees}: {down}");
        assert!((upper - (1.0 - reflected - lower)).abs() < 1e-11);
        assert!(transmitted < 1e-11);
        // Heat against depth follows the slanted path.
        let depth_mm = 0.08;
        let share = 1.0 - (-BODY[1] * depth_mm / body.cos()).exp();
        let found = got.absorbed.layers[got.absorbed.lower].cumulative(1e-3 * depth_mm);
        assert!((found - lower * share).abs() < 1e-11);
        // The angle must matter for this to be a check.
        let straight = light(&self::joint(CLEAR, BODY, "", "")).absorbed;
        assert!(degrees < 10.0 || 1e-3 < (shares(&straight)[3] - down).abs());
    }
}

#[test]
fn cloudy_joints_by_discrete_ordinates() {
    // The table is for n = 1: no faces, so that refraction does not enter.
    let mut compared = 0;
    for row in rows("light-oblique.csv") {
        let get = |head: &str| number(row(head));
        let degrees = get("angle_deg");
        if 30.0 < degrees {
            continue;
        }
        let part = |i: usize| {
            let [a, s, g, d] = ["mu_a", "mu_s", "g", "d"].map(|head| get(&format!("{head}{i}")));
            [1.0, a, s, g, d]
        };
        let joint = joint(part(1), part(2), &format!("{degrees} deg"), "");
        let got = light(&joint);
        assert_eq!(got.method, Method::AddingDoubling);
        for (found, head) in shares(&got.absorbed)
            .into_iter()
            .zip(["R", "T", "A1", "A2"])
        {
            assert!(
                (found - get(head)).abs() < 5e-5,
                "{degrees}° {head}: {found}"
            );
        }
        compared += 1;
    }
    assert_eq!(compared, 12);
}

const GLASS: &str = "[clamp]\nmaterial = \"glass\"\nthickness = \"4 mm\"\n";

#[test]
fn no_angle_is_straight_on() {
    for method in Method::ALL {
        for lid in [CLEAR, CLOUDY] {
            let more = format!("{GLASS}[optics]\nmethod = \"{}\"\n", method.name());
            let absorbed = |incidence: &str| light(&joint(lid, BODY, incidence, &more)).absorbed;
            let normal = absorbed("");
            assert_eq!(normal, absorbed("0°"));
            let hardly = absorbed("0.0003°");
            for (a, b) in shares(&normal).into_iter().zip(shares(&hardly)) {
                assert!((a - b).abs() < 1e-9, "{method:?} {a} {b}");
            }
        }
    }
}

#[test]
fn energy_adds_up_at_every_angle() {
    for method in Method::ALL {
        for (lid, more) in [
            (CLEAR, ""),
            (CLOUDY, GLASS),
            (CLOUDY, "[contact]\ngap = \"20 µm\"\n"),
            (CLEAR, GLASS),
        ] {
            for degrees in [4, 17, 30] {
                let joint = joint(
                    lid,
                    [1.53, 3.0, 2.0, 0.6, 2.0],
                    &format!("{degrees}°"),
                    more,
                );
                let stack = stack_of(&joint).unwrap();
                let incidence_rad = joint.incidence_rad;
                let lighting = Lighting {
                    method,
                    incidence_rad,
                };
                let got = absorb_lit(&stack, lighting).unwrap();
                assert!(got.energy_residual().abs() < ENERGY_TOLERANCE);
                // Part of the lid molten: the same sum, and with no clearing the same light.
                let molten = absorbed_through(&stack, lighting, 1.0, 0.3e-3).unwrap();
                for (a, b) in shares(&got).into_iter().zip(shares(&molten)) {
                    assert!((a - b).abs() < 1e-7, "{method:?} {degrees}° {a} {b}");
                }
            }
        }
    }
}

#[test]
fn two_fluxes_take_the_beam_to_the_first_scattering_layer() {
    // Behind a clear plate that absorbs the beam is weaker by the slanted path and the faces.
    let plate = "[clamp]\nmaterial = \"glass\"\nthickness = \"9 mm\"\noptical_contact = \"yes\"\n";
    let more = format!("{plate}[optics]\nmethod = \"two-flux\"\n");
    let [straight, tilted] = ["", "30°"].map(|it| light(&joint(CLOUDY, BODY, it, &more)).absorbed);
    let exact = ["", "30°"].map(|it| light(&joint(CLOUDY, BODY, it, plate)).absorbed);
    let loss = tilted.reflected - straight.reflected;
    // The specular reflectance of the plate rises by 0.0016 at 30°, n = 1.5 to 1.52.
    assert!(0.5e-3 < loss && loss < 4e-3, "{loss}");
    let ratio = |pair: [&Absorbed; 2]| pair[1].absorbed_lower() / pair[0].absorbed_lower();
    let (fast, true_one) = (ratio([&straight, &tilted]), ratio([&exact[0], &exact[1]]));
    // Diffuse light forgets the angle; exactly, a lid of 0.6 mean free paths does not quite.
    assert!(true_one < fast && fast < 1.0, "{fast} {true_one}");
    assert!(0.96 < true_one, "{true_one}");
}

#[test]
fn spread_at_an_angle_is_that_of_the_stack() {
    let joint = joint(CLOUDY, [1.5, 15.0, 0.0, 0.0, 2.0], "25°", "");
    let got = light(&joint);
    let direct = photon_monte_carlo::spread(
        &stack_of(&joint).unwrap(),
        &photon_monte_carlo::Settings {
            photons: 131_072,
            seed: SEED + 1,
            incidence_rad: joint.incidence_rad,
            ..photon_monte_carlo::Settings::standard()
        },
    )
    .unwrap();
    let beam = joint.beam;
    let area = |it: f64| beam.length_m * beam.width_m / it;
    let peak = direct.peak_factor(beam.shape, beam.length_m, beam.width_m);
    let energy = direct.energy_factor(beam.shape, beam.width_m);
    for (found, expected) in [
        (area(got.beam.length_m * got.beam.width_m), peak),
        (beam.width_m / got.beam.width_m, energy),
    ] {
        // A node follows a quarter of the photons; four standard errors of both, 0.5 % for the lattice.
        let allowed = 4.0 * 5f64.sqrt() * expected.standard_error + 0.005 * expected.value;
        assert!(
            (found - expected.value).abs() < allowed,
            "{found} {expected:?}"
        );
        assert!(allowed < 0.05 * expected.value, "no teeth: {expected:?}");
        assert!(expected.value < 0.9, "{expected:?}");
    }
}

#[test]
fn memory_tells_angles_apart() {
    let joints = ["", "12°", "28°"].map(|it| joint(CLOUDY, BODY, it, ""));
    let together: Vec<Light> = lights_of(&joints, &Memory::default())
        .into_iter()
        .map(Result::unwrap)
        .collect();
    for (joint, together) in joints.iter().zip(&together) {
        let alone = light(joint);
        assert_eq!(alone.absorbed, together.absorbed);
        assert_eq!(alone.beam, together.beam);
    }
    for pair in together.windows(2) {
        assert!(1e-3 < pair[0].absorbed.absorbed_lower() - pair[1].absorbed.absorbed_lower());
        assert_ne!(pair[0].beam, pair[1].beam);
    }
}

#[test]
fn comparison_and_clearing_at_an_angle() {
    let settings = Settings::standard();
    let optics = "[optics]\nmelt_clearing = 0.3\n";
    let [straight, tilted] = ["", "30°"].map(|it| {
        let mut joint = joint(CLOUDY, BODY, it, optics);
        joint.beam.power_w = 22.0;
        joint
    });
    let [normal, angled] =
        [&straight, &tilted].map(|it| compare_methods(it, &settings, &Silent).unwrap());
    // A spectrometer measures straight on, whatever the laser does.
    assert_eq!(normal.transmittance_in_air, angled.transmittance_in_air);
    for (a, b) in normal.results.iter().zip(&angled.results) {
        let delivered = |it: &lightseam::study::method_comparison::MethodResult| {
            it.outcome.light.delivered_to_interface()
        };
        assert!(delivered(b) < delivered(a), "{:?}", a.method);
    }
    let cleared = simulate_cleared(&[tilted], &settings).remove(0).unwrap();
    assert!(1 < cleared.rounds.len());
    assert!(cleared.before().delivered < cleared.after().delivered);
}
