//! From spectra to coefficients: another inversion, water twice measured, and what noise may hide.

use std::f64::consts::PI;

use crate::error::Error;
use crate::optics::adding_doubling::Resolution;
use crate::optics::invert::{
    Inverse, Pair, Reading, Setup, Sphere, Uncertainty, Why, invert, predict,
};
use crate::optics::reduction::part_light::Part;
use crate::optics::reduction::{SMALL, part_light};
use crate::study::validation::table::{Rows, Worst};
use crate::study::validation::{Check, Finding, Given, Kind, Stage, Validation};
use crate::units::{MM, NM};

/// Standard uncertainty of the instrument in these checks.
const PHOTOMETRIC: f64 = 0.003;

/// All checks of the reduction.
///
/// # Errors
/// A reading is refused.
pub fn checks(given: &Given) -> Result<Validation, Error> {
    let (measured, apart) = water_measured(given)?;
    let (noise, hidden) = kept_in_noise()?;
    Ok(Validation {
        checks: vec![inversion()?, water_by_hand(given)?, measured, noise],
        findings: vec![apart, hidden],
    })
}

fn setup(g: f64) -> Setup {
    Setup {
        g,
        uncertainty: Uncertainty {
            transmittance: PHOTOMETRIC,
            reflectance: PHOTOMETRIC,
            collimated: PHOTOMETRIC,
        },
        sphere: Sphere::ideal(),
    }
}

fn inversion() -> Result<Check, Error> {
    let table = Rows::of(include_str!("../../../tests/published/light-inverse.csv"));
    let mut worst = Worst::default();
    for row in table.iter() {
        let [a, b, d, g] = ["a", "b", "d", "g"].map(|it| row.number(it));
        let reading = Reading {
            thickness_m: d * MM,
            n: row.number("n"),
            total_transmittance: Some(row.number("T")),
            total_reflectance: Some(row.number("R")),
            collimated_transmittance: None,
        };
        match invert(&[reading], &setup(g))?.found() {
            Some(it) => {
                worst.compare_relative(it.pair.mu_a_per_m * MM, (1.0 - a) * b / d);
                worst.compare_relative(it.pair.mu_s_reduced_per_m * MM, a * b * (1.0 - g) / d);
            }
            None => worst.add(f64::NAN),
        }
    }
    Ok(Check {
        stage: Stage::Spectra,
        what: "absorption and scattering from T and R",
        kind: Kind::OtherProgram,
        source: "S. A. Prahl, iadpython 0.5.3, inverse adding-doubling",
        values: worst.values,
        deviation: worst.deviation,
        limit: 5e-4,
        unit: "relative",
    })
}

/// Water by the k it was made from.
fn water_by_hand(given: &Given) -> Result<Check, Error> {
    let mut worst = Worst::default();
    for (wavelength_nm, k) in [
        (940.0, 2.194e-6),
        (980.0, 3.409e-6),
        (1450.0, 3.633e-4),
        (1940.0, 1.91e-3),
    ] {
        let wavelength_m = wavelength_nm * NM;
        let found = given.water.at("absorption of water", wavelength_m)?;
        worst.compare_relative(found, 4.0 * PI * k / wavelength_m);
    }
    Ok(Check {
        stage: Stage::Spectra,
        what: "absorption of water from its k",
        kind: Kind::Published,
        source: "D. Segelstein (1981), k as printed at refractiveindex.info; 4 π k / λ by hand",
        values: worst.values,
        deviation: worst.deviation,
        limit: 1e-4,
        unit: "relative",
    })
}

/// Water against a second measurement: it agrees no better than a fifth.
fn water_measured(given: &Given) -> Result<(Check, Finding), Error> {
    let mut worst = Worst::default();
    let mut words = Vec::new();
    for (wavelength_nm, per_cm) in [(970.0, 0.46), (1450.0, 26.0), (1940.0, 114.0)] {
        let found = given.water.at("absorption of water", wavelength_nm * NM)? / 100.0;
        worst.compare_relative(found, per_cm);
        words.push(format!(
            "{:+.1} % at {:.2} µm",
            100.0 * (found / per_cm - 1.0),
            wavelength_nm / 1e3
        ));
    }
    let check = Check {
        stage: Stage::Spectra,
        what: "absorption of water, measured twice",
        kind: Kind::Experiment,
        source: "J. A. Curcio and C. C. Petty, J. Opt. Soc. Am. 41 (1951) 302 (from memory)",
        values: worst.values,
        deviation: worst.deviation,
        limit: 0.22,
        unit: "relative",
    };
    let finding = Finding {
        stage: Stage::Spectra,
        what: "absorption of liquid water",
        theirs: "J. A. Curcio and C. C. Petty (1951): 0.46, 26 and 114 /cm at 0.97, 1.45 and 1.94 µm \
                 (from memory)",
        ours: format!("D. Segelstein (1981), in use here: {}", words.join(", ")),
        remark: "Two measurements of water agree no better. Light that depends on moisture is known \
                 to a fifth of what the water absorbs.",
    };
    Ok((check, finding))
}

/// Scattering lost in noise is kept where it hardly matters: how far that moves the light delivered.
fn kept_in_noise() -> Result<(Check, Finding), Error> {
    let (n, g, thickness_m) = (1.53, 0.85, 2e-3);
    let part = Part {
        thickness_m,
        n,
        g,
        delivered: true,
    };
    let blank = Reading {
        thickness_m,
        n,
        total_transmittance: Some(0.0),
        total_reflectance: Some(0.0),
        collimated_transmittance: None,
    };
    let mut worst = Worst::default();
    for i in 0..60 {
        let pair = Pair {
            mu_a_per_m: 200.0 * 1.04f64.powi(i),
            mu_s_reduced_per_m: 60.0,
        };
        let reading = predict(&blank, pair, &setup(g), Resolution::standard())?;
        let Inverse::Undetermined {
            why: Why::ScatteringInNoise { .. },
            best: Some(best),
        } = invert(&[reading], &setup(g))?
        else {
            continue;
        };
        if best.standard_error.mu_s_reduced_per_m * thickness_m < SMALL
            && let Some(delivered) = part_light(&part, &best)?.delivered
        {
            worst.add(delivered.standard_error / delivered.value);
        }
    }
    let check = Check {
        stage: Stage::Spectra,
        what: "light delivered, scattering lost in noise",
        kind: Kind::Finer,
        source: "standard error of the part's light, from that of the coefficients",
        values: worst.values,
        deviation: worst.deviation,
        limit: 0.08,
        unit: "relative",
    };
    let finding = Finding {
        stage: Stage::Spectra,
        what: "scattering that a spectrum cannot tell from noise and is kept all the same",
        theirs: "nothing is known of it: at 0.3 % photometric uncertainty it may be nil",
        ours: format!(
            "the light delivered by a 2 mm part is then uncertain by up to {:.1} %",
            100.0 * worst.deviation
        ),
        remark: "Kept while its error times the thickness stays below a stated bound; beyond it the \
                 spectrum is refused there.",
    };
    Ok((check, finding))
}
