//! Kubelka and Munk's two fluxes: a fast approximation for layers that make light diffuse.
//!
//! Light is followed as two diffuse fluxes, down and up, with one pair of coefficients a layer and
//! the faces' reflectances for diffuse light (Saunderson's correction). The beam reaches the first
//! scattering layer as in `beer_lambert` and counts as diffuse from there on.
//!
//! ```text
//! dd/dz = −(K + S) d + S u,   du/dz = (K + S) u − S d
//! layer   K = 2 µa,  S = ¾ µs' − ¼ µa,   µs' = µs (1 − g)
//!         R = sinh x / (a sinh x + b cosh x),  T = b / (a sinh x + b cosh x)
//!         a = 1 + K/S,  b = √(a² − 1),  x = b S h
//! little scattering (µs' ≤ µa/3, where S would be negative)
//!         K = √(3 µa (µa + µs')),  S = 0,   τ = K h / √3
//!         R = 0,  T = ∫ µ (1 + 3µ/2) exp(−τ/µ) dµ = E₃(τ) + 3/2 E₄(τ)
//! face    r = ∫ 2 µ r(µ) dµ from the rarer side,   1 − (1 − r) (n_rare / n_dense)² from the denser
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | K, S | `Coefficients` | absorption and backscattering of diffuse light | 1/m |
//! | R, T | `Slice` | reflectance and transmittance of a layer of thickness h, no faces | – |
//! | T at S = 0 | `passage` | diffuse light that came out of a scattering layer | – |
//! | r | `diffuse_reflectance` | reflectance of a face for diffuse light | – |
//!
//! Holds for: diffuse light, µa up to a tenth of µs' = µs (1 − g) (R and T within 0.03 of
//! `adding_doubling` without faces). A beam takes about one length 1/µs' to become diffuse, so for
//! beams: layers of three and more such lengths with µa up to µs'/50, R and T within 0.09 and the
//! flux delivered to a lower part within a quarter. K of both kinds of layer gives the decay of
//! diffusion theory, √(3 µa (µa + µs')), and they meet at µs' = µa/3. Light that comes out of a
//! scattering layer leans forwards, 1 + 3µ/2 (Eddington): in a clear absorbing lower part it begins
//! to die 1.75 times as fast as a beam. Of the light that enters the lower part behind a scattering
//! lid, the share left at any depth is within 0.01 of `adding_doubling` where it is clear (K = 2 µa
//! would be 0.1 off), 0.015 up to µs' = µa/3, 0.05 just above, 0.025 at µs' = 2 µa. Does not hold for:
//! thin hazes, which let the beam through (0.2 off), and µa near µs' in the upper part (delivered flux
//! wrong by its half). A stack without scattering is Beer–Lambert exactly, at any angle.
//!
//! Source: P. Kubelka, J. Opt. Soc. Am. 38 (1948) 448; J. L. Saunderson, J. Opt. Soc. Am. 32 (1942)
//! 727; K and S from µa and µs': M. J. C. van Gemert and W. M. Star, Lasers Life Sci. 1 (1987) 287
//! (all from memory). Checked in: `tests/optics/two_flux.rs`.

use std::sync::LazyLock;

use crate::error::{Error, OpticsProblem};
use crate::numerics::interpolate::MonotoneCubic;
use crate::numerics::quadrature::{Rule, gauss_legendre};
use crate::optics::absorbed::{Absorbed, DepthProfile};
use crate::optics::beer_lambert;
use crate::optics::fresnel::{Boundary, cosines_in, reflectance};
use crate::optics::slab::{Slab, Stack};

/// Name of the method in messages.
pub(crate) const NAME: &str = "two-flux";

/// Points of the mean over the hemisphere.
const HEMISPHERE_POINTS: usize = 24;

/// Directions of diffuse light in a layer that turns none of it back.
static PASSAGE: LazyLock<Rule> = LazyLock::new(|| gauss_legendre(16));

/// Depths at which a layer is tabulated on either side of its middle.
const DEPTHS: i32 = 28;

/// Ratio of neighbouring distances from the nearer face.
const DEPTH_RATIO: f64 = 0.7;

/// Kubelka and Munk's coefficients of one layer, 1/m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficients {
    /// Absorption of diffuse light.
    pub absorption_per_m: f64,
    /// Backscattering of diffuse light.
    pub backscattering_per_m: f64,
}

impl Coefficients {
    /// Those of a layer.
    pub fn of(slab: &Slab) -> Self {
        let mu_a_per_m = slab.constants.mu_a_per_m;
        let reduced_per_m = slab.constants.mu_s_per_m * (1.0 - slab.constants.g);
        let backscattering_per_m = 0.75 * reduced_per_m - 0.25 * mu_a_per_m;
        if 0.0 < backscattering_per_m {
            Coefficients {
                absorption_per_m: 2.0 * mu_a_per_m,
                backscattering_per_m,
            }
        } else {
            Coefficients {
                absorption_per_m: (3.0 * mu_a_per_m * (mu_a_per_m + reduced_per_m)).sqrt(),
                backscattering_per_m: 0.0,
            }
        }
    }

    /// Reflectance and transmittance of a slice without faces.
    pub fn slice(&self, thickness_m: f64) -> Slice {
        let (k, s) = (self.absorption_per_m, self.backscattering_per_m);
        if s == 0.0 {
            return Slice {
                reflect: 0.0,
                through: self.passage(thickness_m)[0],
            };
        }
        if k == 0.0 {
            let x = s * thickness_m;
            return Slice {
                reflect: x / (1.0 + x),
                through: 1.0 / (1.0 + x),
            };
        }
        let a = 1.0 + k / s;
        let b = (k / s * (2.0 + k / s)).sqrt();
        let x = b * s * thickness_m;
        // sinh and cosh over e^x, so that thick layers do not overflow.
        let sinh = -0.5 * (-2.0 * x).exp_m1();
        let cosh = 0.5 * (1.0 + (-2.0 * x).exp());
        let divisor = a * sinh + b * cosh;
        Slice {
            reflect: sinh / divisor,
            through: b * (-x).exp() / divisor,
        }
    }

    /// Share of diffuse light that passes a thickness without being turned back, and how much of
    /// it is lost per metre there.
    fn passage(&self, thickness_m: f64) -> [f64; 2] {
        let mu_per_m = self.absorption_per_m / 3f64.sqrt();
        if mu_per_m == 0.0 {
            return [1.0, 0.0];
        }
        let depth = mu_per_m * thickness_m;
        let terms = PASSAGE.points.iter().zip(&PASSAGE.weights);
        terms.fold([0.0, 0.0], |[left, lost], (&cosine, weight)| {
            let flux = weight * cosine * (1.0 + 1.5 * cosine) * (-depth / cosine).exp();
            [left + flux, lost + mu_per_m * flux / cosine]
        })
    }

    /// Light absorbed per metre, at a distance behind either face of light going away from it and
    /// with what goes down and up there.
    fn absorbed_per_m(&self, [front_m, back_m]: [f64; 2], ends: [f64; 2], here: [f64; 2]) -> f64 {
        if self.backscattering_per_m == 0.0 {
            ends[0] * self.passage(front_m)[1] + ends[1] * self.passage(back_m)[1]
        } else {
            self.absorption_per_m * (here[0] + here[1])
        }
    }
}

/// Diffuse reflectance and transmittance of a slice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slice {
    /// Reflectance from either side.
    pub reflect: f64,
    /// Transmittance.
    pub through: f64,
}

/// Reflectance of a face for diffuse light that comes from `n_from`.
pub fn diffuse_reflectance(boundary: Boundary) -> f64 {
    hemisphere_mean(boundary, &gauss_legendre(HEMISPHERE_POINTS))
}

fn hemisphere_mean(boundary: Boundary, rule: &Rule) -> f64 {
    let Boundary { n_from, n_into } = boundary;
    if n_into < n_from {
        let turned = Boundary {
            n_from: n_into,
            n_into: n_from,
        };
        return 1.0 - (1.0 - hemisphere_mean(turned, rule)) * (n_into / n_from).powi(2);
    }
    let terms = rule.points.iter().zip(&rule.weights);
    terms
        .map(|(&cosine, weight)| 2.0 * cosine * weight * reflectance(boundary, cosine))
        .sum()
}

/// Shares of unit light at normal incidence from air.
///
/// # Errors
/// The light is not finite, which means that a layer has values out of range.
pub fn absorb(stack: &Stack) -> Result<Absorbed, Error> {
    absorb_at(stack, 0.0)
}

/// Shares of unit light from air at an angle to the normal; the angle matters until the beam meets
/// the first scattering layer.
///
/// # Errors
/// As [`absorb`].
pub fn absorb_at(stack: &Stack, incidence_rad: f64) -> Result<Absorbed, Error> {
    let Some(first) = stack.slabs.iter().position(Slab::scatters) else {
        return Ok(beer_lambert::absorb_at(stack, incidence_rad));
    };
    let cosines = cosines_in(&stack.indices(), incidence_rad);
    let faces = Faces::new(stack, &cosines);
    let beam = Beam::new(stack, &faces, &cosines[1..], first);
    let diffuse = Diffuse::new(stack, &faces, first, beam.delivered);
    let layers: Result<Vec<DepthProfile>, Error> = (0..stack.slabs.len())
        .map(|i| {
            let straight = beam.ends.get(i).zip(beam.decays_per_m.get(i));
            profile(&stack.slabs[i], straight, diffuse.ends[i])
        })
        .collect();
    let last = stack.slabs.len();
    Ok(Absorbed {
        reflected: beam.reflected + diffuse.ends[0][1] * (1.0 - faces.from_below[0]),
        transmitted: diffuse.at_foot * (1.0 - faces.from_above[last]),
        layers: layers?,
        upper: stack.upper,
        lower: stack.lower,
    })
}

/// Reflectances of the faces, in front of each layer and behind the last.
struct Faces {
    /// For the beam.
    straight: Vec<f64>,
    /// For diffuse light going down.
    from_above: Vec<f64>,
    /// For diffuse light going up.
    from_below: Vec<f64>,
}

impl Faces {
    /// `cosines` of the beam in each medium, from the air in front.
    fn new(stack: &Stack, cosines: &[f64]) -> Self {
        let indices = stack.indices();
        let rule = gauss_legendre(HEMISPHERE_POINTS);
        let diffuse = |boundary| hemisphere_mean(boundary, &rule);
        let all = |of: &dyn Fn(Boundary) -> f64, turned: bool| -> Vec<f64> {
            indices
                .windows(2)
                .map(|pair| {
                    let (n_from, n_into) = if turned {
                        (pair[1], pair[0])
                    } else {
                        (pair[0], pair[1])
                    };
                    of(Boundary { n_from, n_into })
                })
                .collect()
        };
        Faces {
            straight: indices
                .windows(2)
                .zip(cosines)
                .map(|(pair, &cos_in)| {
                    let boundary = Boundary {
                        n_from: pair[0],
                        n_into: pair[1],
                    };
                    reflectance(boundary, cos_in)
                })
                .collect(),
            from_above: all(&diffuse, false),
            from_below: all(&diffuse, true),
        }
    }
}

/// The beam in the clear layers in front of the first scattering one.
struct Beam {
    /// Going down at the top and going up at the foot of each clear layer.
    ends: Vec<[f64; 2]>,
    /// Reflected without being scattered.
    reflected: f64,
    /// Decay in each clear layer against depth, 1/m.
    decays_per_m: Vec<f64>,
    /// Enters the scattering layer, where it counts as diffuse.
    delivered: f64,
}

impl Beam {
    /// `cosines` of the beam in each layer.
    fn new(stack: &Stack, faces: &Faces, cosines: &[f64], first: usize) -> Self {
        let decays_per_m: Vec<f64> = (stack.slabs[..first].iter().zip(cosines))
            .map(|(slab, cosine)| slab.constants.mu_a_per_m / cosine)
            .collect();
        let through = |i: usize| (-decays_per_m[i] * stack.slabs[i].thickness_m).exp();
        // What each face and all behind it sends back straight.
        let mut behind = vec![faces.straight[first]; first + 1];
        for i in (0..first).rev() {
            let returned = through(i).powi(2) * behind[i + 1];
            let r = faces.straight[i];
            behind[i] = r + (1.0 - r).powi(2) * returned / (1.0 - r * returned);
        }
        let mut arriving = 1.0;
        let mut ends = Vec::with_capacity(first);
        for i in 0..first {
            let (r, t) = (faces.straight[i], through(i));
            let down = arriving * (1.0 - r) / (1.0 - r * t * t * behind[i + 1]);
            ends.push([down, down * t * behind[i + 1]]);
            arriving = down * t;
        }
        Beam {
            ends,
            reflected: behind[0],
            decays_per_m,
            delivered: arriving * (1.0 - faces.straight[first]),
        }
    }
}

/// Diffuse light in all layers.
struct Diffuse {
    /// Going down at the top and going up at the top of each layer; going up at its foot.
    ends: Vec<[f64; 3]>,
    /// Going down at the foot of the last layer.
    at_foot: f64,
}

impl Diffuse {
    /// `source` goes down below the face of layer `first`.
    fn new(stack: &Stack, faces: &Faces, first: usize, source: f64) -> Self {
        let slices: Vec<Slice> = stack
            .slabs
            .iter()
            .map(|slab| Coefficients::of(slab).slice(slab.thickness_m))
            .collect();
        let count = slices.len();
        // Sent back by all below the foot of layer i, and by layer i and all below.
        let mut below = vec![faces.from_above[count]; count];
        let mut whole = vec![0.0; count];
        for i in (0..count).rev() {
            let Slice { reflect, through } = slices[i];
            whole[i] = reflect + through.powi(2) * below[i] / (1.0 - reflect * below[i]);
            if 0 < i {
                let (down, up) = (faces.from_above[i], faces.from_below[i]);
                below[i - 1] = down + (1.0 - down) * (1.0 - up) * whole[i] / (1.0 - up * whole[i]);
            }
        }
        // Sent back downwards by all above the top of layer i.
        let mut above = vec![faces.from_below[0]; count];
        for i in 1..count {
            let Slice { reflect, through } = slices[i - 1];
            let upper = reflect + through.powi(2) * above[i - 1] / (1.0 - reflect * above[i - 1]);
            let (down, up) = (faces.from_above[i], faces.from_below[i]);
            above[i] = up + (1.0 - up) * (1.0 - down) * upper / (1.0 - down * upper);
        }

        let mut ends = vec![[0.0; 3]; count];
        let mut down = source / (1.0 - above[first] * whole[first]);
        let mut at_foot = 0.0;
        for i in first..count {
            let Slice { reflect, through } = slices[i];
            at_foot = down * through / (1.0 - reflect * below[i]);
            ends[i] = [down, down * whole[i], at_foot * below[i]];
            if i + 1 < count {
                let (from_above, from_below) = (faces.from_above[i + 1], faces.from_below[i + 1]);
                down = at_foot * (1.0 - from_above) / (1.0 - from_below * whole[i + 1]);
            }
        }
        // Upwards through the clear layers in front: they send nothing back but by their faces.
        let mut up = ends[first][1];
        for i in (0..first).rev() {
            let through = slices[i].through;
            let (from_above, from_below) = (faces.from_above[i + 1], faces.from_below[i + 1]);
            let at_bottom =
                up * (1.0 - from_below) / (1.0 - from_above * through.powi(2) * above[i]);
            up = at_bottom * through;
            ends[i] = [up * above[i], up, at_bottom];
        }
        Diffuse { ends, at_foot }
    }
}

/// Absorbed light against depth in one layer, beam and diffuse light together.
fn profile(
    slab: &Slab,
    beam: Option<(&[f64; 2], &f64)>,
    [down, _, up]: [f64; 3],
) -> Result<DepthProfile, Error> {
    let thickness = slab.thickness_m;
    let mu_a_per_m = slab.constants.mu_a_per_m;
    if mu_a_per_m == 0.0 {
        return Ok(DepthProfile::Exponential {
            down: 0.0,
            up: 0.0,
            mu_per_m: 0.0,
            thickness_m: thickness,
        });
    }
    let coefficients = Coefficients::of(slab);
    // Net flux down and absorbed light per metre.
    let at = |depth: f64| -> [f64; 2] {
        let (front, back) = (
            coefficients.slice(depth),
            coefficients.slice(thickness - depth),
        );
        let loops = 1.0 - front.reflect * back.reflect;
        let d = (front.through * down + front.reflect * back.through * up) / loops;
        let u = (back.through * up + back.reflect * front.through * down) / loops;
        let [straight, returning, decay] = beam.map_or([0.0; 3], |(ends, decay)| {
            [
                ends[0] * (-decay * depth).exp(),
                ends[1] * (-decay * (thickness - depth)).exp(),
                *decay,
            ]
        });
        [
            d - u + straight - returning,
            coefficients.absorbed_per_m([depth, thickness - depth], [down, up], [d, u])
                + decay * (straight + returning),
        ]
    };
    let near: Vec<f64> = (0..DEPTHS)
        .rev()
        .map(|i| 0.5 * thickness * DEPTH_RATIO.powi(i))
        .collect();
    let mut depths = vec![0.0];
    depths.extend(&near);
    depths.extend(near.iter().rev().skip(1).map(|it| thickness - it));
    depths.push(thickness);
    let entering = at(0.0)[0];
    let values: Vec<[f64; 2]> = depths.iter().map(|&depth| at(depth)).collect();
    let absorbed = values.iter().map(|it| entering - it[0]).collect();
    let slopes = values.iter().map(|it| it[1]).collect();
    MonotoneCubic::with_slopes(depths, absorbed, slopes)
        .map(DepthProfile::Tabulated)
        .map_err(|fault| {
            Error::new(OpticsProblem::MethodDoesNotApply {
                method: NAME.into(),
                reason: format!("the light in a layer is not finite ({fault:?})"),
            })
        })
}
