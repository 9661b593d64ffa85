//! Faces that touch but lie dry until melt wets them: when that is told, and what it says.

use approx::assert_relative_eq;
use lightseam::heat;
use lightseam::study::Silent;
use lightseam::study::power_limits::power_limits;
use lightseam::weld::joint::DRY_FILM_M;
use lightseam::weld::light::before_wetting;
use lightseam::weld::warning::{Warning, matters_dry, warnings};
use lightseam::weld::{Interface, Joint, Outcome, Settings, simulate};

use crate::support::joints::{self, outcome};

fn joint(material: &str, contact: &str) -> Joint {
    joints::from_text(&format!(
        r#"
upper = {{ material = "{material}", thickness = "2 mm" }}
lower = {{ material = "{material}", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.1 %" }} }}
contact = {{ {contact} }}
beam = {{ wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "28 W" }}
motion = {{ mode = "contour", speed = "20 mm/s" }}
"#
    ))
}

fn told(joint: &Joint) -> Option<Warning> {
    warnings(joint, &outcome(joint))
        .into_iter()
        .find(|it| matches!(it, Warning::DryFaces { .. }))
}

/// Diffuse light is totally reflected at a face that lies dry: PA6 delivers a quarter less. What is told
/// is what the same parts deliver over a gap.
#[test]
fn told_where_much_less_light_gets_through() {
    let touching = joint("pa6", "gap = \"0 µm\"");
    let Some(Warning::DryFaces {
        delivered,
        dry,
        not_computed,
    }) = told(&touching)
    else {
        panic!("not told");
    };
    let over_a_gap = outcome(&joint("pa6", "gap = \"5 µm\""));
    assert_relative_eq!(
        delivered,
        outcome(&touching).light.delivered_to_interface(),
        max_relative = 1e-12
    );
    assert_relative_eq!(
        dry,
        over_a_gap.light.delivered_to_interface(),
        max_relative = 1e-9
    );
    assert!(dry < 0.75 * delivered, "{dry} of {delivered}");
    assert_eq!(not_computed, None);
    // Contact of a stated conductance may lie dry as well, but a film of air is another contact; and no
    // gap closes where nobody knows how the polymer swells.
    for (material, contact, why) in [
        ("pa6", "conductance = \"5000 W/m2/K\"", "conductance"),
        ("pa66", "gap = \"0 µm\"", "swells"),
    ] {
        let Some(Warning::DryFaces {
            not_computed: Some(said),
            ..
        }) = told(&joint(material, contact))
        else {
            panic!("{material} not told");
        };
        assert!(said.contains(why), "{said}");
    }
}

/// Three faces of clear PC pass (1 − R) / (1 + 2 R) of the light, R = ((n − 1) / (n + 1))², and the one
/// in contact 1 − R: a tenth less, which is within what power drifts by.
#[test]
fn not_told_where_it_hardly_matters_or_is_computed() {
    let touching = joint("pc", "gap = \"0 µm\"");
    assert_eq!(told(&touching), None);
    let n: f64 = 1.5721;
    let r = ((n - 1.0) / (n + 1.0)).powi(2);
    let dry = before_wetting(&touching.lying_dry().unwrap()).unwrap();
    assert_relative_eq!(
        dry.delivered_to_interface(),
        (1.0 - r) / (1.0 + 2.0 * r),
        max_relative = 0.015
    );
    let over_a_gap = joint("pa6", "gap = \"20 µm\"");
    assert!(over_a_gap.lying_dry().is_none());
    assert_eq!(told(&over_a_gap), None);
}

/// The width of the film hardly enters: a tenth of it gives the same sound powers within 1 %, and both
/// lie a third above those in contact.
#[test]
fn sound_powers_of_dry_faces_do_not_hang_on_the_film() {
    let touching = joint("pa6", "gap = \"0 µm\"");
    let dry = matters_dry(&touching, &outcome(&touching)).unwrap();
    let dry = dry.computed.unwrap();
    let thinner = Joint {
        interface: Interface::of_gap(0.1 * DRY_FILM_M),
        ..dry.clone()
    };
    let found = power_limits(
        &[touching, dry, thinner],
        (1.0, 200.0),
        &Settings::standard(),
        &Silent,
    );
    let ends: Vec<[f64; 2]> = found
        .into_iter()
        .map(|it| it.unwrap())
        .map(|it| [it.low.power_w().unwrap(), it.high.power_w().unwrap()])
        .collect();
    for (dry, thinner) in ends[1].iter().zip(&ends[2]) {
        assert_relative_eq!(dry, thinner, max_relative = 0.01);
    }
    let step = ends[1][0] / ends[0][0];
    assert!((1.25..1.5).contains(&step), "{step}");
}

/// A run cut short says so, and one that settled does not.
#[test]
fn a_run_that_ended_before_all_was_settled_says_so() {
    let joint = joint("pc", "gap = \"0 µm\"");
    let short = Settings {
        heat: heat::Settings {
            longest_s: 0.3,
            ..heat::Settings::standard()
        },
        ..Settings::standard()
    };
    let cut = simulate(std::slice::from_ref(&joint), &short)
        .remove(0)
        .unwrap();
    let ended = |outcome: &Outcome| {
        warnings(&joint, outcome)
            .into_iter()
            .find_map(|it| match it {
                Warning::RunEnded { after_s } => Some(after_s),
                _ => None,
            })
    };
    assert_relative_eq!(ended(&cut).unwrap(), 0.3, max_relative = 1e-9);
    assert_eq!(ended(&outcome(&joint)), None);
}
