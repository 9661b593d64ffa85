//! One joint by three ways of following the light: what a spreadsheet, a fast and the exact way say.
//!
//! The Beer–Lambert way is that of a spreadsheet that starts from a spectrometer: the transmittance
//! T of the upper part alone, in air, total; one extinction that explains it, surface loss taken off;
//! light that stays collimated. Where T was not measured it is computed exactly from the part's
//! coefficients, so that the comparison is of the methods and not of the data:
//!
//! ```text
//! T = T(upper part in air, adding-doubling)        µ = −ln t / d,   T = (1 − r)² t / (1 − r² t²)
//! ```
//!
//! The extinction stands in for absorption and scattering of the upper part; the lower part has its
//! absorption as stated and its scattering is left out.
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | T | `transmittance_in_air` | total transmittance of the upper part alone, in air | – |
//! | µ | `extinction_per_m` | extinction that explains it | 1/m |
//! | d, r | – | thickness; Fresnel reflectance of one face | m, – |
//!
//! Source: the three methods are those of `optics`. Checked in: `tests/cli/compare.rs`.

use std::sync::Arc;

use crate::error::{Error, OpticsProblem};
use crate::material::optical::Reading;
use crate::material::{Optical, Sourced, Spectrum, Status};
use crate::optics::plaque::slab_extinction_per_m;
use crate::optics::{self, DepthProfile, Method, Slab, Stack};
use crate::study::power_limits::{PowerLimits, power_limits};
use crate::study::progress::Progress;
use crate::study::window::ranges;
use crate::weld::joint::Joint;
use crate::weld::light::stack_of;
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate};

/// Share of the light of the lower part whose depth is the depth of heating: 1 − 1/e, so that for a
/// plain exponential it is the penetration depth 1/µ.
pub const HEATED_SHARE: f64 = 1.0 - 0.367_879_441_171_442_33;

/// What one method says of a joint.
#[derive(Clone, Debug)]
pub struct MethodResult {
    /// The method.
    pub method: Method,
    /// The joint at its setpoint.
    pub outcome: Outcome,
    /// Lowest and highest sound power at the joint's speed.
    pub limits: PowerLimits,
    /// Depth of the lower part within which [`HEATED_SHARE`] of its light is absorbed, m; none where
    /// it absorbs nothing.
    pub heating_depth_m: Option<f64>,
}

impl MethodResult {
    /// Net share of the incident light that still goes down at a depth of the lower part.
    pub fn net_flux(&self, depth_m: f64) -> f64 {
        let light = &self.outcome.light;
        light.delivered_to_interface() - light.layers[light.lower].cumulative(depth_m)
    }
}

/// A joint by all methods.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// Total transmittance of the upper part alone, in air.
    pub transmittance_in_air: f64,
    /// Extinction that a spreadsheet finds from it, 1/m.
    pub extinction_per_m: f64,
    /// In the order of [`Method::ALL`].
    pub results: Vec<MethodResult>,
}

impl Comparison {
    /// What the exact method says.
    pub fn exact(&self) -> &MethodResult {
        &self.results[self.results.len() - 1]
    }
}

/// Follows the light of a joint by every method, and its heat with each.
///
/// # Errors
/// The light or the heat cannot be followed by one of them, or the upper part lets no light through.
pub fn compare_methods(
    joint: &Joint,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Comparison, Error> {
    let upper = upper_part(joint)?;
    let transmittance_in_air =
        optics::absorb(&Stack::alone(upper), Method::AddingDoubling)?.transmitted;
    let n = upper.constants.n;
    let extinction_per_m =
        slab_extinction_per_m(n, transmittance_in_air, upper.thickness_m).max(0.0);
    if !extinction_per_m.is_finite() || MOST_EXTINCTION < extinction_per_m * upper.thickness_m {
        return Err(Error::new(OpticsProblem::MethodDoesNotApply {
            method: Method::BeerLambert.name().into(),
            reason: format!(
                "the upper part lets {transmittance_in_air:.1e} of the light through, too little \
                 for an extinction"
            ),
        })
        .cure("choose a thinner or clearer upper part, or another wavelength"));
    }
    let joints: Vec<Joint> = Method::ALL
        .iter()
        .map(|&method| match method {
            Method::BeerLambert => by_transmittance(joint, extinction_per_m),
            Method::TwoFlux | Method::AddingDoubling => Joint {
                method: Some(method),
                ..joint.clone()
            },
        })
        .collect();
    let limits = power_limits(&joints, ranges(joint).0, settings, progress);
    let results = Method::ALL
        .into_iter()
        .zip(simulate(&joints, settings))
        .zip(limits)
        .map(|((method, outcome), limits)| {
            let outcome = outcome?;
            let layer = &outcome.light.layers[outcome.light.lower];
            let heating_depth_m = depth_of_share(layer, joint.lower.thickness_m, HEATED_SHARE);
            Ok(MethodResult {
                method,
                outcome,
                limits: limits?,
                heating_depth_m,
            })
        })
        .collect::<Result<Vec<_>, Error>>()?;
    Ok(Comparison {
        transmittance_in_air,
        extinction_per_m,
        results,
    })
}

/// Optical thickness above which no spectrometer sees a signal.
const MOST_EXTINCTION: f64 = 60.0;

/// Halvings of a depth; 1e-12 of the thickness is left.
const HALVINGS: usize = 40;

fn upper_part(joint: &Joint) -> Result<Slab, Error> {
    let stack = stack_of(joint)?;
    Ok(stack.slabs[stack.upper])
}

/// The joint as a spreadsheet sees it.
fn by_transmittance(joint: &Joint, extinction_per_m: f64) -> Joint {
    let mut seen = joint.clone();
    let source = "transmittance of the part alone, in air";
    seen.method = Some(Method::BeerLambert);
    seen.upper.absorber = None;
    seen.upper.moisture = None;
    seen.upper.optical = Arc::new(Optical {
        refractive_index: joint.upper.optical.refractive_index.clone(),
        absorption: Some(Sourced::new(
            Spectrum::constant(extinction_per_m),
            source,
            Status::Computed,
        )),
        scattering: None,
        anisotropy: None,
        reading: Reading::EffectiveExtinction,
    });
    seen
}

/// Depth within which a share of the light of a layer is absorbed, m; none where there is none.
fn depth_of_share(layer: &DepthProfile, thickness_m: f64, share: f64) -> Option<f64> {
    let wanted = share * layer.total();
    if wanted <= 0.0 {
        return None;
    }
    let (mut shallow, mut deep) = (0.0, thickness_m);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (shallow + deep);
        if layer.cumulative(middle) < wanted {
            shallow = middle;
        } else {
            deep = middle;
        }
    }
    Some(0.5 * (shallow + deep))
}
