//! How far scattering widens spots: photons at the nodes of a lattice, interpolated between them.
//!
//! ```text
//! spread / d  =  f(µs d, µa d, g, indices, contact or gap)          lengths in thicknesses d
//! ```
//!
//! Logarithms of what spread does to the peak and to the energy at the middle of the seam are
//! interpolated. They are remembered for each node and beam in thicknesses: many stacks share them.
//!
//! Source: similarity of radiative transfer under a change of scale, S. Chandrasekhar, *Radiative
//! Transfer* (1960), ch. I (from memory). Checked in: `tests/weld/light.rs`.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rayon::prelude::*;

use crate::material::optical::OpticalConstants;
use crate::optics::beam::{Beam, Shape};
use crate::optics::photon_monte_carlo::{self, Spread};
use crate::optics::{Lighting, Method, Slab, Stack};

/// Photons that a node of the spread follows; the factors are then known to about 0.5 %.
pub const PHOTONS: u64 = 32_768;

/// Seed of the photons; printed in every report.
pub const SEED: u64 = 20_261_125;

/// Step of the lattice in ln(µs d).
const SCATTERING_STEP: f64 = 0.4;

/// Step of the lattice in ln(µa d); the spread hardly depends on weak absorption.
const ABSORPTION_STEP: f64 = 1.2;

/// Least µa d that is told apart: below it absorption does not change the spread.
const LEAST_ABSORPTION: f64 = 1e-2;

/// Least µs d that is told apart: below it nearly all light goes straight on.
const LEAST_SCATTERING: f64 = 1e-2;

/// Absorption of the lower part of a node, in 1/d: black, so that no light comes back.
const BLACK: f64 = 300.0;

/// Step to which refractive indices of a node are rounded.
const INDEX_STEP: f64 = 0.02;

/// Step to which the anisotropy of a node is rounded.
const ANISOTROPY_STEP: f64 = 0.01;

/// What an entry depends on, bit for bit.
pub(crate) type Key = Vec<u64>;

/// A stack and how light falls on it.
pub(crate) struct Case {
    /// The layers.
    pub(crate) stack: Stack,
    /// True where a gap between the parts closes.
    pub(crate) closes: bool,
    /// Method and angle.
    pub(crate) lighting: Lighting,
}

impl Case {
    /// True where the spot is wider at the interface than on the part.
    pub(crate) fn widens(&self) -> bool {
        self.lighting.method != Method::BeerLambert && self.stack.slabs[self.stack.upper].scatters()
    }
}

/// What is remembered of nodes.
#[derive(Debug, Default)]
pub(crate) struct SpreadNodes {
    /// None where no light gets through.
    spreads: Mutex<HashMap<Key, Option<Arc<Spread>>>>,
    factors: Mutex<HashMap<Key, Factors>>,
}

/// Logarithms of what is left of a beam at the middle of the seam.
#[derive(Clone, Copy, Debug)]
struct Factors {
    peak: f64,
    energy: f64,
}

/// A node that a spot is interpolated from.
struct Corner {
    /// What its factors depend on.
    key: Key,
    node: Node,
    weight: f64,
}

/// A beam in thicknesses of the upper part.
#[derive(Clone, Copy)]
struct Spot {
    shape: Shape,
    length: f64,
    width: f64,
}

impl SpreadNodes {
    /// The beams that give the middle of the seam the same peak and energy without spread, all cores at
    /// work.
    pub(crate) fn widened(&self, pairs: &[(&Case, &Beam)]) -> Vec<Beam> {
        self.follow(pairs.iter().map(|it| it.0));
        let around: Vec<(Spot, Vec<Corner>)> = pairs
            .iter()
            .map(|(case, beam)| {
                let spot = Spot::of(case, beam);
                let nodes = Node::around(case).into_iter();
                let corners = nodes.map(|(node, weight)| Corner {
                    key: spot.key(&node),
                    node,
                    weight,
                });
                (spot, corners.collect())
            })
            .collect();
        self.weaken(&around);
        let factors = held(&self.factors);
        pairs
            .iter()
            .zip(around)
            .map(|((_, beam), (_, nodes))| {
                let (mut peak, mut energy, mut sum) = (0.0, 0.0, 0.0);
                for Corner { key, weight, .. } in nodes {
                    if let Some(it) = factors.get(&key) {
                        sum += weight;
                        peak += weight * it.peak;
                        energy += weight * it.energy;
                    }
                }
                if sum <= 0.0 {
                    return **beam;
                }
                let (peak, energy) = ((peak / sum).exp(), (energy / sum).exp());
                Beam {
                    length_m: beam.length_m * energy / peak,
                    width_m: beam.width_m / energy,
                    ..**beam
                }
            })
            .collect()
    }

    /// Energy across the seam at places from its middle (m), relative to the middle without spread;
    /// none where no light gets through.
    pub(crate) fn across_seam(
        &self,
        case: &Case,
        beam: &Beam,
        places_m: &[f64],
    ) -> Option<Vec<f64>> {
        self.follow(std::iter::once(case));
        let spreads = held(&self.spreads);
        let thickness_m = case.stack.slabs[case.stack.upper].thickness_m;
        let spot = Spot::of(case, beam);
        let (mut values, mut sum) = (vec![0.0; places_m.len()], 0.0);
        for (node, weight) in Node::around(case) {
            let Some(Some(spread)) = spreads.get(&node.key()) else {
                continue;
            };
            sum += weight;
            for (value, place) in values.iter_mut().zip(places_m) {
                *value += weight
                    * spread
                        .energy_across(spot.shape, spot.width, place / thickness_m)
                        .value;
            }
        }
        if sum <= 0.0 {
            return None;
        }
        for value in &mut values {
            *value /= sum;
        }
        Some(values)
    }

    /// Follows photons at every node that the stacks need and that is not yet known.
    fn follow<'s>(&self, cases: impl Iterator<Item = &'s Case>) {
        let mut new: HashMap<Key, Node> = HashMap::new();
        {
            let known = held(&self.spreads);
            for case in cases {
                for (node, _) in Node::around(case) {
                    let key = node.key();
                    if !known.contains_key(&key) {
                        new.entry(key).or_insert(node);
                    }
                }
            }
        }
        let spreads: Vec<(Key, Option<Arc<Spread>>)> = new
            .into_par_iter()
            .map(|(key, node)| (key, node.spread()))
            .collect();
        held(&self.spreads).extend(spreads);
    }

    /// Finds the factors of every node and beam that are not yet known.
    fn weaken(&self, around: &[(Spot, Vec<Corner>)]) {
        let mut new: HashMap<&Key, (Spot, Arc<Spread>)> = HashMap::new();
        {
            let known = held(&self.factors);
            let spreads = held(&self.spreads);
            for (spot, nodes) in around {
                for Corner { key, node, .. } in nodes {
                    if known.contains_key(key) || new.contains_key(key) {
                        continue;
                    }
                    if let Some(Some(spread)) = spreads.get(&node.key()) {
                        new.insert(key, (*spot, Arc::clone(spread)));
                    }
                }
            }
        }
        let found: Vec<(Key, Factors)> = new
            .into_par_iter()
            .map(|(key, (spot, spread))| {
                let Spot {
                    shape,
                    length,
                    width,
                } = spot;
                let [peak, energy] = spread.factors(shape, length, width);
                let factors = Factors {
                    peak: peak.ln(),
                    energy: energy.ln(),
                };
                (key.clone(), factors)
            })
            .collect();
        held(&self.factors).extend(found);
    }
}

impl Spot {
    fn of(case: &Case, beam: &Beam) -> Self {
        let thickness_m = case.stack.slabs[case.stack.upper].thickness_m;
        Spot {
            shape: beam.shape,
            length: beam.length_m / thickness_m,
            width: beam.width_m / thickness_m,
        }
    }

    /// The bits that decide what a node does to the spot.
    fn key(&self, node: &Node) -> Key {
        let mut key = node.key();
        key.push(self.shape as u64);
        key.extend([self.length, self.width].map(f64::to_bits));
        key
    }
}

fn held<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A corner of the lattice: scattering and absorption by number of step, the rest rounded.
#[derive(Clone, Copy)]
struct Node {
    scattering: i64,
    absorption: i64,
    g: f64,
    /// Indices of refraction before the upper part (a clamp), of it, and behind it.
    before: Option<f64>,
    upper: f64,
    behind: f64,
    lower: f64,
    /// Angle to the normal in air, rad.
    incidence_rad: f64,
}

impl Node {
    /// The four nodes around a stack with their weights, which sum to one.
    fn around(case: &Case) -> Vec<(Node, f64)> {
        let stack = &case.stack;
        let slab = &stack.slabs[stack.upper];
        let it = &slab.constants;
        let steps = |mu: f64, least: f64, step: f64| {
            let at = ((mu * slab.thickness_m).max(least) / least).ln() / step;
            (at.floor() as i64, at - at.floor())
        };
        let (scattering, up) = steps(it.mu_s_per_m, LEAST_SCATTERING, SCATTERING_STEP);
        let (absorption, across) = steps(it.mu_a_per_m, LEAST_ABSORPTION, ABSORPTION_STEP);
        let rounded = |value: f64, step: f64| (value / step).round() * step;
        let index = |at: usize| rounded(stack.slabs[at].constants.n, INDEX_STEP);
        let mut nodes = Vec::with_capacity(4);
        for (more, share) in [(0, 1.0 - up), (1, up)] {
            for (dimmer, part) in [(0, 1.0 - across), (1, across)] {
                if 0.0 < share * part {
                    let node = Node {
                        scattering: scattering + more,
                        absorption: absorption + dimmer,
                        g: rounded(it.g, ANISOTROPY_STEP),
                        before: stack.upper.checked_sub(1).map(index),
                        upper: index(stack.upper),
                        behind: index(stack.upper + 1),
                        lower: index(stack.lower),
                        incidence_rad: case.lighting.incidence_rad,
                    };
                    nodes.push((node, share * part));
                }
            }
        }
        nodes
    }

    fn key(&self) -> Key {
        let mut key = vec![self.scattering as u64, self.absorption as u64];
        key.extend(
            [
                self.g,
                self.before.unwrap_or(0.0),
                self.upper,
                self.behind,
                self.lower,
                self.incidence_rad,
            ]
            .map(f64::to_bits),
        );
        key
    }

    fn spread(&self) -> Option<Arc<Spread>> {
        let settings = photon_monte_carlo::Settings {
            photons: PHOTONS,
            seed: SEED,
            incidence_rad: self.incidence_rad,
            ..photon_monte_carlo::Settings::standard()
        };
        // Light too dense to be followed reaches the interface as good as nowhere.
        photon_monte_carlo::spread(&self.stack(), &settings)
            .ok()
            .map(Arc::new)
    }

    /// The stack of the node: the upper part one unit thick on black.
    fn stack(&self) -> Stack {
        let mut slabs = Vec::with_capacity(4);
        if let Some(n) = self.before {
            slabs.push(Slab::clear(n, 1.0));
        }
        let upper = slabs.len();
        slabs.push(Slab {
            thickness_m: 1.0,
            constants: OpticalConstants {
                n: self.upper,
                mu_a_per_m: LEAST_ABSORPTION * (self.absorption as f64 * ABSORPTION_STEP).exp(),
                mu_s_per_m: LEAST_SCATTERING * (self.scattering as f64 * SCATTERING_STEP).exp(),
                g: self.g,
            },
        });
        if (self.behind - self.lower).abs() > 0.5 * INDEX_STEP {
            slabs.push(Slab::clear(self.behind, 1e-3));
        }
        let lower = slabs.len();
        slabs.push(Slab {
            thickness_m: 1.0,
            constants: OpticalConstants {
                n: self.lower,
                mu_a_per_m: BLACK,
                mu_s_per_m: 0.0,
                g: 0.0,
            },
        });
        Stack {
            slabs,
            upper,
            lower,
        }
    }
}
