//! From joints to outcomes: the only file where light, heat and verdict meet.
//!
//! Equal optical stacks in a batch are followed once. One joint is a batch of one.

use std::collections::HashMap;
use std::sync::Arc;

use crate::error::Error;
use crate::heat::{self, Body, Column, Contact, Face, Film, History, MeltPlan, Squeeze};
use crate::material::{Damage, Material, Thermal};
use crate::optics::beam::Beam;
use crate::optics::{Absorbed, Method};
use crate::weld::criteria::{self, Criterion};
use crate::weld::joint::{Interface, Joint, ROOM_K};
use crate::weld::light::{Light, lights_of};
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
    /// Where it went once melt had wetted the other part over a gap that closes; none in contact and
    /// where nothing closes the gap.
    pub wetted_light: Option<Arc<Absorbed>>,
    /// How the light was followed.
    pub method: Method,
    /// The beam as the middle of the seam sees it: wider than on the part where that scatters.
    pub beam: Beam,
    /// What the heat did.
    pub history: History,
}

impl Outcome {
    /// Least margin of all criteria, whichever decides the verdict: it changes without a jump where the
    /// governing criterion does, and is negative where the weld is not sound.
    pub fn least_margin(&self) -> f64 {
        self.criteria
            .iter()
            .map(|it| it.margin)
            .fold(f64::INFINITY, f64::min)
    }

    /// The criterion of smallest margin among the rules that want heat, or among those that must
    /// stay cool; none where there is no such rule.
    pub fn tightest(&self, wants_heat: bool) -> Option<&Criterion> {
        self.criteria
            .iter()
            .filter(|it| it.rule.wants_heat() == wants_heat)
            .min_by(|a, b| a.margin.total_cmp(&b.margin))
    }
}

/// Simulates every joint; the results stand in the order of `joints`.
pub fn simulate(joints: &[Joint], settings: &Settings) -> Vec<Result<Outcome, Error>> {
    simulate_lit(joints, lights_of(joints, &settings.memory), settings)
}

/// Simulates every joint with light that was followed before, in the order of `joints`.
pub(crate) fn simulate_lit(
    joints: &[Joint],
    lights: Vec<Result<Light, Error>>,
    settings: &Settings,
) -> Vec<Result<Outcome, Error>> {
    let shared = Shared::of(joints);
    let mut outcomes: Vec<Option<Result<Outcome, Error>>> = Vec::with_capacity(joints.len());
    let mut columns = Vec::with_capacity(joints.len());
    for (joint, light) in joints.iter().zip(&lights) {
        match light {
            Ok(light) => {
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
            (None, Ok(light)) => histories
                .next()
                .map(|history| history.map(|it| outcome_of(joint, light, it))),
            (None, Err(error)) => Some(Err(error)),
        })
        .collect()
}

fn outcome_of(joint: &Joint, light: Light, history: History) -> Outcome {
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
        light: light.absorbed,
        wetted_light: light.wetted,
        method: light.method,
        beam: light.beam,
        history,
    }
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

fn column_of(joint: &Joint, light: &Light, shared: &Shared) -> Column {
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
        light_layer: light.absorbed.upper,
        // A part thinner than that must melt through.
        probe_m: (joint.limits.upper_melt_depth_m.value).min(joint.upper.thickness_m),
        initial_k,
    };
    bodies.push(shared.body(&joint.upper.material, rest));
    let film = film_of(joint, light);
    contacts.push(match (&film, joint.interface) {
        (Some(film), _) => contact_of(Some(
            film.conductance_w_per_m2_k(film.gap_m, [initial_k; 2]),
        )),
        (
            None,
            Interface::Contact {
                conductance_w_per_m2_k,
            }
            | Interface::Gap {
                conductance_w_per_m2_k,
                ..
            },
        ) => contact_of(conductance_w_per_m2_k),
    });
    let rest = Rest {
        thickness_m: joint.lower.thickness_m,
        light_layer: light.absorbed.lower,
        probe_m: (joint.limits.lower_melt_depth_m.value).min(joint.lower.thickness_m),
        initial_k,
    };
    bodies.push(shared.body(&joint.lower.material, rest));
    let face = Face {
        coefficient_w_per_m2_k: joint.surroundings.convection_w_per_m2_k,
        ambient_k: joint.surroundings.ambient_k,
    };
    Column {
        bodies,
        contacts,
        upper,
        laser_side: face,
        far_side: face,
        light: Arc::clone(&light.absorbed),
        exposure: joint.exposure(&light.beam),
        melt: melt_plan(joint),
        film,
    }
}

/// The film of air in a gap without a stated conductance.
fn film_of(joint: &Joint, light: &Light) -> Option<Arc<Film>> {
    let Interface::Gap {
        gap_m,
        conductance_w_per_m2_k: None,
        closes,
        film_factor,
    } = joint.interface
    else {
        return None;
    };
    let swelling = [&joint.upper.material, &joint.lower.material].map(|material| {
        let expansion = material.expansion.as_ref().filter(|_| closes)?;
        let start_k = joint.surroundings.ambient_k;
        Some(Arc::new(expansion.swelling(&material.thermal, start_k)))
    });
    Some(Arc::new(Film {
        gap_m,
        swelling,
        factor: film_factor,
        wetted: light.wetted.clone(),
    }))
}

/// What is followed of the melt: healing where both cards have it, squeezing where the whole seam is
/// warm together, pressure is stated and both cards have a viscosity.
fn melt_plan(joint: &Joint) -> MeltPlan {
    let parts = [&joint.upper.material.melt, &joint.lower.material.melt];
    let squeeze = match (parts.map(|it| it.viscosity.as_ref()), joint.pressure_pa) {
        ([Some(upper), Some(lower)], Some(pressure_pa)) if joint.motion.collapses() => {
            Some(Arc::new(Squeeze {
                pressure_pa,
                width_m: joint.spot().width_m,
                viscosity: [upper.value, lower.value],
                target_m: joint.limits.collapse_m.as_ref().map(|it| it.value),
            }))
        }
        _ => None,
    };
    MeltPlan {
        healing: parts.map(|it| it.healing.as_ref().map(|it| it.value)),
        squeeze,
    }
}

/// The column of one joint under its light.
pub(crate) fn lit_column(joint: &Joint, light: &Light) -> Column {
    column_of(joint, light, &Shared::of(std::slice::from_ref(joint)))
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
/// on, against the width of the spot or seam. Takes the larger diffusivity of the two parts at room
/// temperature.
pub fn fourier_number(joint: &Joint) -> f64 {
    let diffusivity = |material: &Material| {
        let it = &material.thermal;
        it.conductivity_w_per_m_k.value.at(ROOM_K)
            / (it.density_kg_per_m3.value.at(ROOM_K) * it.specific_heat_j_per_kg_k.value.at(ROOM_K))
    };
    let faster = diffusivity(&joint.upper.material).max(diffusivity(&joint.lower.material));
    let spot = joint.spot();
    faster * joint.exposure(&spot).heating_s() / spot.width_m.powi(2)
}

/// Mean depth at which the lower part absorbs its light, as a share of the width of the spot or
/// seam: how deep the heat is stored that goes on melting after the light.
pub fn depth_over_width(joint: &Joint, light: &Absorbed) -> f64 {
    light.layers[light.lower].mean_depth_m() / joint.spot().width_m
}
