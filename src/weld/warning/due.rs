//! Which warnings are due for a joint and its outcome.

use crate::heat::StopReason;
use crate::material::moisture::NEEDED_FROM_M;
use crate::material::optical::Reading;
use crate::material::plaque::Geometry;
use crate::material::{Absorber, Material, Status};
use crate::numerics::interpolate::PiecewiseLinear;
use crate::optics::Method;
use crate::units::celsius;
use crate::weld::criteria::Rule;
use crate::weld::joint::{Interface, Joint, Motion, Part};
use crate::weld::light;
use crate::weld::setpoint::PLANE_WALL;
use crate::weld::settings::{fourier_number_limit, melt_fourier_limit};
use crate::weld::simulate::{Outcome, depth_over_width, fourier_number};
use crate::weld::warning::Warning;

/// Share of light leaving the far side from which a warning is due.
const LEAVING_LIGHT: f64 = 0.005;

/// Share of the light delivered in optical contact below which that of dry faces is worth a warning:
/// the less is within what power and transmittance drift by.
const DRY_SHARE: f64 = 0.9;

/// A joint in contact whose faces lie dry until melt wets them.
pub struct Dry {
    /// Share of the light they deliver then.
    pub delivered: f64,
    /// The joint over a gap too narrow to hold up heat, or why that would not be the same joint.
    pub computed: Result<Joint, &'static str>,
}

/// The joint with dry faces, where they deliver much less light than in optical contact.
pub fn matters_dry(joint: &Joint, outcome: &Outcome) -> Option<Dry> {
    let dry = joint.lying_dry()?;
    // A joint whose light could be followed in contact has all that this takes.
    let delivered = light::before_wetting(&dry).ok()?.delivered_to_interface();
    let stated = matches!(
        joint.interface,
        Interface::Contact {
            conductance_w_per_m2_k: Some(_)
        }
    );
    (delivered < DRY_SHARE * outcome.light.delivered_to_interface()).then(|| Dry {
        delivered,
        computed: if stated {
            Err("the conductance of the contact is stated")
        } else if dry.closes_gap() {
            Ok(dry)
        } else {
            Err("no card says how its polymer swells")
        },
    })
}

/// All warnings due for a joint and its outcome.
pub fn warnings(joint: &Joint, outcome: &Outcome) -> Vec<Warning> {
    let mut all = Vec::new();
    let same = std::sync::Arc::ptr_eq(&joint.upper.material, &joint.lower.material);
    for (index, (name, part)) in [("upper", &joint.upper), ("lower", &joint.lower)]
        .into_iter()
        .enumerate()
    {
        let seen = index == 1 && same;
        optical_warnings(joint, outcome, name, part, &mut all);
        weak_numbers(joint, part, seen, &mut all);
        if !seen {
            if part.material.damage.is_none() {
                all.push(Warning::NoDamageData {
                    material: part.material.name.clone(),
                    onset_in_use: part.material.decomposition_k.is_some(),
                });
            }
            let mut met_k = outcome.history.range_k[index].1;
            if same {
                met_k = met_k.max(outcome.history.range_k[1].1);
            }
            tables(&part.material, met_k, &mut all);
        }
    }
    all.extend(lateral_loss(joint, outcome));
    if let Motion::Radial { diameter_m, .. } = joint.motion {
        let wall_over_radius = 2.0 * joint.upper.thickness_m / diameter_m;
        if PLANE_WALL < wall_over_radius {
            all.push(Warning::CurvedWall { wall_over_radius });
        }
    }
    if let Some(dry) = matters_dry(joint, outcome) {
        all.push(Warning::DryFaces {
            delivered: outcome.light.delivered_to_interface(),
            dry: dry.delivered,
            not_computed: dry.computed.err(),
        });
    }
    gap_warnings(joint, &mut all);
    if outcome.history.stop == StopReason::TimeLimit {
        all.push(Warning::RunEnded {
            after_s: outcome.history.end_s - joint.exposure(&outcome.beam).heating_s(),
        });
    }
    let lights = std::iter::once(&outcome.light).chain(&outcome.wetted_light);
    let transmitted = lights.map(|it| it.transmitted).fold(0.0, f64::max);
    if LEAVING_LIGHT < transmitted {
        all.push(Warning::LightLeaves { transmitted });
    }
    all
}

fn gap_warnings(joint: &Joint, all: &mut Vec<Warning>) {
    if let Interface::Gap {
        conductance_w_per_m2_k: None,
        closes: true,
        ..
    } = joint.interface
    {
        let unknown: Vec<&Material> = [&joint.upper.material, &joint.lower.material]
            .into_iter()
            .filter(|it| it.expansion.is_none())
            .map(|it| it.as_ref())
            .collect();
        if !unknown.is_empty() {
            let mut materials: Vec<String> = unknown.iter().map(|it| it.name.clone()).collect();
            materials.dedup();
            all.push(Warning::GapStaysOpen {
                materials,
                air_alone: unknown.len() == 2,
            });
        }
    } else if joint.interface.gap_m().is_some() {
        all.push(Warning::GapHeldOpen);
    }
}

/// What leaves sideways, where that is more than the limits of `settings`.
fn lateral_loss(joint: &Joint, outcome: &Outcome) -> Option<Warning> {
    let fourier_number = fourier_number(joint);
    let depth_over_width = depth_over_width(joint, &outcome.light);
    let history = &outcome.history;
    let melts = 0.0 < history.upper_melt_depth_m.max(history.lower_melt_depth_m);
    let shape = joint.beam.shape;
    let exceeded = |limit: f64| (limit < fourier_number).then_some(limit);
    let melt_limit = exceeded(melt_fourier_limit(shape, depth_over_width)).filter(|_| melts);
    let rise_limit = exceeded(fourier_number_limit(shape));
    (melt_limit.is_some() || rise_limit.is_some()).then_some(Warning::LateralLoss {
        fourier_number,
        depth_over_width,
        melt_limit,
        rise_limit,
        surface_c: surface_sets_upper_side(outcome).then(|| celsius(history.laser_side_peak_k)),
    })
}

/// Whether of all rules that want less heat that of the laser-side surface is nearest to its limit.
fn surface_sets_upper_side(outcome: &Outcome) -> bool {
    let cool = outcome.criteria.iter().filter(|it| !it.rule.wants_heat());
    cool.min_by(|a, b| a.margin.total_cmp(&b.margin))
        .is_some_and(|it| it.rule == Rule::SurfaceMarking)
}

fn optical_warnings(
    joint: &Joint,
    outcome: &Outcome,
    name: &'static str,
    part: &Part,
    all: &mut Vec<Warning>,
) {
    if part.optical.reading == Reading::EffectiveExtinction {
        all.push(Warning::EffectiveExtinction { part: name });
    }
    // Beside total transmittance it is left aside, and an inversion knows what it is.
    let collimated = |it: &crate::material::Plaque| it.geometry == Geometry::Collimated;
    if part.optical.reading == Reading::EffectiveExtinction
        && !part.plaques.is_empty()
        && part.plaques.iter().all(collimated)
        && (part.optical.scatters() || part.material.optical.scatters())
    {
        all.push(Warning::CollimatedData { part: name });
    }
    if part.optical.scatters() && outcome.method == Method::BeerLambert {
        all.push(Warning::ScatteringIgnored {
            part: name,
            method: outcome.method.name(),
        });
    }
    if part.material.takes_up_water()
        && part.moisture.is_none()
        // Beside an absorber water is small.
        && part.absorber.is_none()
        && NEEDED_FROM_M <= joint.wavelength_m
    {
        all.push(Warning::MoistureUnknown {
            part: name,
            material: part.material.name.clone(),
            own_spectra: !part.plaques.is_empty(),
        });
    }
    if let Some(
        absorber @ Absorber::CarbonBlack {
            content,
            mass_absorption_m2_per_kg,
        },
    ) = &part.absorber
    {
        let density = part
            .material
            .thermal
            .density_kg_per_m3
            .value
            .at(crate::weld::joint::ROOM_K);
        let default = mass_absorption_m2_per_kg.status != Status::Stated
            && mass_absorption_m2_per_kg.status != Status::Measured;
        if let (true, true, Ok(absorption)) = (
            default,
            0.0 < *content,
            absorber.absorption_per_m(joint.wavelength_m, density),
        ) {
            all.push(Warning::DefaultCarbonBlack {
                part: name,
                absorption_per_mm: absorption / 1e3,
            });
        }
    }
}

fn weak_numbers(joint: &Joint, part: &Part, thermal_seen: bool, all: &mut Vec<Warning>) {
    let mut rows = part.optical.provenances();
    if !thermal_seen {
        rows.extend(part.material.thermal.provenances());
        if let Some(damage) = &part.material.damage {
            rows.extend(damage.provenances());
        } else if let Some(onset) = &part.material.decomposition_k {
            rows.push(("decomposition onset", &onset.source, onset.status));
        }
        if joint.limits.healing.is_some() || joint.limits.collapse_m.is_some() {
            rows.extend(part.material.melt.provenances());
        }
        if let (Interface::Gap { closes: true, .. }, Some(it)) =
            (joint.interface, &part.material.expansion)
        {
            rows.extend(it.provenances());
        }
    }
    for (status, _) in Status::WORDS.into_iter().filter(|it| it.0.is_weak()) {
        let quantities: Vec<&'static str> = rows
            .iter()
            .filter(|row| row.2 == status)
            .map(|row| row.0)
            .collect();
        rest_on(all, &part.material.name, status, quantities);
    }
}

/// Adds weak numbers, to those of the same material where there are any: both parts may be of one card.
fn rest_on(all: &mut Vec<Warning>, name: &str, status: Status, weak: Vec<&'static str>) {
    let before = all.iter_mut().find_map(|it| match it {
        Warning::WeakNumbers {
            material,
            quantities,
            status: of,
        } if material == name && *of == status => Some(quantities),
        _ => None,
    });
    match before {
        Some(known) => {
            let new: Vec<_> = weak.into_iter().filter(|it| !known.contains(it)).collect();
            known.extend(new);
        }
        None if weak.is_empty() => {}
        None => all.push(Warning::WeakNumbers {
            material: name.into(),
            quantities: weak,
            status,
        }),
    }
}

fn tables(material: &Material, met_k: f64, all: &mut Vec<Warning>) {
    let thermal = &material.thermal;
    let named: [(&'static str, &PiecewiseLinear); 3] = [
        ("conductivity", &thermal.conductivity_w_per_m_k.value),
        ("specific heat", &thermal.specific_heat_j_per_kg_k.value),
        ("density", &thermal.density_kg_per_m3.value),
    ];
    for (property, table) in named {
        if table.covers(met_k) {
            continue;
        }
        if let Some((end_k, _)) = table.points().last() {
            all.push(Warning::BeyondTable {
                material: material.name.clone(),
                property,
                table_end_c: celsius(end_k),
                met_c: celsius(met_k),
            });
        }
    }
}
