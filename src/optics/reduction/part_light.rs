//! What coefficients with standard errors say about a part of any thickness.
//!
//! Three numbers of a part: T and R in air, as a spectrometer would read them, and the light
//! delivered to a black lower part in optical contact, which is what welds. Contact takes the back
//! face of the part away: light that would be reflected there, totally beyond the critical angle,
//! goes on into the lower part.
//!
//! ```text
//! σ² = Δa² + Δs² + 2 ρ Δa Δs,      Δ = f(µ + σµ) − f(µ)
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | σµ, ρ | `standard_error`, `correlation` | of absorption and reduced scattering | 1/m, – |
//! | Δa, Δs | – | change with one standard error of absorption, of scattering | – |
//!
//! Holds for: a black lower part of the same index that sends nothing back. Checked in:
//! `tests/optics/reduction.rs`.

use crate::error::Error;
use crate::material::OpticalConstants;
use crate::optics::adding_doubling::{Incidence, Resolution, totals};
use crate::optics::invert::{Estimate, Pair};
use crate::optics::slab::{Slab, Stack};
use crate::optics::{Method, absorb};

/// Absorption coefficient (1/m) and thickness (m) of the black lower part: e⁻³⁰ gets through.
const BLACK: (f64, f64) = (1e4, 3e-3);

/// A share of the light with its standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// The share, 0 to 1.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// Light in a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartLight {
    /// Total transmittance in air.
    pub transmitted: Told,
    /// Total reflectance in air.
    pub reflected: Told,
    /// Share delivered to a black lower part in contact; none where it was not asked for.
    pub delivered: Option<Told>,
}

/// The part that is asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Refractive index.
    pub n: f64,
    /// Anisotropy.
    pub g: f64,
    /// Whether the light delivered in contact is wanted, which takes longer.
    pub delivered: bool,
}

/// Light in a part of the coefficients of `estimate`.
///
/// # Errors
/// Values out of the range of adding-doubling.
pub fn part_light(part: &Part, estimate: &Estimate) -> Result<PartLight, Error> {
    let Pair {
        mu_a_per_m,
        mu_s_reduced_per_m,
    } = estimate.pair;
    let error = estimate.standard_error;
    let here = shares(part, estimate.pair)?;
    let more_absorption = shares(
        part,
        Pair {
            mu_a_per_m: mu_a_per_m + error.mu_a_per_m,
            mu_s_reduced_per_m,
        },
    )?;
    let more_scattering = shares(
        part,
        Pair {
            mu_a_per_m,
            mu_s_reduced_per_m: mu_s_reduced_per_m + error.mu_s_reduced_per_m,
        },
    )?;
    let correlation = if estimate.correlation.is_finite() {
        estimate.correlation
    } else {
        0.0
    };
    let told = |i: usize| {
        let (a, s) = (more_absorption[i] - here[i], more_scattering[i] - here[i]);
        Told {
            value: here[i],
            standard_error: (a * a + s * s + 2.0 * correlation * a * s).max(0.0).sqrt(),
        }
    };
    Ok(PartLight {
        transmitted: told(0),
        reflected: told(1),
        delivered: part.delivered.then(|| told(2)),
    })
}

/// T and R in air, and the share delivered in contact.
fn shares(part: &Part, pair: Pair) -> Result<[f64; 3], Error> {
    let slab = Slab {
        thickness_m: part.thickness_m,
        constants: pair.constants(part.n, part.g),
    };
    let alone = Stack::alone(slab);
    let in_air = totals(&alone, Incidence::Normal, Resolution::standard())?;
    let delivered = if part.delivered {
        let black = Slab {
            thickness_m: BLACK.1,
            constants: OpticalConstants {
                n: part.n,
                mu_a_per_m: BLACK.0,
                mu_s_per_m: 0.0,
                g: 0.0,
            },
        };
        let joint = Stack::contact(slab, black);
        absorb(&joint, Method::default_for(&joint))?.delivered_to_interface()
    } else {
        f64::NAN
    };
    Ok([in_air.transmitted, in_air.reflected, delivered])
}
