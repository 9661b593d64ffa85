//! One photon: free path, scattering, faces, until it is absorbed or leaves.
//!
//! ```text
//! free path        s = −ln ξ / (µa + µs), carried on across faces in mean free paths
//! absorption       a collision leaves the share µa / (µa + µs) of the weight on the spot
//! scattering       cos θ = (v (1 + g²) + g (v² + 3) / 2 + g³ (v² − 1) / 2) / (1 + g v)²
//! azimuth          uniform, from a point in the unit disc
//! face             reflected with the Fresnel probability, otherwise refracted
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | ξ | random number between 0 and 1 |
//! | v | random number between −1 and 1 |
//! | g | mean cosine of the scattering angle (Henyey–Greenstein) |
//!
//! The scattering formula is the usual inverse of the Henyey–Greenstein distribution multiplied
//! out, so that it needs no special case at g = 0.
//!
//! A photon whose weight has fallen below a limit plays for it: at its next collisions all of the
//! weight stays with probability µa / (µa + µs), or none. Like the usual roulette this is right on
//! average, and unlike it no weight is made or lost, so the energy balance closes in every run.
//!
//! Holds for: independent scattering, unpolarised light, no interference, smooth parallel faces.
//!
//! Sources: L. G. Henyey and J. L. Greenstein, Astrophys. J. 93 (1941) 70 (phase function);
//! L. Wang, S. L. Jacques and L. Zheng, Comput. Methods Programs Biomed. 47 (1995) 131 (photon
//! steps and faces); T. Duff et al., J. Comput. Graph. Tech. 6 (2017) 1 (frame about a direction).
//! Checked in: `tests/optics/photon.rs`.

use crate::numerics::random::Stream;
use crate::optics::photon_monte_carlo::medium::{Medium, Passage};
use crate::optics::photon_monte_carlo::tally::Tally;
use crate::optics::photon_monte_carlo::unscattered::FirstScattering;

/// Weight below which a collision absorbs all or nothing.
const LEAST_WEIGHT: f64 = 0.1;

/// Collisions after which a photon is given up; its weight is reported as unfinished.
pub const MOST_COLLISIONS: u64 = 1_000_000;

/// A direction as its cosines along x, y and depth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    /// Along x.
    pub x: f64,
    /// Along y.
    pub y: f64,
    /// Down into the stack.
    pub z: f64,
}

impl Direction {
    /// Straight down or straight up.
    pub fn vertical(down: bool) -> Self {
        Direction {
            x: 0.0,
            y: 0.0,
            z: if down { 1.0 } else { -1.0 },
        }
    }

    /// The direction after scattering with mean cosine `g`.
    #[inline]
    pub fn scattered(self, g: f64, stream: &mut Stream) -> Self {
        // A point in the unit disc: its angle is the azimuth, and its squared distance from the
        // middle is an independent uniform number.
        let (a, b, squared) = loop {
            let a = stream.signed_uniform_32();
            let b = stream.signed_uniform_32();
            let squared = a * a + b * b;
            if squared < 1.0 {
                break (a, b, squared);
            }
        };
        let v = 2.0 * squared - 1.0;
        let below = 1.0 / (1.0 + g * v);
        let v2 = v * v;
        let above = v * (1.0 + g * g) + 0.5 * g * ((v2 + 3.0) + g * g * (v2 - 1.0));
        let cosine = (above * (below * below)).clamp(-1.0, 1.0);
        let lateral = ((1.0 - cosine * cosine) / squared).sqrt();
        let (p, q) = (a * lateral, b * lateral);

        let sign = 1f64.copysign(self.z);
        let c = -1.0 / (sign + self.z);
        let d = self.x * self.y * c;
        Direction {
            x: p * (1.0 + sign * self.x * self.x * c) + q * d + cosine * self.x,
            y: p * sign * d + q * (sign + self.y * self.y * c) + cosine * self.y,
            z: -p * sign * self.x - q * self.y + cosine * self.z,
        }
    }
}

/// A photon on its way.
#[derive(Clone, Copy, Debug)]
pub struct Photon {
    /// Layer it is in.
    layer: usize,
    /// Depth in that layer, m.
    depth_m: f64,
    /// Lateral position, m; zero is where straight light meets the interface.
    x_m: f64,
    y_m: f64,
    direction: Direction,
    weight: f64,
    scattered: bool,
}

impl Photon {
    /// A photon just scattered for the first time.
    #[inline]
    pub fn at(place: FirstScattering, medium: &Medium, stream: &mut Stream) -> Self {
        let g = medium.layers[place.layer].g;
        Photon {
            layer: place.layer,
            depth_m: place.depth_m,
            x_m: 0.0,
            y_m: 0.0,
            direction: Direction::vertical(place.down).scattered(g, stream),
            weight: 1.0,
            scattered: true,
        }
    }

    /// A photon that has entered the first layer from air in the x–depth plane.
    pub fn entering(sine_inside: f64, offset_m: f64) -> Self {
        Photon {
            layer: 0,
            depth_m: 0.0,
            x_m: -offset_m,
            y_m: 0.0,
            direction: Direction {
                x: sine_inside,
                y: 0.0,
                z: (1.0 - sine_inside * sine_inside).sqrt(),
            },
            weight: 1.0,
            scattered: false,
        }
    }

    /// Follows the photon to its end and notes in `tally` what it leaves.
    #[inline]
    pub fn follow(mut self, medium: &Medium, stream: &mut Stream, tally: &mut Tally) {
        let mut collisions = 0;
        let mut path = free_path(stream);
        loop {
            let layer = &medium.layers[self.layer];
            let down = 0.0 < self.direction.z;
            let cosine = self.direction.z.abs();
            let to_face_m = if down {
                layer.thickness_m - self.depth_m
            } else {
                self.depth_m
            };
            if path * cosine <= to_face_m * layer.mu_t_per_m && 0.0 < layer.mu_t_per_m {
                let way_m = path * layer.free_path_m;
                self.x_m += self.direction.x * way_m;
                self.y_m += self.direction.y * way_m;
                self.depth_m += self.direction.z * way_m;
                collisions += 1;
                if self.collide(medium, stream, tally) {
                    break;
                }
                if collisions == MOST_COLLISIONS {
                    tally.unfinished += self.weight;
                    break;
                }
                path = free_path(stream);
            } else {
                let way_m = (to_face_m / cosine).max(0.0);
                self.x_m += self.direction.x * way_m;
                self.y_m += self.direction.y * way_m;
                path = (path - way_m * layer.mu_t_per_m).max(0.0);
                self.depth_m = if down { layer.thickness_m } else { 0.0 };
                if self.meet_face(down, medium, stream, tally) {
                    break;
                }
            }
        }
        tally.collisions += collisions;
    }

    /// Leaves weight behind and turns; true where nothing is left.
    #[inline]
    fn collide(&mut self, medium: &Medium, stream: &mut Stream, tally: &mut Tally) -> bool {
        let layer = &medium.layers[self.layer];
        if layer.albedo < 1.0 {
            let whole = medium.bins_per_layer as f64 / layer.thickness_m;
            let bin = ((self.depth_m * whole) as usize).min(medium.bins_per_layer - 1);
            let deposit = &mut tally.absorbed[layer.first_bin + bin];
            if self.weight < LEAST_WEIGHT || layer.albedo == 0.0 {
                if layer.albedo <= stream.uniform_32() {
                    *deposit += self.weight;
                    return true;
                }
            } else {
                let scattered = self.weight * layer.albedo;
                *deposit += self.weight - scattered;
                self.weight = scattered;
            }
        }
        self.direction = self.direction.scattered(layer.g, stream);
        self.scattered = true;
        false
    }

    /// Reflects or passes at the face reached; true where the photon leaves the stack.
    #[inline]
    fn meet_face(
        &mut self,
        down: bool,
        medium: &Medium,
        stream: &mut Stream,
        tally: &mut Tally,
    ) -> bool {
        let face = if down { self.layer + 1 } else { self.layer };
        if let Passage::Step {
            reflectance,
            cos_beyond,
            index_ratio,
        } = medium.faces[face].meet(self.direction.z.abs(), down)
        {
            if 1.0 <= reflectance || stream.uniform_32() < reflectance {
                self.direction.z = -self.direction.z;
                return false;
            }
            self.direction.x *= index_ratio;
            self.direction.y *= index_ratio;
            self.direction.z = if down { cos_beyond } else { -cos_beyond };
        }
        if face == medium.interface {
            let net = if down { self.weight } else { -self.weight };
            tally.cross(net, self.x_m * self.x_m + self.y_m * self.y_m);
            if !self.scattered {
                tally.sharp += net;
            }
        }
        if face == 0 {
            if self.scattered {
                tally.reflected_scattered += self.weight;
            } else {
                tally.reflected_unscattered += self.weight;
            }
            return true;
        }
        if face == medium.layers.len() {
            if self.scattered {
                tally.transmitted_scattered += self.weight;
            } else {
                tally.transmitted_unscattered += self.weight;
            }
            return true;
        }
        if down {
            self.layer += 1;
            self.depth_m = 0.0;
        } else {
            self.layer -= 1;
            self.depth_m = medium.layers[self.layer].thickness_m;
        }
        false
    }
}

/// A free path in mean free paths.
#[inline]
fn free_path(stream: &mut Stream) -> f64 {
    -libm::log(stream.uniform_32())
}
