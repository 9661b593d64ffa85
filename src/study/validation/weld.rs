//! From temperatures to a verdict: kinetics of damage, and a window beside a published experiment.

use crate::error::Error;
use crate::study::power_limits::power_limits;
use crate::study::progress::Silent;
use crate::study::validation::table::{Rows, Worst};
use crate::study::validation::{Check, Finding, Given, Kind, Stage, Validation};
use crate::units::{MM, kelvin};
use crate::weld::Settings;

/// Damage of the cards, and the window of polycarbonate.
///
/// # Errors
/// The joint is refused.
pub fn checks(given: &Given) -> Result<Validation, Error> {
    let (energies, finding) = line_energies(given)?;
    Ok(Validation {
        checks: vec![damage(given), energies],
        findings: vec![finding],
    })
}

/// Temperature held for a time that gives a damaged share, against a table rounded to 1 °C.
fn damage(given: &Given) -> Check {
    let table = Rows::of(include_str!(
        "../../../tests/published/damage-hold-temperatures.csv"
    ));
    let holds = [
        ("1 % in 0.1 s", 0.01, 0.1),
        ("1 % in 1 s", 0.01, 1.0),
        ("1 % in 10 s", 0.01, 10.0),
        ("5 % in 1 s", 0.05, 1.0),
    ];
    let mut worst = Worst::default();
    for row in table.iter() {
        let card = given.damage.iter().find(|it| it.0 == row.word("card"));
        for (head, share, time_s) in holds {
            let Some((_, damage)) = card else {
                worst.add(f64::NAN);
                continue;
            };
            let (mut low_c, mut high_c) = (100.0, 900.0);
            for _ in 0..60 {
                let middle = 0.5 * (low_c + high_c);
                if 1.0 - (-damage.rate_per_s(kelvin(middle)) * time_s).exp() < share {
                    low_c = middle;
                } else {
                    high_c = middle;
                }
            }
            worst.compare(0.5 * (low_c + high_c), row.number(head));
        }
    }
    Check {
        stage: Stage::Weld,
        what: "temperatures that damage twelve polymers",
        kind: Kind::OtherProgram,
        source: "kinetics of the FDS Validation Guide, computed apart; rounded to 1 °C",
        values: worst.values,
        deviation: worst.deviation,
        limit: 0.6,
        unit: "K",
    }
}

/// Line energies of high strength read in the abstract, J/mm.
const PUBLISHED_J_PER_MM: (f64, f64) = (0.5, 1.3);

/// Sound line energies of polycarbonate beside a published experiment. The spot is not stated
/// there; 2 to 3 mm are common practice at that power.
fn line_energies(given: &Given) -> Result<(Check, Finding), Error> {
    let mut worst = Worst::default();
    let mut words = Vec::new();
    for spot_mm in [2.0, 2.5, 3.0] {
        let mut joint = given.polycarbonate.clone();
        joint.beam.length_m = spot_mm * MM;
        joint.beam.width_m = spot_mm * MM;
        let limits =
            power_limits(&[joint], (1.0, 400.0), &Settings::standard(), &Silent).remove(0)?;
        // 40 mm/s in the joint file.
        let energy = |it: Option<f64>| it.map_or(f64::NAN, |it| it / 40.0);
        let (low, high) = (energy(limits.low.power_w()), energy(limits.high.power_w()));
        let shared = high.min(PUBLISHED_J_PER_MM.1) - low.max(PUBLISHED_J_PER_MM.0);
        let missed = 1.0 - shared / (PUBLISHED_J_PER_MM.1 - PUBLISHED_J_PER_MM.0);
        worst.add(if shared.is_nan() { f64::NAN } else { missed });
        words.push(format!(
            "{low:.2} to {high:.2} J/mm with a spot of {spot_mm} mm"
        ));
    }
    let check = Check {
        stage: Stage::Weld,
        what: "sound line energies of PC: range missed",
        kind: Kind::Experiment,
        source: "hjxb article 20160714 (abstract): PC with 0.1 % carbon black, 0.5 to 1.3 J/mm, best 40 W at 40 mm/s",
        values: worst.values,
        deviation: worst.deviation,
        // Below one the ranges overlap: no more can be asked where the spot is not stated.
        limit: 1.0,
        unit: "of the range",
    };
    let finding = Finding {
        stage: Stage::Weld,
        what: "line energy for a strong weld, PC on PC with 0.1 % carbon black",
        theirs: "0.5 to 1.3 J/mm at high strength (hjxb article 20160714, abstract; spot not stated)",
        ours: words.join("; "),
        remark: "Plausibility only: the paper does not state spot, thickness or optical data, so \
                 overlap is all that can be asked.",
    };
    Ok((check, finding))
}
