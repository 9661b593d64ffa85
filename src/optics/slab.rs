//! Plane layers at one wavelength, in the order the light meets them.

use crate::material::optical::OpticalConstants;

/// One plane-parallel layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slab {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Optical constants at the wavelength in use.
    pub constants: OpticalConstants,
}

impl Slab {
    /// A film of air: an index step on either side and nothing in between.
    pub fn air(thickness_m: f64) -> Self {
        Slab::clear(1.0, thickness_m)
    }

    /// A layer that neither absorbs nor scatters.
    pub fn clear(n: f64, thickness_m: f64) -> Self {
        Slab {
            thickness_m,
            constants: OpticalConstants {
                n,
                mu_a_per_m: 0.0,
                mu_s_per_m: 0.0,
                g: 0.0,
            },
        }
    }

    /// Optical thickness (µa + µs) d, dimensionless.
    pub fn optical_thickness(&self) -> f64 {
        (self.constants.mu_a_per_m + self.constants.mu_s_per_m) * self.thickness_m
    }

    /// True where the layer scatters.
    pub fn scatters(&self) -> bool {
        0.0 < self.constants.mu_s_per_m
    }
}

/// Layers between air and air. `slabs[upper]` is the part the light passes and `slabs[lower]` the
/// part that absorbs; between them stands nothing (contact) or a film of air (gap), and before the
/// upper part perhaps a clamp plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Stack {
    /// The layers in the order the light meets them.
    pub slabs: Vec<Slab>,
    /// Index of the upper part.
    pub upper: usize,
    /// Index of the lower part, greater than `upper`.
    pub lower: usize,
}

impl Stack {
    /// One layer alone in air; it is its own upper and lower part.
    pub fn alone(slab: Slab) -> Self {
        Stack {
            slabs: vec![slab],
            upper: 0,
            lower: 0,
        }
    }

    /// Two parts in contact, in air.
    pub fn contact(upper: Slab, lower: Slab) -> Self {
        Stack {
            slabs: vec![upper, lower],
            upper: 0,
            lower: 1,
        }
    }

    /// True where a layer scatters.
    pub fn scatters(&self) -> bool {
        self.slabs.iter().any(Slab::scatters)
    }

    /// Refractive indices from the air before the first slab to the air behind the last,
    /// `slabs.len() + 2` of them.
    pub fn indices(&self) -> Vec<f64> {
        let inside = self.slabs.iter().map(|slab| slab.constants.n);
        std::iter::once(1.0)
            .chain(inside)
            .chain(std::iter::once(1.0))
            .collect()
    }
}
