//! Numbers of cards that nobody checked: one warning for a card and what is said of its numbers.

use lightseam::material::Status;
use lightseam::weld::warning::{Warning, warnings};

use crate::support::joints::{self, outcome};

fn weak(upper: &str, lower: &str) -> Vec<(String, Status, Vec<&'static str>)> {
    let joint = joints::from_text(&format!(
        r#"
upper = {{ material = "{upper}", thickness = "1.5 mm" }}
lower = {{ material = "{lower}", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.2 %" }} }}
beam = {{ wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "9 W" }}
motion = {{ mode = "contour", speed = "20 mm/s" }}
"#
    ));
    let found = outcome(&joint);
    warnings(&joint, &found)
        .into_iter()
        .filter_map(|it| match it {
            Warning::WeakNumbers {
                material,
                quantities,
                status,
            } => Some((material, status, quantities)),
            _ => None,
        })
        .collect()
}

#[test]
fn both_parts_of_one_card_are_one_warning() {
    let told = weak("pa6", "pa6");
    let of_memory: Vec<_> = told
        .iter()
        .filter(|it| it.1 == Status::FromMemory)
        .collect();
    assert_eq!(of_memory.len(), 1, "{told:?}");
    let quantities = &of_memory[0].2;
    for quantity in ["absorption", "scattering", "specific heat"] {
        let count = quantities.iter().filter(|it| **it == quantity).count();
        assert_eq!(count, 1, "{quantity}: {quantities:?}");
    }
    // Two cards are two.
    let told = weak("pa6", "pp");
    let names: Vec<&str> = told.iter().map(|it| it.0.as_str()).collect();
    assert!(
        names.contains(&"PA6, natural") && names.contains(&"PP, natural"),
        "{told:?}"
    );
}
