//! The directions light is followed in, one set for all layers of a stack.
//!
//! Refraction keeps n sin θ, and n² cos θ dcos θ (the étendue) with it. A direction is therefore
//! named by its `sine` s = n sin θ: it is the same number in every layer, and so is its share of
//! étendue. In a layer of index n the direction runs at cos θ = √(1 − s²/n²) and exists while
//! s < n; beyond that the light is totally reflected at the layer's face. Faces thus couple each
//! direction only with itself, exactly, and lose no light.
//!
//! The points are Gauss points in pieces between the indices of the layers. In the piece that ends
//! at index b the variable is v = √(1 − s²/b²), the cosine in the medium of index b: Fresnel's
//! reflectance and the cosines in all denser layers are smooth functions of it, though they bend
//! sharply at the critical angle when written against the cosine in the plastic. The first piece
//! ends at air, b = 1, and its rule is Radau's, with a point at s = 0, straight on.
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | s | `sines` | n sin θ, ascending | – |
//! | c | `etendue` | weight of a direction in ∫ n² cos θ dcos θ | – |
//!
//! Source: the split at the critical angle follows S. A. Prahl, "The adding-doubling method", in
//! *Optical-Thermal Response of Laser-Irradiated Tissue* (1995), ch. 5 (chapter from memory); the
//! common étendue is ours. Checked in: `tests/optics/published.rs`, `tests/optics/limits.rs`.

use crate::numerics::quadrature::{Rule, kept_gauss_legendre, kept_gauss_radau};

/// Directions common to all layers.
#[derive(Clone, Debug, PartialEq)]
pub struct Directions {
    /// n sin θ of each direction, ascending from 0.
    pub sines: Vec<f64>,
    /// Étendue of each direction.
    pub etendue: Vec<f64>,
}

/// How finely directions and phase function are resolved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Resolution {
    /// Directions that can leave into air.
    pub escaping: usize,
    /// Directions totally reflected at a face to air.
    pub trapped: usize,
    /// Legendre moments of the phase function, the rest is a forward peak.
    pub moments: usize,
}

/// Least number of directions in a piece between two indices.
const LEAST_IN_PIECE: usize = 3;

/// Span of cosines, in the densest layer, from which trapped light gets all its directions; where
/// it spans less, the escaping light gets the rest.
const WIDE_SPAN: f64 = 0.6;

/// More directions in a piece that has another behind it: near the foot of such a piece the cosines
/// of the denser layers bend sharply.
const MORE_BETWEEN: usize = 2;

/// Indices closer than this (relative) are the same.
const SAME_INDEX: f64 = 1e-7;

/// Directions flatter than this squared cosine count as totally reflected.
const FLATTEST_COS_SQUARED: f64 = 1e-10;

/// Étendue of a direction that only carries incident light, relative to its cosine: so small that
/// what scatters into it cannot be noticed.
const BEAM_ETENDUE: f64 = 1e-12;

impl Directions {
    /// Directions for layers with these `indices` (air always counts), up to the total reflection
    /// of the densest layer that scatters, `densest`.
    pub fn new(indices: &[f64], densest: f64, resolution: Resolution) -> Self {
        let breaks = breaks(indices, densest);
        let mut directions = Directions {
            sines: Vec::new(),
            etendue: Vec::new(),
        };
        let cos = |s: f64| cos_squared(s, densest).max(0.0).sqrt();
        let trapped_span = cos(1.0);
        let trapped = share_of(resolution.trapped, trapped_span / WIDE_SPAN);
        let escaping = resolution.escaping + resolution.trapped - trapped;
        let mut from = 0.0;
        for (piece, &to) in breaks.iter().enumerate() {
            let rule = if breaks.len() == 1 {
                kept_gauss_radau(resolution.escaping + resolution.trapped)
            } else if piece == 0 {
                kept_gauss_radau(escaping)
            } else {
                let share = (cos(from) - cos(to)) / trapped_span;
                let more = if piece + 1 < breaks.len() {
                    MORE_BETWEEN
                } else {
                    0
                };
                kept_gauss_legendre(share_of(trapped, share) + more)
            };
            directions.add_piece(from, to, &rule);
            from = to;
        }
        directions
    }

    /// The same directions and one more, without weight, in which a beam comes in; with its place.
    pub fn with_beam(mut self, sine: f64) -> (Self, usize) {
        let place = self.sines.partition_point(|&s| s < sine);
        if self.sines.get(place) == Some(&sine) {
            return (self, place);
        }
        let etendue = BEAM_ETENDUE * cos_squared(sine, 1.0).max(0.0).sqrt();
        self.sines.insert(place, sine);
        self.etendue.insert(place, etendue);
        (self, place)
    }

    /// Cosines of the directions that exist in a layer of index `n`, which are the first ones.
    pub fn cosines_in(&self, n: f64) -> Vec<f64> {
        self.sines
            .iter()
            .map(|&s| cos_squared(s, n))
            .take_while(|&it| FLATTEST_COS_SQUARED < it)
            .map(f64::sqrt)
            .collect()
    }

    /// Square roots of the étendue, which turn power into the symmetric variable.
    pub fn roots(&self) -> Vec<f64> {
        self.etendue.iter().map(|c| c.sqrt()).collect()
    }

    fn add_piece(&mut self, from: f64, to: f64, rule: &Rule) {
        let widest = cos_squared(from, to).max(0.0).sqrt();
        for (point, weight) in rule.points.iter().zip(&rule.weights) {
            let v = point * widest;
            self.sines.push(to * (1.0 - v * v).max(0.0).sqrt());
            self.etendue.push(to * to * v * weight * widest);
        }
    }
}

/// A share of directions, at least [`LEAST_IN_PIECE`] and at most all.
fn share_of(directions: usize, share: f64) -> usize {
    let count = (share.min(1.0) * directions as f64).round() as usize;
    count.max(LEAST_IN_PIECE)
}

/// Squared cosine in a layer of index `n`; negative where the direction does not exist.
fn cos_squared(sine: f64, n: f64) -> f64 {
    let ratio = sine / n;
    (1.0 - ratio) * (1.0 + ratio)
}

/// Ends of the pieces, ascending: air, the layers' indices below the densest, the densest.
fn breaks(indices: &[f64], densest: f64) -> Vec<f64> {
    let mut between: Vec<f64> = indices
        .iter()
        .copied()
        .filter(|&n| 1.0 + SAME_INDEX < n && n < densest * (1.0 - SAME_INDEX))
        .collect();
    between.sort_by(f64::total_cmp);
    between.dedup_by(|later, earlier| *later < *earlier * (1.0 + SAME_INDEX));
    let mut breaks = vec![1.0];
    breaks.extend(between);
    if 1.0 + SAME_INDEX < densest {
        breaks.push(densest);
    }
    breaks
}
