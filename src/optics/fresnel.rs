//! Reflection at a smooth boundary between two clear media.
//!
//! ```text
//! Rs = ( (n1 cos θ1 − n2 cos θ2) / (n1 cos θ1 + n2 cos θ2) )²
//! Rp = ( (n1 cos θ2 − n2 cos θ1) / (n1 cos θ2 + n2 cos θ1) )²
//! n1 sin θ1 = n2 sin θ2
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | n1, n2 | `Boundary` | refractive index, real | – |
//! | cos θ1 | `cos_in` | cosine of the angle of incidence | – |
//!
//! Holds for: smooth faces; unpolarised light is the mean of Rs and Rp; k of a plastic (below
//! 1e-3) changes R by less than 1e-6. Does not hold for: rough or textured faces.
//!
//! Source: M. Born and E. Wolf, *Principles of Optics*, 7th ed., sec. 1.5.2 (section from memory).
//! Checked in: `tests/optics/limits.rs`.

/// A smooth boundary, light going from `n_from` into `n_into`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Boundary {
    /// Refractive index on the side the light comes from.
    pub n_from: f64,
    /// Refractive index on the side the light goes into.
    pub n_into: f64,
}

/// Reflectance of each polarisation, between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Polarised {
    /// Electric field across the plane of incidence.
    pub s: f64,
    /// Electric field in the plane of incidence.
    pub p: f64,
}

/// Reflectance of `boundary` for both polarisations; total reflection is exactly 1.
pub fn polarised_reflectance(boundary: Boundary, cos_in: f64) -> Polarised {
    let Boundary { n_from, n_into } = boundary;
    let Some(cos_out) = cos_refracted(boundary, cos_in) else {
        return Polarised { s: 1.0, p: 1.0 };
    };
    let s = (n_from * cos_in - n_into * cos_out) / (n_from * cos_in + n_into * cos_out);
    let p = (n_from * cos_out - n_into * cos_in) / (n_from * cos_out + n_into * cos_in);
    Polarised { s: s * s, p: p * p }
}

/// Fraction of unpolarised power reflected at `boundary`, between 0 and 1.
///
/// Air to a plastic of index 1.5, straight on: ((1.5 − 1) / (1.5 + 1))² = 0.04.
///
/// ```
/// use lightseam::optics::fresnel::{Boundary, reflectance};
///
/// let air_to_plastic = Boundary { n_from: 1.0, n_into: 1.5 };
/// assert!((reflectance(air_to_plastic, 1.0) - 0.04).abs() < 1e-15);
/// ```
pub fn reflectance(boundary: Boundary, cos_in: f64) -> f64 {
    let Polarised { s, p } = polarised_reflectance(boundary, cos_in);
    0.5 * (s + p)
}

/// Cosines of a beam in plane layers of these indices, the first of them the medium it comes from;
/// 0 from where it is totally reflected.
///
/// The product n sin θ is the same in every layer: 30° in air is 19.5° in a plastic of index 1.5.
///
/// ```
/// use lightseam::optics::fresnel::cosines_in;
///
/// let cosines = cosines_in(&[1.0, 1.5, 1.0], 30_f64.to_radians());
/// assert!((cosines[1].acos().to_degrees() - 19.471).abs() < 1e-3);
/// assert!((cosines[2] - cosines[0]).abs() < 1e-15);
/// ```
pub fn cosines_in(indices: &[f64], incidence_rad: f64) -> Vec<f64> {
    let sine = indices.first().map_or(0.0, |n| n * incidence_rad.sin());
    indices
        .iter()
        .map(|n| (1.0 - (sine / n).powi(2)).max(0.0).sqrt())
        .collect()
}

/// Cosine of the angle of refraction; none where the light is totally reflected.
pub fn cos_refracted(boundary: Boundary, cos_in: f64) -> Option<f64> {
    let sin_out_squared = (boundary.n_from / boundary.n_into).powi(2) * (1.0 - cos_in * cos_in);
    (sin_out_squared < 1.0).then(|| (1.0 - sin_out_squared).sqrt())
}
