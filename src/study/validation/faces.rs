//! Clear parts: faces, absorption and gaps, against a thin-film library and sums written out.

use crate::material::optical::{OpticalConstants, absorption_per_m};
use crate::optics::beer_lambert;
use crate::optics::slab::{Slab, Stack};
use crate::study::validation::table::{Rows, Worst};
use crate::study::validation::{Check, Kind, Stage, Validation};
use crate::units::{MM, NM};

/// Clear slabs by another library, and a gap by hand.
pub fn checks() -> Validation {
    Validation {
        checks: vec![clear_slabs(), gap()],
        findings: Vec::new(),
    }
}

fn clear_slabs() -> Check {
    let table = Rows::of(include_str!(
        "../../../tests/published/slab-normal-incidence.csv"
    ));
    let mut worst = Worst::default();
    for row in table.iter() {
        let wavelength_m = row.number("wavelength_nm") * NM;
        let slab = Slab {
            thickness_m: row.number("d_mm") * MM,
            constants: OpticalConstants {
                n: row.number("n"),
                mu_a_per_m: absorption_per_m(row.number("k"), wavelength_m),
                mu_s_per_m: 0.0,
                g: 0.0,
            },
        };
        let got = beer_lambert::absorb(&Stack {
            slabs: vec![slab],
            upper: 0,
            lower: 0,
        });
        worst.compare(got.reflected, row.number("R"));
        worst.compare(got.transmitted, row.number("T"));
    }
    Check {
        stage: Stage::Light,
        what: "R and T of clear slabs of six polymers",
        kind: Kind::OtherProgram,
        source: "S. J. Byrnes, arXiv 1603.02720, tmm 0.2.0; n and k of Zhang et al. (2020)",
        values: worst.values,
        deviation: worst.deviation,
        limit: 5e-5,
        unit: "of the light",
    }
}

fn gap() -> Check {
    let mut worst = Worst::default();
    for (n, mu_mm, d_mm) in [(1.5, 0.02, 1.0), (1.49, 0.3, 2.2), (1.58, 0.07, 0.6)] {
        let slab = |mu_mm: f64, d_mm: f64| Slab {
            thickness_m: d_mm * MM,
            constants: OpticalConstants {
                n,
                mu_a_per_m: mu_mm / MM,
                mu_s_per_m: 0.0,
                g: 0.0,
            },
        };
        let got = beer_lambert::absorb(&Stack {
            slabs: vec![slab(mu_mm, d_mm), Slab::air(2e-5), slab(30.0, 5.0)],
            upper: 0,
            lower: 2,
        });
        let r = ((n - 1.0_f64) / (n + 1.0)).powi(2);
        let film = 2.0 * r / (1.0 + r);
        let t = (-mu_mm * d_mm).exp();
        let expected = (1.0 - r) * t * (1.0 - film) / (1.0 - r * film * t * t);
        worst.compare(got.delivered_to_interface(), expected);
    }
    Check {
        stage: Stage::Light,
        what: "light delivered over a gap of air",
        kind: Kind::ClosedForm,
        source: "geometric series of the reflections, written out",
        values: worst.values,
        deviation: worst.deviation,
        limit: 1e-12,
        unit: "of the light",
    }
}
