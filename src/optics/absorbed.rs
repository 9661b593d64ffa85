//! The hand-over from light to heat: shares of the incident light, and absorbed light by depth.

use crate::numerics::interpolate::MonotoneCubic;
use crate::numerics::interpolate::TableFault;

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

    /// Mean depth at which the light that the layer absorbs is absorbed, m from its front face; zero
    /// where it absorbs nothing.
    pub fn mean_depth_m(&self) -> f64 {
        let total = self.total();
        if total <= 0.0 {
            return 0.0;
        }
        match self {
            DepthProfile::Exponential {
                down,
                up,
                mu_per_m,
                thickness_m,
            } => {
                let whole = mu_per_m * thickness_m;
                // 1/x − 1/(eˣ − 1), with its series where the difference cancels.
                let share = if whole < 1e-4 {
                    0.5 - whole / 12.0
                } else {
                    1.0 / whole - 1.0 / whole.exp_m1()
                };
                thickness_m * (down * share + up * (1.0 - share)) / total
            }
            DepthProfile::Tabulated(table) => {
                let points: Vec<(f64, f64)> = table.points().collect();
                let below: f64 = points
                    .windows(2)
                    .zip(table.slopes().windows(2))
                    .map(|(ends, slopes)| {
                        let h = ends[1].0 - ends[0].0;
                        h * (0.5 * (ends[0].1 + ends[1].1) + h * (slopes[0] - slopes[1]) / 12.0)
                    })
                    .sum();
                table.range().1 - below / total
            }
        }
    }

    /// Shares absorbed between neighbouring `edges_m` (ascending depths from the front face).
    pub fn between(&self, edges_m: &[f64]) -> Vec<f64> {
        let cumulative: Vec<f64> = edges_m.iter().map(|&z| self.cumulative(z)).collect();
        cumulative.windows(2).map(|w| w[1] - w[0]).collect()
    }
}

impl DepthProfile {
    /// Two layers that lie on each other as one, for a body that is more than one layer to light.
    ///
    /// The absorbed density should be continuous where they meet (equal absorption and index); a
    /// step there is rounded over the two neighbouring entries, the total stays exact.
    ///
    /// # Errors
    /// A profile is not finite, or a thickness not above zero.
    pub fn joined(first: (&Self, f64), second: (&Self, f64)) -> Result<Self, TableFault> {
        let (front, back) = (first.0.table(first.1)?, second.0.table(second.1)?);
        let above = front.at(first.1);
        let mut depths_m: Vec<f64> = front.points().map(|it| it.0).collect();
        let mut absorbed: Vec<f64> = front.points().map(|it| it.1).collect();
        let mut slopes = front.slopes().to_vec();
        if let (Some(last), Some(next)) = (slopes.last_mut(), back.slopes().first()) {
            *last = 0.5 * (*last + next);
        }
        depths_m.extend(back.points().skip(1).map(|it| first.1 + it.0));
        absorbed.extend(back.points().skip(1).map(|it| above + it.1));
        slopes.extend(&back.slopes()[1..]);
        MonotoneCubic::with_slopes(depths_m, absorbed, slopes).map(DepthProfile::Tabulated)
    }

    /// The profile as a table.
    fn table(&self, thickness_m: f64) -> Result<MonotoneCubic, TableFault> {
        match self {
            DepthProfile::Tabulated(table) => Ok(table.clone()),
            DepthProfile::Exponential { .. } => {
                let depths_m: Vec<f64> = (0..=EXPONENTIAL_CELLS)
                    .map(|i| thickness_m * f64::from(i) / f64::from(EXPONENTIAL_CELLS))
                    .collect();
                let absorbed = depths_m.iter().map(|&z| self.cumulative(z)).collect();
                MonotoneCubic::new(depths_m, absorbed)
            }
        }
    }
}

/// Entries a plain exponential is tabulated with where it is joined to another layer.
const EXPONENTIAL_CELLS: u32 = 256;

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
    /// The same light in the layers of a stack that has a layer more: between upper and lower part,
    /// of a thickness (m), absorbing nothing.
    pub fn with_film(mut self, thickness_m: f64) -> Self {
        let film = DepthProfile::Exponential {
            down: 0.0,
            up: 0.0,
            mu_per_m: 0.0,
            thickness_m,
        };
        self.layers.insert(self.lower, film);
        self.lower += 1;
        self
    }

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
