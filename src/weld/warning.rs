//! Facts that limit how far a result may be trusted, one warning for each cause.

use std::fmt;

use crate::material::moisture::NEEDED_FROM_M;
use crate::material::optical::Reading;
use crate::material::plaque::Geometry;
use crate::material::{Absorber, Material, NO_POLYMER_C, Status};
use crate::numerics::interpolate::PiecewiseLinear;
use crate::optics::Method;
use crate::units::celsius;
use crate::weld::criteria::Rule;
use crate::weld::joint::{Interface, Joint, Motion, Part};
use crate::weld::setpoint::PLANE_WALL;
use crate::weld::settings::{LATERAL_LOSS, LATERAL_MELT_LOSS};
use crate::weld::settings::{fourier_number_limit, melt_fourier_limit};
use crate::weld::simulate::{Outcome, depth_over_width, fourier_number};

/// A limit to trust.
#[derive(Clone, Debug, PartialEq)]
pub enum Warning {
    /// Numbers of a card that nobody checked.
    WeakNumbers {
        /// Name of the material.
        material: String,
        /// Quantities concerned.
        quantities: Vec<&'static str>,
        /// Their status.
        status: Status,
    },
    /// A property table ended before the temperatures met.
    BeyondTable {
        /// Name of the material.
        material: String,
        /// Which property.
        property: &'static str,
        /// Last temperature of the table, °C.
        table_end_c: f64,
        /// Temperature met, °C.
        met_c: f64,
    },
    /// Heat also leaves sideways.
    LateralLoss {
        /// Fourier number of the heating time.
        fourier_number: f64,
        /// Mean depth of absorption in the lower part over the width of the light.
        depth_over_width: f64,
        /// Number above which the melt is worth a warning; none below it, or where nothing melts.
        melt_limit: Option<f64>,
        /// Number above which the rise of the interface is worth a warning; none below it.
        rise_limit: Option<f64>,
        /// Highest temperature of the laser-side surface, °C, where of all rules that want less
        /// heat its softening is nearest; none where another is.
        surface_c: Option<f64>,
    },
    /// The wall of a round part is not thin against its radius.
    CurvedWall {
        /// Thickness of the upper part over its outer radius.
        wall_over_radius: f64,
    },
    /// A transmittance alone was used for a part that may scatter.
    EffectiveExtinction {
        /// Which part.
        part: &'static str,
    },
    /// Collimated transmittance was used for a grade that scatters.
    CollimatedData {
        /// Which part.
        part: &'static str,
    },
    /// Scattering is on the card and the method does not follow it.
    ScatteringIgnored {
        /// Which part.
        part: &'static str,
        /// The method.
        method: &'static str,
    },
    /// The absorption of carbon black is a default slope.
    DefaultCarbonBlack {
        /// Which part.
        part: &'static str,
        /// Absorption in use, 1/mm.
        absorption_per_mm: f64,
    },
    /// A polymer that takes up water, where water absorbs, without its moisture.
    MoistureUnknown {
        /// Which part.
        part: &'static str,
        /// Name of the material.
        material: String,
        /// True where the optical data are the user's own plaques, which hold their own water.
        own_spectra: bool,
    },
    /// No kinetics of damage are published for a material.
    NoDamageData {
        /// Name of the material.
        material: String,
        /// True where a slow-heating onset stands in.
        onset_in_use: bool,
    },
    /// A gap whose closing is not followed for want of data.
    GapStaysOpen {
        /// Names of the materials without data.
        materials: Vec<String>,
        /// True if neither part is known to swell, so that heat crosses the gap by air alone.
        air_alone: bool,
    },
    /// A gap that the joint itself holds open.
    GapHeldOpen,
    /// Light gets through the lower part.
    LightLeaves {
        /// Share of the incident light that leaves the far side.
        transmitted: f64,
    },
}

impl Warning {
    /// Short key of the cause, for JSON.
    pub fn key(&self) -> &'static str {
        match self {
            Warning::WeakNumbers { .. } => "weak_numbers",
            Warning::BeyondTable { .. } => "beyond_table",
            Warning::LateralLoss { .. } => "lateral_loss",
            Warning::CurvedWall { .. } => "curved_wall",
            Warning::EffectiveExtinction { .. } => "effective_extinction",
            Warning::CollimatedData { .. } => "collimated_data",
            Warning::ScatteringIgnored { .. } => "scattering_ignored",
            Warning::DefaultCarbonBlack { .. } => "default_carbon_black",
            Warning::MoistureUnknown { .. } => "moisture_unknown",
            Warning::NoDamageData { .. } => "no_damage_data",
            Warning::GapStaysOpen { .. } => "gap_stays_open",
            Warning::GapHeldOpen => "gap_held_open",
            Warning::LightLeaves { .. } => "light_leaves",
        }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Warning::WeakNumbers {
                material,
                quantities,
                status,
            } => write!(
                f,
                "the verdict rests on {status} numbers of {material}: {}",
                quantities.join(", ")
            ),
            Warning::BeyondTable {
                material,
                property,
                table_end_c,
                met_c,
            } => write!(
                f,
                "{property} of {material} is known to {table_end_c:.0} °C and was held constant \
                 beyond, to {}",
                if *met_c < NO_POLYMER_C {
                    format!("{met_c:.0} °C")
                } else {
                    format!("above {NO_POLYMER_C} °C")
                }
            ),
            Warning::LateralLoss {
                fourier_number,
                depth_over_width,
                melt_limit,
                rise_limit,
                surface_c,
            } => {
                write!(
                    f,
                    "heat also leaves sideways: α t / w² is {fourier_number:.3}"
                )?;
                if let Some(limit) = melt_limit {
                    write!(
                        f,
                        ", above {} for light absorbed {depth_over_width:.2} of the width \
                         deep, and melt depths may be over {:.0} % less than stated",
                        (1e3 * limit).round() / 1e3,
                        100.0 * LATERAL_MELT_LOSS
                    )?;
                }
                if let Some(limit) = rise_limit {
                    write!(
                        f,
                        "; above {limit} the interface may rise by over {:.0} % less than stated",
                        100.0 * LATERAL_LOSS
                    )?;
                }
                if let Some(surface_c) = surface_c {
                    write!(
                        f,
                        "; the laser-side surface stays cooler than the {surface_c:.0} °C stated here, \
                         the more the later heat reaches it, and more power marks it"
                    )?;
                }
                write!(f, "; `weld --cross-section` says by how much")
            }
            Warning::CurvedWall { wall_over_radius } => write!(
                f,
                "the wall is {wall_over_radius:.2} of the outer radius, above {PLANE_WALL}: heat and \
                 the width of the spot are computed as in a plane wall and are off by about as much"
            ),
            Warning::EffectiveExtinction { part } => write!(
                f,
                "the {part} part is described by transmittance alone: what it scatters back is \
                 counted as heat in the part; measure reflectance too, or a second thickness"
            ),
            Warning::CollimatedData { part } => write!(
                f,
                "the transmittance of the {part} part was not collected by a sphere: in a grade \
                 that scatters it is far below the light that reaches the interface"
            ),
            Warning::ScatteringIgnored { part, method } => write!(
                f,
                "the {part} part scatters and `{method}` does not follow scattering"
            ),
            Warning::DefaultCarbonBlack {
                part,
                absorption_per_mm,
            } => write!(
                f,
                "carbon black of the {part} part absorbs {absorption_per_mm:.1} /mm by the default \
                 slope, known to ±50 %; a measured film settles it"
            ),
            Warning::MoistureUnknown {
                part,
                material,
                own_spectra,
            } => write!(
                f,
                "water absorbs at this wavelength and the moisture of the {part} part ({material}) is \
                 a needed input: {}",
                if *own_spectra {
                    "its spectra hold for the moisture that the plaques had"
                } else {
                    "state moisture = \"2.5 %\" or what it is; \"0 %\" for a dry part"
                }
            ),
            Warning::NoDamageData {
                material,
                onset_in_use,
            } => write!(
                f,
                "no kinetics of thermal damage are published for {material}; {}",
                if *onset_in_use {
                    "its onset on slow heating stands in, which is strict for short times"
                } else {
                    "overheating is not judged"
                }
            ),
            Warning::GapStaysOpen {
                materials,
                air_alone,
            } => write!(
                f,
                "the card of {} does not say how it swells: {}",
                materials.join(" and "),
                if *air_alone {
                    "heat crosses the gap by air alone and nothing is known to close it, so the weld \
                     cannot be called sound; add [expansion] to a card, or press the parts together \
                     and state gap = \"0 µm\""
                } else {
                    "the gap is closed by the other part alone"
                }
            ),
            Warning::GapHeldOpen => f.write_str(
                "the gap is held open, by closure = \"none\" or by a stated conductance, and parts \
                 that do not meet do not weld: leave that out to let them swell into the gap, or press \
                 them together and state gap = \"0 µm\"",
            ),
            Warning::LightLeaves { transmitted } => write!(
                f,
                "{:.1} % of the light leaves the far side of the lower part: shield what is behind",
                100.0 * transmitted
            ),
        }
    }
}

/// Share of light leaving the far side from which a warning is due.
const LEAVING_LIGHT: f64 = 0.005;

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
    gap_warnings(joint, &mut all);
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
        if !quantities.is_empty() {
            all.push(Warning::WeakNumbers {
                material: part.material.name.clone(),
                quantities,
                status,
            });
        }
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
