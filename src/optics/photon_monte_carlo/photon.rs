//! One photon: free path, scattering, faces, until it is absorbed or leaves.
//!
//! ```text
//! free path        s = −ln ξ / (µa + µs), carried on across faces in mean free paths
//! absorption       a collision leaves the share µa / (µa + µs) of the weight on the spot
//! scattering       cos θ = (v (1 + g²) + g (v² + 3) / 2 + g³ (v² − 1) / 2) / (1 + g v)²
//! azimuth          uniform
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

use crate::numerics::random::{Stream, unit_circle, unit_interval};
use crate::optics::photon_monte_carlo::medium::{Layer, Medium, Passage};
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
    #[inline(always)]
    pub fn scattered(self, g: f64, turn: Turn) -> Self {
        let v = turn.v;
        let below = 1.0 / (1.0 + g * v);
        let v2 = v * v;
        let above = v * (1.0 + g * g) + 0.5 * g * ((v2 + 3.0) + g * g * (v2 - 1.0));
        let cosine = (above * (below * below)).clamp(-1.0, 1.0);
        let sine = (1.0 - cosine * cosine).sqrt();
        let (p, q) = (sine * turn.cos_azimuth, sine * turn.sin_azimuth);

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

/// The random numbers of one change of direction.
#[derive(Clone, Copy, Debug)]
pub struct Turn {
    /// Uniform between −1 and 1.
    v: f64,
    cos_azimuth: f64,
    sin_azimuth: f64,
}

impl Turn {
    #[inline(always)]
    fn from_bits(cosine_bits: u32, azimuth_bits: u32) -> Self {
        let (cos_azimuth, sin_azimuth) = unit_circle(azimuth_bits);
        Turn {
            v: 2.0 * unit_interval(cosine_bits) - 1.0,
            cos_azimuth,
            sin_azimuth,
        }
    }

    /// The next change of direction of a stream.
    pub fn draw(stream: &mut Stream) -> Self {
        let bits = stream.next_u64();
        Turn::from_bits(bits as u32, (bits >> 32) as u32)
    }
}

/// All random numbers of one free path and the collision at its end.
#[derive(Clone, Copy, Debug)]
struct Draws {
    /// Free path in mean free paths.
    path: f64,
    turn: Turn,
    /// Uniform between 0 and 1, for the game of a light photon.
    game: f64,
}

impl Draws {
    #[inline(always)]
    fn new(stream: &mut Stream) -> Self {
        let [first, second] = stream.next_pair();
        Draws {
            path: -libm::log(unit_interval(first as u32)),
            turn: Turn::from_bits((first >> 32) as u32, second as u32),
            game: unit_interval((second >> 32) as u32),
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
            direction: Direction::vertical(place.down).scattered(g, Turn::draw(stream)),
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
        let mut draws = Draws::new(stream);
        loop {
            let layer = &medium.layers[self.layer];
            let down = 0.0 < self.direction.z;
            let cosine = self.direction.z.abs();
            let to_face_m = if down {
                layer.thickness_m - self.depth_m
            } else {
                self.depth_m
            };
            if draws.path * cosine <= to_face_m * layer.mu_t_per_m && 0.0 < layer.mu_t_per_m {
                let way_m = draws.path * layer.free_path_m;
                self.x_m += self.direction.x * way_m;
                self.y_m += self.direction.y * way_m;
                self.depth_m += self.direction.z * way_m;
                collisions += 1;
                if self.collide(draws, layer, medium.bins_per_layer, tally) {
                    break;
                }
                if collisions == MOST_COLLISIONS {
                    tally.unfinished += self.weight;
                    break;
                }
                draws = Draws::new(stream);
            } else {
                let way_m = (to_face_m / cosine).max(0.0);
                self.x_m += self.direction.x * way_m;
                self.y_m += self.direction.y * way_m;
                draws.path = (draws.path - way_m * layer.mu_t_per_m).max(0.0);
                self.depth_m = if down { layer.thickness_m } else { 0.0 };
                if self.meet_face(down, medium, stream, tally) {
                    break;
                }
            }
        }
        tally.collisions += collisions;
    }

    /// Leaves weight behind and turns; true where nothing is left.
    #[inline(always)]
    fn collide(&mut self, draws: Draws, layer: &Layer, bins: usize, tally: &mut Tally) -> bool {
        if layer.albedo < 1.0 {
            let bin = ((self.depth_m * layer.bins_per_m) as usize).min(bins - 1);
            let deposit = &mut tally.absorbed[layer.first_bin + bin];
            if self.weight < LEAST_WEIGHT || layer.albedo == 0.0 {
                if layer.albedo <= draws.game {
                    *deposit += self.weight;
                    return true;
                }
            } else {
                let scattered = self.weight * layer.albedo;
                *deposit += self.weight - scattered;
                self.weight = scattered;
            }
        }
        self.direction = self.direction.scattered(layer.g, draws.turn);
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
