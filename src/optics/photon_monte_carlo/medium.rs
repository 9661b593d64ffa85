//! The stack as photons meet it: layers and faces with everything precomputed.

use crate::optics::fresnel::{Boundary, cos_refracted, reflectance};
use crate::optics::slab::Stack;

/// One layer.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Extinction µa + µs, 1/m; zero in a clear layer.
    pub mu_t_per_m: f64,
    /// 1 / (µa + µs), m; infinite in a clear layer.
    pub free_path_m: f64,
    /// µs / (µa + µs); zero in a clear layer.
    pub albedo: f64,
    /// Mean cosine of the scattering angle.
    pub g: f64,
    /// First bin of this layer in the list of absorption bins.
    pub first_bin: usize,
    /// Absorption bins a metre, 1/m.
    pub bins_per_m: f64,
}

/// The face in front of a layer, or behind the last.
#[derive(Clone, Copy, Debug)]
pub struct Face {
    /// Index above, on the side the light first comes from.
    n_above: f64,
    /// Index below.
    n_below: f64,
}

/// What a face does to a ray.
pub enum Passage {
    /// Straight through: the indices are equal.
    Unchanged,
    /// Reflected with this probability (1 for total reflection); otherwise refracted.
    Step {
        /// Probability of reflection.
        reflectance: f64,
        /// Cosine beyond the face, 0 where all is reflected.
        cos_beyond: f64,
        /// n before over n beyond: the factor on the lateral direction cosines.
        index_ratio: f64,
    },
}

impl Face {
    /// What happens to a ray with this cosine that goes `down` or up.
    #[inline]
    pub fn meet(&self, cos_in: f64, down: bool) -> Passage {
        if self.n_above == self.n_below {
            return Passage::Unchanged;
        }
        let (n_from, n_into) = if down {
            (self.n_above, self.n_below)
        } else {
            (self.n_below, self.n_above)
        };
        let boundary = Boundary { n_from, n_into };
        Passage::Step {
            reflectance: reflectance(boundary, cos_in),
            cos_beyond: cos_refracted(boundary, cos_in).unwrap_or(0.0),
            index_ratio: n_from / n_into,
        }
    }
}

/// Layers between air and air.
#[derive(Clone, Debug)]
pub struct Medium {
    /// The layers in the order the light meets them.
    pub layers: Vec<Layer>,
    /// `faces[i]` stands in front of `layers[i]`; the last stands behind the last layer.
    pub faces: Vec<Face>,
    /// The face in front of the lower part.
    pub interface: usize,
    /// Depth of that face, m.
    pub interface_depth_m: f64,
    /// Absorption bins in each layer, all of equal thickness.
    pub bins_per_layer: usize,
}

impl Medium {
    /// Prepares `stack`, with so many absorption bins in each layer.
    pub fn new(stack: &Stack, bins_per_layer: usize) -> Self {
        let bins_per_layer = bins_per_layer.max(1);
        let layers = stack
            .slabs
            .iter()
            .enumerate()
            .map(|(index, slab)| {
                let mu_t_per_m = slab.constants.mu_a_per_m + slab.constants.mu_s_per_m;
                Layer {
                    thickness_m: slab.thickness_m,
                    mu_t_per_m,
                    free_path_m: 1.0 / mu_t_per_m,
                    albedo: if 0.0 < mu_t_per_m {
                        slab.constants.mu_s_per_m / mu_t_per_m
                    } else {
                        0.0
                    },
                    g: slab.constants.g,
                    first_bin: index * bins_per_layer,
                    bins_per_m: bins_per_layer as f64 / slab.thickness_m,
                }
            })
            .collect();
        let faces = stack
            .indices()
            .windows(2)
            .map(|pair| Face {
                n_above: pair[0],
                n_below: pair[1],
            })
            .collect();
        Medium {
            layers,
            faces,
            interface: stack.lower,
            interface_depth_m: stack.slabs[..stack.lower]
                .iter()
                .map(|slab| slab.thickness_m)
                .sum(),
            bins_per_layer,
        }
    }

    /// Lateral way of a ray that goes straight from the first face to the interface, m.
    pub fn straight_offset_m(&self, incidence_rad: f64) -> f64 {
        let sine = incidence_rad.sin();
        let mut offset_m = 0.0;
        for (layer, face) in self.layers.iter().zip(&self.faces).take(self.interface) {
            let sine_inside = sine / face.n_below;
            offset_m += layer.thickness_m * sine_inside / (1.0 - sine_inside.powi(2)).sqrt();
        }
        offset_m
    }
}
