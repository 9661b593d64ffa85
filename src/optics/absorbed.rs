//! The hand-over from light to heat: shares of the incident light, and absorbed light by depth.

use crate::numerics::interpolate::MonotoneCubic;

/// Light absorbed in one layer against depth, as shares of the incident light.
#[derive(Clone, Debug, PartialEq)]
pub enum DepthProfile {
    /// Two exponentials, light going down and light coming back up.
    Exponential {
        /// Share absorbed from the light going down.
        down: f64,
        /// Share absorbed from the light going up.
        up: f64,
        /// Absorption coefficient, 1/m.
        mu_per_m: f64,
        /// Thickness of the layer, m.
        thickness_m: f64,
    },
    /// Share absorbed between the front face and a depth (m), at chosen depths.
    Tabulated(MonotoneCubic),
}

impl DepthProfile {
    /// Share of the incident light absorbed in the whole layer.
    pub fn total(&self) -> f64 {
        match self {
            DepthProfile::Exponential { down, up, .. } => down + up,
            DepthProfile::Tabulated(table) => table.at(table.range().1),
        }
    }

    /// Share of the incident light absorbed between the front face of the layer and `depth_m`.
    pub fn cumulative(&self, depth_m: f64) -> f64 {
        match self {
            DepthProfile::Exponential {
                down,
                up,
                mu_per_m,
                thickness_m,
            } => {
                let whole = mu_per_m * thickness_m;
                if whole < 1e-12 {
                    return (down + up) * depth_m / thickness_m;
                }
                let missed = -(-whole).exp_m1();
                let behind = mu_per_m * (thickness_m - depth_m);
                let from_front = -(-mu_per_m * depth_m).exp_m1();
                let from_back = (-behind).exp() - (-whole).exp();
                (down * from_front + up * from_back) / missed
            }
            DepthProfile::Tabulated(table) => table.at(depth_m),
        }
    }

    /// Shares absorbed between neighbouring `edges_m` (ascending depths from the front face).
    pub fn between(&self, edges_m: &[f64]) -> Vec<f64> {
        let cumulative: Vec<f64> = edges_m.iter().map(|&z| self.cumulative(z)).collect();
        cumulative.windows(2).map(|w| w[1] - w[0]).collect()
    }
}

/// Where unit incident light ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Absorbed {
    /// Share reflected, specular and diffuse.
    pub reflected: f64,
    /// Share that leaves the last face.
    pub transmitted: f64,
    /// Absorption in each slab of the stack, in the stack's order.
    pub layers: Vec<DepthProfile>,
    /// Index of the upper part in `layers`.
    pub upper: usize,
    /// Index of the lower part in `layers`.
    pub lower: usize,
}

impl Absorbed {
    /// Share absorbed in the upper part.
    pub fn absorbed_upper(&self) -> f64 {
        self.layers[self.upper].total()
    }

    /// Share absorbed in the lower part.
    pub fn absorbed_lower(&self) -> f64 {
        self.layers[self.lower].total()
    }

    /// Net share that enters the lower part through the interface.
    pub fn delivered_to_interface(&self) -> f64 {
        let behind: f64 = self.layers[self.lower..]
            .iter()
            .map(DepthProfile::total)
            .sum();
        behind + self.transmitted
    }

    /// Sum of all shares minus one.
    pub fn energy_residual(&self) -> f64 {
        let absorbed: f64 = self.layers.iter().map(DepthProfile::total).sum();
        self.reflected + self.transmitted + absorbed - 1.0
    }
}
