//! One homogeneous scattering layer, doubled up from a thin one.
//!
//! A layer lit alike from both sides, or oppositely, answers with a symmetric or antisymmetric
//! field. At its face the difference q of the two ways then is a fixed linear function of their
//! sum s, or the other way round; z counts from the middle, h is half the thickness:
//!
//! ```text
//! symmetric       q(h) = −Z s(h),   Z = Q h φ(P Q h²),     φ(x) = tanh √x / √x
//! antisymmetric   s(h) = −Y q(h),   Y = h φ(P Q h²) P
//! doubling        Z(2h) = 2 (1 + Z Y)⁻¹ Z,    Y(2h) = 2 Y (1 + Z Y)⁻¹
//! reflectance     R = (1 + Z)⁻¹ − (1 + Y)⁻¹
//! transmittance   T = (1 + Z)⁻¹ + (1 + Y)⁻¹ − 1
//! ```
//!
//! The doubling rule is that of tanh, tanh 2x = 2 tanh x / (1 + tanh² x), and is the same as adding
//! two equal layers, R' = R + T R (1 − R²)⁻¹ T and T' = T (1 − R²)⁻¹ T. In Z and Y it has no number
//! close to one in it, so that 30 doublings lose nothing: thin layers keep their relative
//! accuracy, and a layer that does not absorb reflects and passes all light to 1e-12.
//!
//! What the layer absorbs is followed beside it, y = Zᵀ √c, with y(2h) = 2 (1 + Z Y)⁻¹ y from
//! y = h φᵀ (µa √c/µ): a layer with s₁ and s₂ at its faces absorbs y·(s₁ + s₂), never a difference
//! of fluxes. That reflected, transmitted and absorbed light add up to one is then a true check.
//!
//! Start: φ(x) ≈ (945 + 105 x + x²) / (945 + 420 x + 15 x²), the [2/2] Padé approximant, with h so
//! thin that its error stays below 1e-6 in the flattest direction (√x ≤ 1.5) and far below in all
//! others.
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | P, Q | `odd`, `even` | see `redistribution` | 1/m |
//! | Z, Y | `even`, `odd` of [`Level`] | face operators | – |
//! | h | `half_m` | half the thickness | m |
//!
//! Source: doubling, H. C. van de Hulst, *Multiple Light Scattering* (1980), ch. 4; thin starting
//! layer, W. J. Wiscombe, J. Quant. Spectrosc. Radiat. Transf. 16 (1976) 637 (both from memory).
//! The form in Z and Y is our own. Checked in: `tests/optics/adding_doubling.rs` against the
//! exponential of the full system, and `tests/optics/limits.rs`.

use crate::numerics::small_matrix::Matrix;
use crate::optics::adding_doubling::redistribution::Redistribution;

/// Half thickness of the thinnest layer in free paths of the flattest direction.
const THIN: f64 = 1.5;

/// Least number of doublings, so that there are depths to report.
const LEAST_DOUBLINGS: usize = 5;

/// Face operators of a layer of one thickness.
#[derive(Clone, Debug)]
pub struct Level {
    /// Z.
    pub even: Matrix,
    /// Y.
    pub odd: Matrix,
    /// y.
    pub absorption: Vec<f64>,
}

/// A layer and all its halvings.
#[derive(Clone, Debug)]
pub struct Doubled {
    /// From the thinnest to the whole layer, each twice as thick as the one before.
    pub levels: Vec<Level>,
    /// Reflectance of the whole layer, from either side, without its faces.
    pub reflect: Matrix,
    /// Transmittance of the whole layer.
    pub through: Matrix,
}

impl Doubled {
    /// Doubles a layer up to its thickness.
    pub fn new(scattering: &Redistribution, thickness_m: f64) -> Self {
        let size = scattering.absorption.len();
        let steepest = (0..size)
            .map(|i| scattering.even.row(i)[i].max(scattering.odd.row(i)[i]))
            .fold(0.0, f64::max);
        let whole = 0.5 * thickness_m * steepest;
        let doublings = if THIN < whole {
            (whole / THIN).log2().ceil() as usize
        } else {
            0
        };
        let doublings = doublings.max(LEAST_DOUBLINGS);
        let half_m = 0.5 * thickness_m * 0.5_f64.powi(doublings as i32);
        let mut levels = vec![thin(scattering, half_m)];
        for _ in 0..doublings {
            let last = &levels[levels.len() - 1];
            levels.push(doubled(last));
        }
        let last = &levels[levels.len() - 1];
        let even = last.even.clone().plus_identity(1.0).inverse();
        let odd = last.odd.clone().plus_identity(1.0).inverse();
        Doubled {
            reflect: even.blend(1.0, &odd, -1.0),
            through: even.blend(1.0, &odd, 1.0).plus_identity(-1.0),
            levels,
        }
    }
}

fn thin(scattering: &Redistribution, half_m: f64) -> Level {
    let Redistribution {
        even,
        odd,
        absorption,
    } = scattering;
    let square = odd.times(even);
    let square = square.blend(half_m * half_m, &square, 0.0);
    let fourth = square.times(&square);
    let above = square.blend(105.0, &fourth, 1.0).plus_identity(945.0);
    let below = square.blend(420.0, &fourth, 15.0).plus_identity(945.0);
    let phi = below.factored().solve(above);
    let absorbed = (0..absorption.len())
        .map(|j| {
            let column = (0..absorption.len()).map(|i| absorption[i] * phi.row(i)[j]);
            half_m * column.sum::<f64>()
        })
        .collect();
    Level {
        even: even.times(&phi).symmetric_part(half_m),
        odd: phi.times(odd).symmetric_part(half_m),
        absorption: absorbed,
    }
}

fn doubled(layer: &Level) -> Level {
    let mixed = layer.even.times(&layer.odd).plus_identity(1.0).inverse();
    let absorption = mixed.times_vector(&layer.absorption);
    Level {
        even: mixed.times(&layer.even).symmetric_part(2.0),
        odd: layer.odd.times(&mixed).symmetric_part(2.0),
        absorption: absorption.iter().map(|it| 2.0 * it).collect(),
    }
}
