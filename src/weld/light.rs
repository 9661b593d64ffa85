//! The light of joints: where it goes, and how far scattering widens the spot on its way down.
//!
//! What is found for a stack is remembered, since a window asks for the same stack at many powers.
//! An entry depends on its stack alone, so the memory changes when an answer comes, not what it is.
//!
//! Where the upper part scatters, photons give the peak irradiance and the energy at the middle of
//! the seam, and the heat stage gets the beam that would give the same without scattering. The
//! spread is computed at nodes and interpolated (`spread_nodes`).
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
//! Checked in: `tests/weld/light.rs`.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use crate::error::Error;
use crate::optics::beam::Beam;
use crate::optics::{self, Absorbed, Lighting, Method, Slab, Stack};
use crate::weld::joint::{Interface, Joint, Part};
pub(crate) use crate::weld::spread_nodes::Case;
use crate::weld::spread_nodes::{Key, SpreadNodes};
pub use crate::weld::spread_nodes::{PHOTONS, SEED};

/// Nominal width of a film of air that only reflects; its width does not enter any result.
const FILM_OF_AIR_M: f64 = 1e-6;

/// Where the light of one joint goes.
#[derive(Clone, Debug)]
pub struct Light {
    /// Shares of unit light.
    pub absorbed: Arc<Absorbed>,
    /// The same once melt has wetted the other part over a gap that closes, in the layers of
    /// `absorbed`; none in contact and where nothing closes the gap.
    pub wetted: Option<Arc<Absorbed>>,
    /// How it was followed.
    pub method: Method,
    /// The beam as the middle of the seam sees it.
    pub beam: Beam,
}

/// Shares of unit light in one stack.
#[derive(Clone, Debug)]
pub(crate) struct Followed {
    /// See [`Light::absorbed`].
    pub(crate) absorbed: Arc<Absorbed>,
    /// See [`Light::wetted`].
    pub(crate) wetted: Option<Arc<Absorbed>>,
}

/// What is remembered of stacks.
#[derive(Debug, Default)]
pub struct Memory {
    followed: Mutex<HashMap<Key, Followed>>,
    nodes: SpreadNodes,
    beams: Mutex<HashMap<Key, Beam>>,
}

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

/// The light of a joint before melt has wetted the other part: all there is in contact and where
/// nothing closes a gap.
///
/// # Errors
/// A spectrum does not reach the wavelength, a part has no absorption, or the method does not apply.
pub fn before_wetting(joint: &Joint) -> Result<Absorbed, Error> {
    let case = Case::of(joint)?;
    optics::absorb_lit(&case.stack, case.lighting)
}

/// Follows the light of every joint, each different stack once.
pub fn lights_of(joints: &[Joint], memory: &Memory) -> Vec<Result<Light, Error>> {
    let cases: Vec<Result<Case, Error>> = joints.iter().map(Case::of).collect();
    memory.follow(cases.iter().flatten());
    let spots: Vec<Beam> = joints.iter().map(Joint::spot).collect();
    memory.spread(
        spots
            .iter()
            .zip(&cases)
            .filter_map(|(spot, case)| Some((case.as_ref().ok()?, spot)))
            .filter(|(case, _)| case.widens()),
    );
    spots
        .iter()
        .zip(cases)
        .map(|(spot, case)| {
            let case = case?;
            let Followed { absorbed, wetted } = memory.followed(&case)?;
            Ok(Light {
                absorbed,
                wetted,
                method: case.lighting.method,
                beam: if case.widens() {
                    memory.widened(&case, spot)
                } else {
                    *spot
                },
            })
        })
        .collect()
}

/// Energy across the seam at the interface at places from its middle (m), relative to the middle
/// without spread; none where the spot is no wider at the interface than on the part.
///
/// # Errors
/// A spectrum does not reach the wavelength, or a part has no absorption.
pub fn across_seam(
    joint: &Joint,
    memory: &Memory,
    places_m: &[f64],
) -> Result<Option<Vec<f64>>, Error> {
    let case = Case::of(joint)?;
    if !case.widens() {
        return Ok(None);
    }
    Ok(memory.nodes.across_seam(&case, &joint.spot(), places_m))
}

impl Followed {
    /// Follows light through the stack of a case by `follow`, and where a gap closes once more through
    /// the same parts in optical contact, as they are where melt has wetted the other part.
    pub(crate) fn through(
        case: &Case,
        follow: impl Fn(&Stack) -> Result<Absorbed, Error>,
    ) -> Result<Self, Error> {
        let stack = &case.stack;
        let wetted = case.closes.then(|| -> Result<_, Error> {
            let mut wetted = stack.clone();
            let film = wetted.slabs.remove(stack.upper + 1);
            wetted.lower -= 1;
            Ok(Arc::new(follow(&wetted)?.with_film(film.thickness_m)))
        });
        Ok(Followed {
            absorbed: Arc::new(follow(stack)?),
            wetted: wetted.transpose()?,
        })
    }

    /// The light of a case.
    pub(crate) fn of(case: &Case) -> Result<Self, Error> {
        Followed::through(case, |stack| optics::absorb_lit(stack, case.lighting))
    }
}

impl Case {
    /// The light of a joint.
    pub(crate) fn of(joint: &Joint) -> Result<Self, Error> {
        let stack = stack_of(joint)?;
        let method = joint.method.unwrap_or(Method::default_for(&stack));
        Ok(Case {
            stack,
            closes: joint.closes_gap(),
            lighting: Lighting {
                method,
                incidence_rad: joint.incidence_rad,
            },
        })
    }
}

impl Memory {
    /// Follows the light of every stack not yet known, all cores at work.
    fn follow<'s>(&self, cases: impl Iterator<Item = &'s Case>) {
        let mut new: HashMap<Key, &Case> = HashMap::new();
        {
            let known = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
            for case in cases {
                let key = key_of(case);
                if !known.contains_key(&key) {
                    new.insert(key, case);
                }
            }
        }
        let followed: Vec<(Key, Followed)> = new
            .into_par_iter()
            // A stack that is refused is not kept: it is refused again where it is asked for.
            .filter_map(|(key, case)| Some((key, Followed::of(case).ok()?)))
            .collect();
        let mut known = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
        known.extend(followed);
    }

    fn followed(&self, case: &Case) -> Result<Followed, Error> {
        let known = {
            let known = self.followed.lock().unwrap_or_else(PoisonError::into_inner);
            known.get(&key_of(case)).cloned()
        };
        known.map_or_else(|| Followed::of(case), Ok)
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
        let (keys, pairs): (Vec<Key>, Vec<(&Case, &Beam)>) = new.into_iter().unzip();
        let found = self.nodes.widened(&pairs);
        let mut known = self.beams.lock().unwrap_or_else(PoisonError::into_inner);
        known.extend(keys.into_iter().zip(found));
    }

    /// The widened beam of every stack and beam, all cores at work; the beams are not remembered.
    pub(crate) fn widened_beams(&self, pairs: &[(Case, Beam)]) -> Vec<Beam> {
        let pairs: Vec<(&Case, &Beam)> = pairs.iter().map(|(case, beam)| (case, beam)).collect();
        self.nodes.widened(&pairs)
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

/// The bits that decide where the light goes.
fn key_of(case: &Case) -> Key {
    let stack = &case.stack;
    let mut key = vec![
        case.lighting.method as u64,
        case.lighting.incidence_rad.to_bits(),
        stack.upper as u64,
        stack.lower as u64,
        u64::from(case.closes),
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
