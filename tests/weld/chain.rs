//! Joints at the ends of what can be posed, from light to verdict: an answer or a clear refusal.
//!
//! Cost is bounded in steps, not in time: the heat stage gives up after a stated number of them.

use lightseam::heat::StopReason;
use lightseam::weld::{Interface, Joint, Motion, Outcome, Settings, Verdict, simulate};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use super::sensible::not_a_number;
use crate::support::joints::from_text;

/// Most steps of the heat stage any joint may take.
const MOST_STEPS: usize = 20_000;

/// One part or one number at an end of its range, or anywhere between on a logarithmic scale.
fn end_or_between(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(low),
        Just(high),
        (low.ln()..high.ln()).prop_map(f64::exp),
    ]
}

#[derive(Clone, Debug)]
struct Posed {
    thickness_m: [f64; 2],
    heating_s: f64,
    absorption_per_m: f64,
    power_w: f64,
    gap: usize,
    glass: bool,
}

fn posed() -> impl Strategy<Value = Posed> {
    (
        [end_or_between(1e-6, 50e-3), end_or_between(1e-6, 50e-3)],
        end_or_between(10e-6, 100.0),
        end_or_between(10.0, 1e6),
        prop_oneof![Just(0.0), end_or_between(1e-3, 1e4)],
        0..3_usize,
        any::<bool>(),
    )
        .prop_map(
            |(thickness_m, heating_s, absorption_per_m, power_w, gap, glass)| Posed {
                thickness_m,
                heating_s,
                absorption_per_m,
                power_w,
                gap,
                glass,
            },
        )
}

fn joint(posed: &Posed) -> Joint {
    let clamp = if posed.glass {
        "clamp = { material = \"glass\", thickness = \"10 mm\" }"
    } else {
        ""
    };
    let mut joint = from_text(&format!(
        r#"
upper = {{ material = "pmma", thickness = "1.5 mm" }}
lower = {{ material = "pmma", thickness = "3 mm", absorber = {{ kind = "carbon black", content = "0.3 %" }} }}
beam = {{ wavelength = "980 nm", length = "1 mm", width = "1 mm", power = "6 W" }}
motion = {{ mode = "contour", speed = "50 mm/s" }}
{clamp}
"#
    ));
    joint.upper.thickness_m = posed.thickness_m[0];
    joint.lower.thickness_m = posed.thickness_m[1];
    joint.beam.power_w = posed.power_w;
    joint.motion = Motion::Contour {
        speed_m_per_s: joint.beam.length_m / posed.heating_s,
    };
    if let Some(lightseam::material::Absorber::CarbonBlack { content, .. }) =
        &mut joint.lower.absorber
    {
        // Some 100 /mm for 1 %: from 0.01 to 1000 /mm, and no more than a third of the part.
        *content = (1e-2 * posed.absorption_per_m / 1e5).min(0.3);
    }
    joint.interface = match posed.gap {
        0 => Interface::Contact {
            conductance_w_per_m2_k: None,
        },
        1 => Interface::of_gap(1e-3),
        _ => Interface::of_gap(1e-6),
    };
    joint
}

fn sensible(posed: &Posed, outcome: &Outcome) {
    if let Some(what) = not_a_number(outcome) {
        panic!("{posed:?}: {what}");
    }
    let history = &outcome.history;
    assert!(history.counters.steps + history.counters.rejected <= MOST_STEPS);
    // Rounding of what 50 mm hold from the first is all that counts where hardly any heat came.
    let ledger = &history.ledger;
    let missing = ledger.absorbed_j_per_m2 - ledger.stored_j_per_m2 - ledger.lost_j_per_m2;
    let allowed = 1e-6 * ledger.absorbed_j_per_m2 + 1e-4;
    assert!(missing.abs() < allowed, "{posed:?}: {ledger:?}");
    if posed.power_w == 0.0 {
        assert_eq!(outcome.verdict, Verdict::Unfused);
        assert_eq!(history.stop, StopReason::Settled);
    }
}

#[test]
fn answers_or_refuses_whatever_is_posed() {
    let mut runner = TestRunner::new(Config {
        cases: 96,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(41),
        ..Config::default()
    });
    let settings = Settings::standard();
    let mut answered = std::cell::Cell::new(0);
    runner
        .run(&posed(), |posed| {
            let joint = joint(&posed);
            match simulate(&[joint], &settings).remove(0) {
                Ok(outcome) => {
                    sensible(&posed, &outcome);
                    answered.set(answered.get() + 1);
                }
                Err(error) => prop_assert!(20 < error.to_string().len(), "{error}"),
            }
            Ok(())
        })
        .unwrap();
    // Refusals are for the few that need it.
    assert!(80 < *answered.get_mut(), "{} answered", answered.get());
}
