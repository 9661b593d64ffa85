//! The light of very many joints that differ little: computed at nodes, interpolated between them.
//!
//! A scatter of inputs asks for a new stack a hundred thousand times. Where indices, anisotropy and
//! the order of the layers stay, the light depends on few numbers without unit:
//!
//! ```text
//! shares, profile against z/d  =  f(µs d and µa d of the upper, µa d and µs d of the lower part)
//! widened spot / spot          =  f(µs d, µa d of the upper part, spot / d)
//!                                 of a mask, length / d and opening / d apart
//! ```
//!
//! Their logarithms, from those of one joint in the middle, are the variables of a lattice; at its
//! nodes the light is followed as everywhere else, between them it is interpolated by cubics
//! (`numerics::lattice`). A profile is kept as absorbed share and slope at fixed shares of the
//! depth. All shares are interpolated with weights that sum to one, so no light is lost.
//!
//! Holds for: joints of one clamp, wavelength, angle, method and contact. Where another index, anisotropy
//! or order of layers comes up, and without scattering (there the formula is quicker than the
//! table), the light is followed directly.
//!
//! Checked in: `tests/weld/light_lattice.rs` against direct runs.

use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use crate::error::Error;
use crate::numerics::interpolate::MonotoneCubic;
use crate::numerics::lattice::Lattice;
use crate::optics::beam::Beam;
use crate::optics::{Absorbed, DepthProfile, Lighting, Method, Stack};
use crate::weld::joint::{Joint, Motion};
use crate::weld::light::{Case, Followed, Light, Memory, lights_of, stack_of};

/// Step of the lattice in ln(µs d) of the upper part, and in ln(µa d) and ln(µs d) of the lower.
const STEP: f64 = 0.2;

/// Step in ln(µa/µs) of the upper part, on which the light depends weakly.
const RATIO_STEP: f64 = 0.4;

/// Step in ln(spot / d).
const SPOT_STEP: f64 = 0.1;

/// Differences of refractive index or anisotropy that count as none.
const SAME: f64 = 1e-12;

/// Light of joints around one in the middle.
#[derive(Debug)]
pub struct LightLattice {
    middle: Stack,
    /// What reaches the seam of the middle.
    beam: Beam,
    /// True where length and width of that change apart.
    apart: bool,
    lighting: Lighting,
    /// True where a gap between the parts closes.
    closes: bool,
    shares: Vec<f64>,
    absorbed: Mutex<Lattice>,
    spots: Mutex<Lattice>,
}

impl LightLattice {
    /// A lattice around a joint, without nodes yet.
    ///
    /// # Errors
    /// A spectrum does not reach the wavelength, or a part has no absorption.
    pub fn around(joint: &Joint) -> Result<Self, Error> {
        let middle = stack_of(joint)?;
        let method = joint.method.unwrap_or(Method::default_for(&middle));
        // A mask stays as it is where the line that is swept over it changes.
        let apart = matches!(joint.motion, Motion::Mask { .. });
        let mut steps = vec![STEP, RATIO_STEP, SPOT_STEP];
        steps.extend(apart.then_some(SPOT_STEP));
        Ok(LightLattice {
            middle,
            beam: joint.spot(),
            apart,
            lighting: Lighting {
                method,
                incidence_rad: joint.incidence_rad,
            },
            closes: joint.closes_gap(),
            shares: depth_shares(),
            absorbed: Mutex::new(Lattice::new(vec![STEP, RATIO_STEP, STEP, STEP])),
            spots: Mutex::new(Lattice::new(steps)),
        })
    }

    /// Nodes computed so far: for the absorbed light, for the widened spot.
    pub fn nodes(&self) -> (usize, usize) {
        (held(&self.absorbed).len(), held(&self.spots).len())
    }

    /// The light of joints, interpolated where that is possible; `memory` as in `lights_of`.
    pub fn lights(&self, joints: &[Joint], memory: &Memory) -> Vec<Result<Light, Error>> {
        if self.lighting.method == Method::BeerLambert {
            return joints
                .par_iter()
                .map(|joint| {
                    let Followed { absorbed, wetted } = Followed::of(&Case {
                        stack: stack_of(joint)?,
                        closes: joint.closes_gap(),
                        lighting: self.lighting,
                    })?;
                    Ok(Light {
                        absorbed,
                        wetted,
                        method: self.lighting.method,
                        beam: joint.spot(),
                    })
                })
                .collect();
        }
        let stacks: Vec<Result<Stack, Error>> = joints.iter().map(stack_of).collect();
        let wanted: Vec<Option<Wanted>> = joints
            .iter()
            .zip(&stacks)
            .map(|(joint, stack)| self.wanted(joint, stack.as_ref().ok()?))
            .collect();
        let widened = self.case_of(self.middle.clone()).widens();
        if let Err(error) = self.fill(wanted.iter().flatten(), widened, memory) {
            return joints.iter().map(|_| Err(error.clone())).collect();
        }
        let (absorbed, spots) = (held(&self.absorbed), held(&self.spots));
        let (absorbed, spots) = (&*absorbed, &*spots);
        joints
            .par_iter()
            .zip(wanted)
            .zip(stacks)
            .map(|((joint, wanted), stack)| {
                let stack = stack?;
                let found = wanted.and_then(|it| {
                    let flat = absorbed.at(&it.absorbed)?;
                    let beam = if widened {
                        widened_by(&joint.spot(), &spots.at(&it.spot)?)
                    } else {
                        joint.spot()
                    };
                    let (open, wetted) = flat.split_at(flat.len() / self.ways());
                    let unfold = |row: &[f64]| Some(Arc::new(self.unfold(row, &stack)?));
                    Some(Light {
                        absorbed: unfold(open)?,
                        wetted: if self.closes {
                            Some(unfold(wetted)?)
                        } else {
                            None
                        },
                        method: self.lighting.method,
                        beam,
                    })
                });
                match found {
                    Some(light) => Ok(light),
                    None => lights_of(std::slice::from_ref(joint), memory).remove(0),
                }
            })
            .collect()
    }

    /// How many ways of the light a row of the lattice holds: over the gap, and where melt has wetted
    /// the other part.
    fn ways(&self) -> usize {
        1 + usize::from(self.closes)
    }

    fn case_of(&self, stack: Stack) -> Case {
        Case {
            stack,
            closes: self.closes,
            lighting: self.lighting,
        }
    }

    /// Where a joint lies on both lattices; none where it is of another kind than the middle.
    fn wanted(&self, joint: &Joint, stack: &Stack) -> Option<Wanted> {
        let (middle, other) = (&self.middle, stack);
        let alike = middle.upper == other.upper
            && middle.lower == other.lower
            && middle.slabs.len() == other.slabs.len()
            && joint.method.is_none_or(|it| it == self.lighting.method)
            && joint.incidence_rad == self.lighting.incidence_rad
            && joint.closes_gap() == self.closes
            && joint.beam.shape == self.beam.shape
            && middle.slabs.iter().zip(&other.slabs).all(|(a, b)| {
                (a.constants.n - b.constants.n).abs() < SAME
                    && (a.constants.g - b.constants.g).abs() < SAME
            });
        if !alike {
            return None;
        }
        let log = |at: usize, scatters: bool| {
            let depth = |stack: &Stack| {
                let slab = &stack.slabs[at];
                let mu = if scatters {
                    slab.constants.mu_s_per_m
                } else {
                    slab.constants.mu_a_per_m
                };
                mu * slab.thickness_m
            };
            match (depth(middle), depth(other)) {
                (0.0, 0.0) => Some(0.0),
                (a, b) if 0.0 < a && 0.0 < b => Some((b / a).ln()),
                _ => None,
            }
        };
        let (upper, lower) = (middle.upper, middle.lower);
        let scattering = log(upper, true)?;
        let absorption = log(upper, false)? - scattering;
        let thickness = other.slabs[upper].thickness_m / middle.slabs[upper].thickness_m;
        let spot = joint.spot();
        let length = spot.length_m / self.beam.length_m;
        let width = spot.width_m / self.beam.width_m;
        if !self.apart && (length / width - 1.0).abs() > SAME {
            return None;
        }
        let mut spot = vec![scattering, absorption, (length / thickness).ln()];
        spot.extend(self.apart.then_some((width / thickness).ln()));
        Some(Wanted {
            absorbed: vec![
                scattering,
                absorption,
                log(lower, false)?,
                log(lower, true)?,
            ],
            spot,
        })
    }

    /// Computes every node that is needed and not yet known, all cores at work.
    fn fill<'w>(
        &self,
        wanted: impl Iterator<Item = &'w Wanted> + Clone,
        widened: bool,
        memory: &Memory,
    ) -> Result<(), Error> {
        let mut lattice = held(&self.absorbed);
        let nodes = lattice.missing(wanted.clone().map(|it| it.absorbed.as_slice()));
        let found: Vec<Vec<f64>> = nodes
            .par_iter()
            .map(|node| {
                let case = self.case_of(self.stack_at(&lattice.place(node)));
                let Followed { absorbed, wetted } = Followed::of(&case)?;
                let mut row = self.fold(&absorbed, &case.stack);
                row.extend(wetted.iter().flat_map(|it| self.fold(it, &case.stack)));
                Ok(row)
            })
            .collect::<Result<_, Error>>()?;
        for (node, value) in nodes.into_iter().zip(found) {
            lattice.add(node, value);
        }
        drop(lattice);
        if !widened {
            return Ok(());
        }
        let mut lattice = held(&self.spots);
        let nodes = lattice.missing(wanted.map(|it| it.spot.as_slice()));
        let pairs: Vec<(Case, Beam)> = nodes
            .iter()
            .map(|node| {
                let at = lattice.place(node);
                let (length, width) = (at[2], at.get(3).unwrap_or(&at[2]));
                let beam = Beam {
                    length_m: self.beam.length_m * length.exp(),
                    width_m: self.beam.width_m * width.exp(),
                    ..self.beam
                };
                (self.case_of(self.stack_at(&[at[0], at[1], 0.0, 0.0])), beam)
            })
            .collect();
        let beams = memory.widened_beams(&pairs);
        for ((node, (_, beam)), wide) in nodes.into_iter().zip(&pairs).zip(beams) {
            let logs = [
                (wide.length_m / beam.length_m).ln(),
                (wide.width_m / beam.width_m).ln(),
            ];
            lattice.add(node, logs.to_vec());
        }
        Ok(())
    }

    /// The stack of the middle with other coefficients, at its own thicknesses.
    fn stack_at(&self, logs: &[f64]) -> Stack {
        let mut stack = self.middle.clone();
        let upper = &mut stack.slabs[self.middle.upper].constants;
        upper.mu_s_per_m *= logs[0].exp();
        upper.mu_a_per_m *= (logs[0] + logs[1]).exp();
        let lower = &mut stack.slabs[self.middle.lower].constants;
        lower.mu_a_per_m *= logs[2].exp();
        lower.mu_s_per_m *= logs[3].exp();
        stack
    }

    /// Shares and profiles in one row of numbers.
    fn fold(&self, light: &Absorbed, stack: &Stack) -> Vec<f64> {
        let mut row = vec![light.reflected, light.transmitted];
        for (profile, slab) in light.layers.iter().zip(&stack.slabs) {
            let at = |share: f64| profile.cumulative(share * slab.thickness_m);
            row.extend(self.shares.iter().map(|&share| at(share)));
            let last = self.shares.len() - 1;
            row.extend(self.shares.iter().enumerate().map(|(i, &share)| {
                let before = self.shares[i.saturating_sub(1)];
                let after = self.shares[(i + 1).min(last)];
                let reach = 1e-3 * (after - before);
                let (from, to) = ((share - reach).max(0.0), (share + reach).min(1.0));
                (at(to) - at(from)) / (to - from)
            }));
        }
        row
    }

    /// The light of a stack from its row; none where the numbers make no profile.
    fn unfold(&self, row: &[f64], stack: &Stack) -> Option<Absorbed> {
        let count = self.shares.len();
        let mut layers = Vec::with_capacity(stack.slabs.len());
        for (slab, part) in stack.slabs.iter().zip(row[2..].chunks(2 * count)) {
            let depths = self.shares.iter().map(|it| it * slab.thickness_m);
            let total = part[count - 1];
            // A cubic may dip by its own small error where nothing is left to absorb.
            let mut so_far = 0.0f64;
            let absorbed = part[..count].iter().map(|&it| {
                so_far = it.clamp(so_far.min(total), total);
                so_far
            });
            let slopes = part[count..].iter().map(|it| it / slab.thickness_m);
            layers.push(DepthProfile::Tabulated(
                MonotoneCubic::with_slopes(depths.collect(), absorbed.collect(), slopes.collect())
                    .ok()?,
            ));
        }
        Some(Absorbed {
            reflected: row[0],
            transmitted: row[1],
            layers,
            upper: stack.upper,
            lower: stack.lower,
        })
    }
}

/// Where a joint lies.
struct Wanted {
    absorbed: Vec<f64>,
    spot: Vec<f64>,
}

fn held(lattice: &Mutex<Lattice>) -> std::sync::MutexGuard<'_, Lattice> {
    lattice.lock().unwrap_or_else(PoisonError::into_inner)
}

fn widened_by(beam: &Beam, logs: &[f64]) -> Beam {
    Beam {
        length_m: beam.length_m * logs[0].exp(),
        width_m: beam.width_m * logs[1].exp(),
        ..*beam
    }
}

/// Shares of a layer's depth at which its profile is kept: crowded at the front, where a black part
/// absorbs within a hundredth of its thickness, and a little at the back.
fn depth_shares() -> Vec<f64> {
    const FIRST: f64 = 2e-4;
    const RATIO: f64 = 1.16;
    const WIDEST: f64 = 0.03;
    let mut shares = vec![0.0, FIRST];
    let mut step = FIRST;
    let mut at = FIRST;
    while at < 0.9 {
        step = (at * (RATIO - 1.0)).clamp(step, WIDEST);
        at += step;
        shares.push(at);
    }
    let mut left = 1.0 - at;
    while 2e-3 < left {
        left /= 1.5;
        shares.push(1.0 - left);
    }
    shares.push(1.0);
    shares
}
