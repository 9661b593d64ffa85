//! From joints to outcomes: the only file where light, heat and verdict meet.
//!
//! Equal optical stacks in a batch are followed once. One joint is a batch of one.

use std::collections::HashMap;
use std::sync::Arc;

use rayon::prelude::*;

use crate::error::Error;
use crate::heat::{self, Body, Column, Contact, Face, History};
use crate::material::{Damage, Material, Thermal};
use crate::optics::{self, Absorbed, Method, Slab, Stack};
use crate::units::AIR_CONDUCTIVITY_W_PER_M_K;
use crate::weld::criteria::{self, Criterion};
use crate::weld::joint::{Interface, Joint, Motion, Part, ROOM_K};
use crate::weld::settings::Settings;
use crate::weld::verdict::{self, Verdict};

/// What became of one joint at its setpoint.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The verdict.
    pub verdict: Verdict,
    /// The criterion that decides it.
    pub governing: Criterion,
    /// All criteria in the order they are judged.
    pub criteria: Vec<Criterion>,
    /// Where the light went.
    pub light: Arc<Absorbed>,
    /// How the light was followed.
    pub method: Method,
    /// What the heat did.
    pub history: History,
}

impl Outcome {
    /// Smallest margin of the rules that want heat, and that rule.
    pub fn cold_margin(&self) -> f64 {
        self.smallest(true)
    }

    /// Smallest margin of the rules that must stay cool; none where there is no such rule.
    pub fn hot_margin(&self) -> f64 {
        self.smallest(false)
    }

    fn smallest(&self, wants_heat: bool) -> f64 {
        self.criteria
            .iter()
            .filter(|it| it.rule.wants_heat() == wants_heat)
            .map(|it| it.margin)
            .fold(f64::INFINITY, f64::min)
    }
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

/// Nominal width of a film of air that only reflects; its width does not enter any result.
const FILM_OF_AIR_M: f64 = 1e-6;

/// Simulates every joint; the results stand in the order of `joints`.
pub fn simulate(joints: &[Joint], settings: &Settings) -> Vec<Result<Outcome, Error>> {
    let lights = light_of(joints);
    let shared = Shared::of(joints);
    let mut outcomes: Vec<Option<Result<Outcome, Error>>> = Vec::with_capacity(joints.len());
    let mut columns = Vec::with_capacity(joints.len());
    for (joint, light) in joints.iter().zip(&lights) {
        match light {
            Ok((light, _)) => {
                columns.push(column_of(joint, light, &shared));
                outcomes.push(None);
            }
            Err(error) => outcomes.push(Some(Err(error.clone()))),
        }
    }
    let mut histories = heat::run(&columns, &settings.heat).into_iter();
    joints
        .iter()
        .zip(lights)
        .zip(outcomes)
        .filter_map(|((joint, light), refused)| match (refused, light) {
            (Some(refused), _) => Some(refused),
            (None, Ok((light, method))) => histories
                .next()
                .map(|history| history.map(|it| outcome_of(joint, light, method, it))),
            (None, Err(error)) => Some(Err(error)),
        })
        .collect()
}

fn outcome_of(joint: &Joint, light: Arc<Absorbed>, method: Method, history: History) -> Outcome {
    let criteria = criteria::judge(joint, &history);
    // `judge` always returns fusion and marking, so there is a governing criterion.
    let (verdict, governing) = verdict::decide(&criteria).unwrap_or((
        Verdict::Unfused,
        Criterion {
            rule: criteria::Rule::Fusion,
            value: history.interface_peak_upper_k,
            limit: f64::INFINITY,
            margin: -1.0,
        },
    ));
    Outcome {
        verdict,
        governing,
        criteria,
        light,
        method,
        history,
    }
}

type Light = Result<(Arc<Absorbed>, Method), Error>;

/// Follows the light of every joint, each different stack once.
fn light_of(joints: &[Joint]) -> Vec<Light> {
    let mut known: HashMap<Vec<u64>, usize> = HashMap::new();
    let mut stacks: Vec<(Stack, Method)> = Vec::new();
    let which: Vec<Result<usize, Error>> = joints
        .iter()
        .map(|joint| {
            let stack = stack_of(joint)?;
            let method = joint.method.unwrap_or(Method::default_for(&stack));
            Ok(*known.entry(key_of(&stack, method)).or_insert_with(|| {
                stacks.push((stack, method));
                stacks.len() - 1
            }))
        })
        .collect();
    let followed: Vec<Light> = stacks
        .par_iter()
        .map(|(stack, method)| Ok((Arc::new(optics::absorb(stack, *method)?), *method)))
        .collect();
    which
        .into_iter()
        .map(|index| index.and_then(|index| followed[index].clone()))
        .collect()
}

/// The bits that decide where the light goes.
fn key_of(stack: &Stack, method: Method) -> Vec<u64> {
    let mut key = vec![method as u64, stack.upper as u64, stack.lower as u64];
    for slab in &stack.slabs {
        let it = slab.constants;
        key.extend([slab.thickness_m, it.n, it.mu_a_per_m, it.mu_s_per_m, it.g].map(f64::to_bits));
    }
    key
}

/// Thermal data of each material, once for the whole batch.
struct Shared(HashMap<usize, (Arc<Thermal>, Option<Arc<Damage>>)>);

impl Shared {
    fn of(joints: &[Joint]) -> Self {
        let mut known = HashMap::new();
        for joint in joints {
            let clamp = joint.clamp.as_ref().map(|it| &it.material);
            for material in [&joint.upper.material, &joint.lower.material]
                .into_iter()
                .chain(clamp)
            {
                known.entry(address(material)).or_insert_with(|| {
                    let damage = material.damage.clone().map(Arc::new);
                    (Arc::new(material.thermal.clone()), damage)
                });
            }
        }
        Shared(known)
    }

    fn body(&self, material: &Arc<Material>, rest: Rest) -> Body {
        let (thermal, damage) = &self.0[&address(material)];
        Body {
            thickness_m: rest.thickness_m,
            thermal: Arc::clone(thermal),
            damage: damage.clone(),
            light_layer: rest.light_layer,
            probe_m: rest.probe_m,
            initial_k: rest.initial_k,
        }
    }
}

/// What of a body does not come from its material.
struct Rest {
    thickness_m: f64,
    light_layer: usize,
    probe_m: f64,
    initial_k: f64,
}

fn address(material: &Arc<Material>) -> usize {
    Arc::as_ptr(material) as usize
}

fn column_of(joint: &Joint, light: &Arc<Absorbed>, shared: &Shared) -> Column {
    let initial_k = joint.surroundings.ambient_k;
    let mut bodies = Vec::with_capacity(3);
    let mut contacts = Vec::with_capacity(2);
    if let Some(clamp) = &joint.clamp {
        let rest = Rest {
            thickness_m: clamp.thickness_m,
            light_layer: 0,
            probe_m: 0.0,
            initial_k,
        };
        bodies.push(shared.body(&clamp.material, rest));
        contacts.push(contact_of(clamp.conductance_w_per_m2_k));
    }
    let upper = bodies.len();
    let rest = Rest {
        thickness_m: joint.upper.thickness_m,
        light_layer: light.upper,
        probe_m: joint.limits.upper_melt_depth_m.value,
        initial_k,
    };
    bodies.push(shared.body(&joint.upper.material, rest));
    contacts.push(match joint.interface {
        Interface::Contact {
            conductance_w_per_m2_k,
        } => contact_of(conductance_w_per_m2_k),
        Interface::Gap {
            gap_m,
            conductance_w_per_m2_k,
        } => contact_of(Some(
            conductance_w_per_m2_k.unwrap_or(AIR_CONDUCTIVITY_W_PER_M_K / gap_m),
        )),
    });
    let rest = Rest {
        thickness_m: joint.lower.thickness_m,
        light_layer: light.lower,
        probe_m: joint.limits.lower_melt_depth_m.value,
        initial_k,
    };
    bodies.push(shared.body(&joint.lower.material, rest));
    let face = Face {
        coefficient_w_per_m2_k: joint.surroundings.convection_w_per_m2_k,
        ambient_k: joint.surroundings.ambient_k,
    };
    let Motion::Contour { speed_m_per_s } = joint.motion;
    Column {
        bodies,
        contacts,
        upper,
        laser_side: face,
        far_side: face,
        light: Arc::clone(light),
        exposure: joint.beam.passage(speed_m_per_s),
    }
}

fn contact_of(conductance_w_per_m2_k: Option<f64>) -> Contact {
    match conductance_w_per_m2_k {
        None => Contact::Perfect,
        Some(conductance_w_per_m2_k) => Contact::Conductance {
            conductance_w_per_m2_k,
        },
    }
}

/// Fourier number α t / w² of the heating time: how far heat spreads sideways while the light is
/// on, against the width of the spot. Takes the larger diffusivity of the two parts at room
/// temperature.
pub fn fourier_number(joint: &Joint) -> f64 {
    let diffusivity = |material: &Material| {
        let it = &material.thermal;
        it.conductivity_w_per_m_k.value.at(ROOM_K)
            / (it.density_kg_per_m3.value.at(ROOM_K) * it.specific_heat_j_per_kg_k.value.at(ROOM_K))
    };
    let faster = diffusivity(&joint.upper.material).max(diffusivity(&joint.lower.material));
    let Motion::Contour { speed_m_per_s } = joint.motion;
    faster * joint.beam.passage(speed_m_per_s).heating_s() / joint.beam.width_m.powi(2)
}
