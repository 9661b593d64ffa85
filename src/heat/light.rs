//! Absorbed light as the grid takes it: shares of the nodes, and the depth in which it dies.

use crate::optics::DepthProfile;

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
