//! The light of joints: where it goes, and how far scattering widens the spot on its way down.
//!
//! What is found for a stack is remembered, since a window asks for the same stack at many powers.
//! An entry depends on its stack alone, so the memory changes when an answer comes, not what it is.
//!
//! Where the upper part scatters, photons give the peak irradiance and the energy at the middle of
//! the seam, and the heat stage gets the beam that would give the same without scattering. The
//! spread depends on few numbers, so it is computed at the nodes of a lattice and interpolated:
//!
//! ```text
//! spread / d  =  f(µs d, µa d, g, indices, contact or gap)          lengths in thicknesses d
//! ```
//!
//! Holds for: the light that reaches the interface. The light absorbed in the upper part on its way
//! is taken as wide as at the interface, so the laser-side surface comes out a little cool where
//! the part both scatters and absorbs strongly. A clamp in optical contact counts as thick as the
//! part.
//!
//! At an angle the length and width of the beam are those of the spot on the part's surface, whatever
//! the angle did to them; inside, the seam is where the refracted beam would meet the interface, so
//! what is lost is only what scattering carries away from there. The spread is taken as the same in
//! all directions.
//!
//! Source: similarity of radiative transfer under a change of scale, S. Chandrasekhar, *Radiative
//! Transfer* (1960), ch. I (from memory). Checked in: `tests/weld/light.rs`.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use crate::error::Error;
use crate::material::optical::OpticalConstants;
use crate::optics::beam::{Beam, Shape};
use crate::optics::photon_monte_carlo::{self, Spread};
use crate::optics::{self, Absorbed, Lighting, Method, Slab, Stack};
use crate::weld::joint::{Interface, Joint, Part};

/// Photons that a node of the spread follows; the factors are then known to about 0.5 %.
const PHOTONS: u64 = 32_768;

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

/// Nominal width of a film of air that only reflects; its width does not enter any result.
const FILM_OF_AIR_M: f64 = 1e-6;

/// Where the light of one joint goes.
#[derive(Clone, Debug)]
pub struct Light {
    /// Shares of unit light.
    pub absorbed: Arc<Absorbed>,
    /// How it was followed.
    pub method: Method,
    /// The beam as the middle of the seam sees it.
    pub beam: Beam,
}

/// What is remembered of stacks.
#[derive(Debug, Default)]
pub struct Memory {
    absorbed: Mutex<HashMap<Key, Arc<Absorbed>>>,
    spreads: Mutex<HashMap<Key, Option<Arc<Spread>>>>,
    beams: Mutex<HashMap<Key, Beam>>,
}

type Key = Vec<u64>;

/// Layers the light of a joint meets.
///
/// A clamp plate lies dry on the part: between them is a film of air unless the joint says that
/// they are in optical contact.
///
/// # Errors
/// A spectrum does not reach the wavelength, or a part has no absorption.
pub fn stack_of(joint: &Joint) -> Result<Stack, Error> {
    let slab = |part: &Part| -> Result<Slab, Error> {
        Ok(Slab {
            thickness_m: part.thickness_m,
            constants: part.optical_at(joint.wavelength_m)?,
        })
    };
    let mut slabs = Vec::with_capacity(5);
    if let Some(clamp) = &joint.clamp {
        slabs.push(Slab {
            thickness_m: clamp.thickness_m,
            constants: clamp.material.optical_at(joint.wavelength_m)?,
        });
        if !clamp.optical_contact {
            slabs.push(Slab::air(FILM_OF_AIR_M));
        }
    }
    let upper = slabs.len();
    slabs.push(slab(&joint.upper)?);
    if let Interface::Gap { gap_m, .. } = joint.interface {
        slabs.push(Slab::air(gap_m));
    }
    let lower = slabs.len();
    slabs.push(slab(&joint.lower)?);
    Ok(Stack {
        slabs,
        upper,
        lower,
    })
}

/// Follows the light of every joint, each different stack once.
pub fn lights_of(joints: &[Joint], memory: &Memory) -> Vec<Result<Light, Error>> {
    let cases: Vec<Result<Case, Error>> = joints
        .iter()
        .map(|joint| {
            let stack = stack_of(joint)?;
            let method = joint.method.unwrap_or(Method::default_for(&stack));
            let incidence_rad = joint.incidence_rad;
            let lighting = Lighting {
                method,
                incidence_rad,
            };
            Ok(Case { stack, lighting })
        })
        .collect();
    memory.follow(cases.iter().flatten());
    memory.spread(
        joints
            .iter()
            .zip(&cases)
            .filter_map(|(joint, case)| Some((case.as_ref().ok()?, &joint.beam)))
            .filter(|(case, _)| case.widens()),
    );
    joints
        .iter()
        .zip(cases)
        .map(|(joint, case)| {
            let case = case?;
            Ok(Light {
                absorbed: memory.absorbed(&case)?,
                method: case.lighting.method,
                beam: if case.widens() {
                    memory.widened(&case, &joint.beam)
                } else {
                    joint.beam
                },
            })
        })
        .collect()
}

/// A stack and how light falls on it.
struct Case {
    stack: Stack,
    lighting: Lighting,
}

impl Case {
    /// True where the spot is wider at the interface than on the part.
    fn widens(&self) -> bool {
        self.lighting.method != Method::BeerLambert && self.stack.slabs[self.stack.upper].scatters()
    }
}

impl Memory {
    /// Follows the light of every stack not yet known, all cores at work.
    fn follow<'s>(&self, cases: impl Iterator<Item = &'s Case>) {
        let mut new: HashMap<Key, &Case> = HashMap::new();
        {
            let known = self.absorbed.lock().unwrap_or_else(PoisonError::into_inner);
            for case in cases {
                let key = key_of(case);
                if !known.contains_key(&key) {
                    new.insert(key, case);
                }
            }
        }
        let followed: Vec<(Key, Arc<Absorbed>)> = new
            .into_par_iter()
            .filter_map(|(key, case)| {
                // A stack that is refused is not kept: it is refused again where it is asked for.
                let absorbed = optics::absorb_lit(&case.stack, case.lighting).ok()?;
                Some((key, Arc::new(absorbed)))
            })
            .collect();
        let mut known = self.absorbed.lock().unwrap_or_else(PoisonError::into_inner);
        known.extend(followed);
    }

    fn absorbed(&self, case: &Case) -> Result<Arc<Absorbed>, Error> {
        let known = {
            let known = self.absorbed.lock().unwrap_or_else(PoisonError::into_inner);
            known.get(&key_of(case)).cloned()
        };
        match known {
            Some(known) => Ok(known),
            None => Ok(Arc::new(optics::absorb_lit(&case.stack, case.lighting)?)),
        }
    }

    /// Finds the widened beam of every stack and beam not yet known, all cores at work.
    fn spread<'s>(&self, pairs: impl Iterator<Item = (&'s Case, &'s Beam)>) {
        let mut new: HashMap<Key, (&Case, &Beam)> = HashMap::new();
        {
            let known = self.beams.lock().unwrap_or_else(PoisonError::into_inner);
            for (case, beam) in pairs {
                let key = key_of_beam(case, beam);
                if !known.contains_key(&key) {
                    new.insert(key, (case, beam));
                }
            }
        }
        self.follow_nodes(new.values().map(|it| it.0));
        let spreads = self.spreads.lock().unwrap_or_else(PoisonError::into_inner);
        let spreads = &*spreads;
        let found: Vec<(Key, Beam)> = new
            .into_par_iter()
            .map(|(key, (case, beam))| (key, widened(spreads, case, beam)))
            .collect();
        let mut known = self.beams.lock().unwrap_or_else(PoisonError::into_inner);
        known.extend(found);
    }

    /// Follows photons at every node that the stacks need and that is not yet known.
    fn follow_nodes<'s>(&self, cases: impl Iterator<Item = &'s Case>) {
        let mut new: HashMap<Key, Node> = HashMap::new();
        {
            let known = self.spreads.lock().unwrap_or_else(PoisonError::into_inner);
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
        let mut known = self.spreads.lock().unwrap_or_else(PoisonError::into_inner);
        known.extend(spreads);
    }

    /// The beam found for a stack; the beam itself where none was asked for.
    fn widened(&self, case: &Case, beam: &Beam) -> Beam {
        let known = self.beams.lock().unwrap_or_else(PoisonError::into_inner);
        known
            .get(&key_of_beam(case, beam))
            .map_or(*beam, |it| Beam {
                power_w: beam.power_w,
                ..*it
            })
    }
}

/// The beam that gives the middle of the seam the same peak and energy without spread.
fn widened(spreads: &HashMap<Key, Option<Arc<Spread>>>, case: &Case, beam: &Beam) -> Beam {
    let thickness_m = case.stack.slabs[case.stack.upper].thickness_m;
    let (length, width) = (beam.length_m / thickness_m, beam.width_m / thickness_m);
    // Logarithms of the two factors are interpolated between nodes.
    let (mut peak, mut energy, mut sum) = (0.0, 0.0, 0.0);
    for (node, weight) in Node::around(case) {
        let Some(Some(spread)) = spreads.get(&node.key()) else {
            continue;
        };
        let shape: Shape = beam.shape;
        sum += weight;
        peak += weight * spread.peak_factor(shape, length, width).value.ln();
        energy += weight * spread.energy_factor(shape, width).value.ln();
    }
    if sum <= 0.0 {
        return *beam;
    }
    let (peak, energy) = ((peak / sum).exp(), (energy / sum).exp());
    Beam {
        length_m: beam.length_m * energy / peak,
        width_m: beam.width_m / energy,
        ..*beam
    }
}

/// A corner of the lattice: scattering and absorption by number of step, the rest rounded.
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

/// The bits that decide where the light goes.
fn key_of(case: &Case) -> Key {
    let stack = &case.stack;
    let mut key = vec![
        case.lighting.method as u64,
        case.lighting.incidence_rad.to_bits(),
        stack.upper as u64,
        stack.lower as u64,
    ];
    for slab in &stack.slabs {
        let it = slab.constants;
        key.extend([slab.thickness_m, it.n, it.mu_a_per_m, it.mu_s_per_m, it.g].map(f64::to_bits));
    }
    key
}

/// The bits that decide how a beam is widened.
fn key_of_beam(case: &Case, beam: &Beam) -> Key {
    // The spread is the same for every method that follows scattering.
    let mut key = key_of(case);
    key[0] = Method::AddingDoubling as u64;
    key.push(beam.shape as u64);
    key.extend([beam.length_m, beam.width_m].map(f64::to_bits));
    key
}
