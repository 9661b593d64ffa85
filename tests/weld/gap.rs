//! Gaps: limits, and what was published of bridged gaps.

use lightseam::weld::{Interface, Joint, Outcome, Settings, Verdict, simulate};

use crate::support::joints;

pub fn outcome(joint: &Joint) -> Outcome {
    simulate(std::slice::from_ref(joint), &Settings::standard())
        .remove(0)
        .unwrap()
}

fn with_gap(joint: &Joint, gap_m: f64) -> Joint {
    Joint {
        interface: Interface::of_gap(gap_m),
        ..joint.clone()
    }
}

#[test]
fn probe() {
    for (m, content) in [("pc","0.1 %"),("pc","0.02 %"),("pa6","0.1 %"),("pp","0.1 %"),("pmma","0.1 %")] {
        for p in [4.0, 8.0, 16.0, 32.0, 64.0] {
            let mut joint = joints::from_text(&format!(r#"
upper = {{ material = "{m}", thickness = "2 mm" }}
lower = {{ material = "{m}", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "{content}" }} }}
beam = {{ wavelength = "980 nm", length = "2 mm", width = "2 mm", power = "8 W" }}
motion = {{ mode = "contour", speed = "20 mm/s" }}
"#));
            joint.beam.power_w = p;
            let joint = with_gap(&joint, 20e-6);
            let it = outcome(&joint);
            println!("{m} {content} {p} W: {:?} {:?} peak {:.0} {:.0} steps {:?} ledger {:e} {}", it.verdict, it.history.film, it.history.interface_peak_upper_k-273.15, it.history.body_peak_k-273.15, it.history.counters, it.history.ledger.relative_residual(), it.governing.rule.name());
        }
    }
    let _ = Verdict::Sound;
}
