//! Absorbed light as the grid takes it: shares of the nodes, and the depth in which it dies.

use crate::heat::column::Column;
use crate::heat::layout::Layout;
use crate::optics::Absorbed;
use crate::optics::DepthProfile;

/// Light as the nodes of a column take it up.
#[derive(Clone, Debug)]
pub struct NodeLight {
    /// Shares of the incident light.
    pub share: Vec<f64>,
    /// Rise of the enthalpy in unit light, 1/m (`beginning`).
    pub heating: Vec<f64>,
}

impl NodeLight {
    /// Light that nothing absorbs, for so many nodes.
    pub fn none(nodes: usize) -> Self {
        NodeLight {
            share: vec![0.0; nodes],
            heating: vec![0.0; nodes],
        }
    }

    /// So much of the way from this light to another.
    pub fn towards(&self, other: &NodeLight, share: f64) -> Self {
        let between = |from: &[f64], to: &[f64]| {
            let pairs = from.iter().zip(to);
            pairs.map(|(a, b)| a + share * (b - a)).collect()
        };
        NodeLight {
            share: between(&self.share, &other.share),
            heating: between(&self.heating, &other.heating),
        }
    }

    /// The shares of light in the bodies of a column, whose nodes lie at `nodes` from their fronts, m.
    pub fn of(light: &Absorbed, column: &Column, layout: Layout, nodes: &[Vec<f64>]) -> Self {
        let mut it = NodeLight::none(layout.nodes());
        for (b, body) in column.bodies.iter().enumerate() {
            let shares = hat_shares(&light.layers[body.light_layer], &nodes[b]);
            it.add(layout.nodes_of(b).0, &shares);
        }
        it
    }

    /// Adds the shares of a body whose first node is `first`; a node between two bodies has both.
    pub fn add(&mut self, first: usize, shares: &[f64]) {
        for (sum, share) in self.share[first..].iter_mut().zip(shares) {
            *sum += share;
        }
    }
}

/// Share of unit light that the bodies of a column absorb.
pub fn absorbed_share(light: &Absorbed, column: &Column) -> f64 {
    let layers = column.bodies.iter().map(|it| it.light_layer);
    layers.map(|it| light.layers[it].total()).sum()
}

/// Depth in which all but 1/e of the light that a layer absorbs near its front is absorbed, m.
pub fn decay_m(profile: &DepthProfile, thickness_m: f64) -> f64 {
    match profile {
        DepthProfile::Exponential { mu_per_m, .. } => 1.0 / mu_per_m.max(1e-3 / thickness_m),
        DepthProfile::Tabulated(_) => {
            let half = 0.5 * profile.total();
            if half <= 0.0 {
                return 1e3 * thickness_m;
            }
            let (mut low, mut high) = (0.0, thickness_m);
            for _ in 0..12 {
                let middle = 0.5 * (low + high);
                if profile.cumulative(middle) < half {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            high / std::f64::consts::LN_2
        }
    }
}

/// Shares of the incident light absorbed in a layer, weighted by the hat functions of its nodes
/// (distances from its front, m).
pub fn hat_shares(profile: &DepthProfile, z: &[f64]) -> Vec<f64> {
    let mut shares = vec![0.0; z.len()];
    let cells = z.len() - 1;
    match *profile {
        DepthProfile::Exponential {
            down,
            up,
            mu_per_m,
            thickness_m,
        } => {
            let whole = mu_per_m * thickness_m;
            if whole < 1e-12 {
                for j in 0..cells {
                    let half = 0.5 * (down + up) * (z[j + 1] - z[j]) / thickness_m;
                    shares[j] += half;
                    shares[j + 1] += half;
                }
                return shares;
            }
            let missed = -(-whole).exp_m1();
            let mut left = 1.0;
            for j in 0..cells {
                let depth = mu_per_m * (z[j + 1] - z[j]);
                let (near, far) = hat_parts(depth);
                let below = (-mu_per_m * (thickness_m - z[j + 1])).exp();
                let (down, up) = (down / missed * left, up / missed * below);
                shares[j] += down * near + up * far;
                shares[j + 1] += down * far + up * near;
                left *= (-depth).exp();
            }
        }
        DepthProfile::Tabulated(_) => {
            // ∫ q (z − a)/ℓ dz = Q(b) − mean of Q, by parts; the mean by Gauss's rule.
            const GAUSS: [(f64, f64); 3] = [
                (-0.774_596_669_241_483_4, 5.0 / 18.0),
                (0.0, 8.0 / 18.0),
                (0.774_596_669_241_483_4, 5.0 / 18.0),
            ];
            let mut before = profile.cumulative(z[0]);
            for j in 0..cells {
                let (middle, half) = (0.5 * (z[j] + z[j + 1]), 0.5 * (z[j + 1] - z[j]));
                let after = profile.cumulative(z[j + 1]);
                let mean: f64 = GAUSS
                    .iter()
                    .map(|(x, w)| w * profile.cumulative(middle + x * half))
                    .sum();
                shares[j] += mean - before;
                shares[j + 1] += after - mean;
                before = after;
            }
        }
    }
    shares
}

/// Shares of what exp(−x), 0 < x < `depth`, loses that go to the near and to the far end.
fn hat_parts(depth: f64) -> (f64, f64) {
    let lost = -(-depth).exp_m1();
    let far = if depth < 1e-3 {
        depth * (0.5 - depth * (1.0 / 3.0 - depth / 8.0))
    } else {
        (lost - depth * (-depth).exp()) / depth
    };
    (lost - far, far)
}
