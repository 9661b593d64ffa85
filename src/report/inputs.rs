//! Every input of a weld as rows with value, unit, source and status, and the settings used.

use crate::material::melt::Viscosity;
use crate::material::optical::Reading;
use crate::material::{Absorber, Material, Sourced, Spectrum, Status};
use crate::numerics::interpolate::PiecewiseLinear;
use crate::report::cautions::{Fume, Laser};
use crate::report::number;
use crate::report::process;
use crate::report::table::InputRow;
use crate::units::{MM, NM, PER_MM, UM, celsius};
use crate::weld::joint::{Interface, Joint, Part, ROOM_K};
use crate::weld::light::SEED;
use crate::weld::setpoint::Lever;
use crate::weld::settings::Settings;

const JOINT_FILE: &str = "joint file";

fn row(
    quantity: impl Into<String>,
    value: impl Into<String>,
    unit: &str,
    source: &str,
    status: &str,
) -> InputRow {
    InputRow {
        quantity: quantity.into(),
        value: value.into(),
        unit: unit.into(),
        source: source.into(),
        status: status.into(),
    }
}

fn stated(quantity: &str, value: f64, unit: &str) -> InputRow {
    row(
        quantity,
        number::short(value, 5),
        unit,
        JOINT_FILE,
        "stated",
    )
}

/// Setpoint, geometry and surroundings.
pub fn joint_rows(joint: &Joint) -> Vec<InputRow> {
    let mut rows = vec![
        stated("Wavelength", joint.wavelength_m / NM, "nm"),
        stated("Upper part, thickness", joint.upper.thickness_m / MM, "mm"),
        stated("Lower part, thickness", joint.lower.thickness_m / MM, "mm"),
    ];
    rows.extend(
        process::rows(joint)
            .into_iter()
            .map(|(name, value, unit)| stated(name, value, unit)),
    );
    rows.extend([
        row(
            "Beam, shape",
            match joint.beam.shape {
                crate::optics::beam::Shape::TopHat => "top-hat",
                crate::optics::beam::Shape::Gaussian => "Gaussian, 1/e² full widths",
            },
            "",
            JOINT_FILE,
            "stated",
        ),
        stated("Angle of incidence", joint.incidence_rad.to_degrees(), "°"),
        row(
            "Process mode",
            joint.motion.mode(),
            "",
            JOINT_FILE,
            "stated",
        ),
    ]);
    rows.push(match joint.interface {
        Interface::Contact {
            conductance_w_per_m2_k: None,
        } => row("Interface", "perfect contact", "", JOINT_FILE, "stated"),
        Interface::Contact {
            conductance_w_per_m2_k: Some(it),
        } => stated("Interface, conductance", it, "W/(m² K)"),
        Interface::Gap { gap_m, closes, .. } => stated(
            if closes {
                "Interface, gap of air that closes by expansion"
            } else {
                "Interface, gap of air that does not close"
            },
            gap_m / UM,
            "µm",
        ),
    });
    if let Some(clamp) = &joint.clamp {
        rows.push(stated(
            &format!("Clamp plate, {}", clamp.material.name),
            clamp.thickness_m / MM,
            "mm",
        ));
    }
    if let Some(pressure_pa) = joint.pressure_pa {
        rows.push(stated(
            "Clamping pressure on the seam",
            pressure_pa / 1e6,
            "N/mm²",
        ));
    }
    if let Some(machine) = joint.machine {
        let range = |it: (f64, f64), unit: f64| {
            format!(
                "{} to {}",
                number::short(it.0 / unit, 3),
                number::short(it.1 / unit, 3)
            )
        };
        rows.push(row(
            "Machine, power",
            range(machine.power_w, 1.0),
            "W",
            JOINT_FILE,
            "stated",
        ));
        let lever = joint.motion.lever();
        let (heading, unit) = process::heading(lever);
        rows.push(row(
            format!("Machine, {}", heading.to_lowercase()),
            range(
                machine.setting,
                if lever == Lever::Speed { MM } else { 1.0 },
            ),
            unit,
            JOINT_FILE,
            "stated",
        ));
    }
    let around = &joint.surroundings;
    rows.push(row(
        "Surroundings",
        number::short(celsius(around.ambient_k), 3),
        "°C",
        "joint file, or 23 °C if left out",
        "common practice",
    ));
    rows.push(row(
        "Heat transfer to air",
        number::short(around.convection_w_per_m2_k, 3),
        "W/(m² K)",
        "joint file, or 10 if left out",
        "common practice",
    ));
    let limits = &joint.limits;
    let limit = |name: &str, it: &Sourced<f64>, value: String, unit: &str| {
        row(name, value, unit, &it.source, &it.status.to_string())
    };
    for (name, it) in [
        ("Limit: melt depth, upper part", &limits.upper_melt_depth_m),
        ("Limit: melt depth, lower part", &limits.lower_melt_depth_m),
    ] {
        rows.push(limit(name, it, number::short(it.value / UM, 3), "µm"));
    }
    if let Some(it) = &limits.time_above_flow_s {
        rows.push(limit(
            "Limit: time above flow",
            it,
            number::short(it.value * 1e3, 3),
            "ms",
        ));
    }
    if let Some(it) = &limits.healing {
        let value = number::short(100.0 * it.value, 3);
        rows.push(limit("Limit: degree of healing", it, value, "%"));
    }
    if let Some(it) = &limits.collapse_m {
        let value = number::short(it.value / MM, 3);
        rows.push(limit("Limit: collapse", it, value, "mm"));
    }
    rows.push(limit(
        "Limit: damaged share",
        &limits.damage,
        number::short(100.0 * limits.damage.value, 3),
        "%",
    ));
    rows
}

/// Optical properties in use of one part, at the wavelength of the joint.
pub fn optical_rows(joint: &Joint, part: &Part) -> Vec<InputRow> {
    let optical = &part.optical;
    let mut rows = Vec::new();
    let mut push = |name: &str, it: &Sourced<Spectrum>, unit: &str, scale: f64| {
        let value = it
            .value
            .at(name, joint.wavelength_m)
            .map_or(number::MISSING.to_string(), |it| {
                number::short(it / scale, 3)
            });
        rows.push(row(name, value, unit, &it.source, &it.status.to_string()));
    };
    push("Refractive index", &optical.refractive_index, "", 1.0);
    if let Some(it) = &optical.absorption {
        let name = match optical.reading {
            Reading::Coefficients => "Absorption µa",
            Reading::EffectiveExtinction => "Effective extinction",
        };
        push(name, it, "1/mm", PER_MM);
    }
    if let Some(it) = &optical.scattering {
        push("Scattering µs", it, "1/mm", PER_MM);
    }
    if let Some(it) = &optical.anisotropy {
        push("Anisotropy g", it, "", 1.0);
    }
    if let Some(absorber) = &part.absorber {
        rows.push(absorber_row(joint, part, absorber));
    }
    if let Some(moisture) = &part.moisture {
        let added = part.moisture_absorption_per_m(joint.wavelength_m);
        rows.push(row(
            format!("Moisture: water, {}", number::percent(moisture.content, 2)),
            match added {
                Ok(Some(it)) => number::short(it / PER_MM, 3),
                _ => number::MISSING.to_string(),
            },
            "1/mm",
            &format!(
                "{}; times its share of the volume",
                moisture.water_absorption.source
            ),
            &Status::Computed.to_string(),
        ));
    }
    rows
}

fn absorber_row(joint: &Joint, part: &Part, absorber: &Absorber) -> InputRow {
    let density = part.material.thermal.density_kg_per_m3.value.at(ROOM_K);
    let value = absorber
        .absorption_per_m(joint.wavelength_m, density)
        .map_or(number::MISSING.to_string(), |it| {
            number::short(it / PER_MM, 3)
        });
    match absorber {
        Absorber::CarbonBlack {
            content,
            mass_absorption_m2_per_kg,
        } => row(
            format!("Absorber: carbon black, {}", number::percent(*content, 2)),
            value,
            "1/mm",
            &format!(
                "{}; {} m²/g at 550 nm, falling as 1/wavelength",
                mass_absorption_m2_per_kg.source,
                number::short(mass_absorption_m2_per_kg.value / 1e3, 3)
            ),
            &mass_absorption_m2_per_kg.status.to_string(),
        ),
        Absorber::Added(it) => row(
            "Absorber",
            value,
            "1/mm",
            &it.source,
            &it.status.to_string(),
        ),
    }
}

/// Thermal properties of a material at room temperature, ends of tables named.
pub fn thermal_rows(material: &Material) -> Vec<InputRow> {
    let thermal = &material.thermal;
    let mut rows = Vec::new();
    let mut table = |name: &str, it: &Sourced<PiecewiseLinear>, unit: &str| {
        rows.push(row(
            name,
            say_table(&it.value),
            unit,
            &it.source,
            &it.status.to_string(),
        ));
    };
    table("Density", &thermal.density_kg_per_m3, "kg/m³");
    table("Conductivity", &thermal.conductivity_w_per_m_k, "W/(m K)");
    table(
        "Specific heat",
        &thermal.specific_heat_j_per_kg_k,
        "J/(kg K)",
    );
    if let Some(it) = &thermal.latent_heat {
        rows.push(row(
            "Heat of melting",
            format!(
                "{} over {:.0} to {:.0} °C",
                number::short(it.value.heat_j_per_kg / 1e3, 3),
                celsius(it.value.from_k),
                celsius(it.value.to_k)
            ),
            "kJ/kg",
            &it.source,
            &it.status.to_string(),
        ));
    }
    let mut temperature = |name: &str, it: &Sourced<f64>| {
        rows.push(row(
            name,
            format!("{:.0}", celsius(it.value)),
            "°C",
            &it.source,
            &it.status.to_string(),
        ));
    };
    temperature("Flow temperature", &thermal.flow_temperature_k);
    temperature("Surface temperature", &thermal.surface_temperature_k);
    match (&material.damage, &material.decomposition_k) {
        (Some(damage), _) => {
            let (a, e) = (&damage.frequency_per_s, &damage.energy_j_per_mol);
            rows.push(row(
                "Damage, frequency factor",
                number::short(a.value, 3),
                "1/s",
                &a.source,
                &a.status.to_string(),
            ));
            rows.push(row(
                "Damage, activation energy",
                number::short(e.value / 1e3, 4),
                "kJ/mol",
                &e.source,
                &e.status.to_string(),
            ));
        }
        (None, Some(onset)) => temperature("Onset of decomposition", onset),
        (None, None) => {}
    }
    if let Some(it) = &material.melt.viscosity {
        let (value, status) = (say_viscosity(&it.value), it.status.to_string());
        rows.push(row("Melt viscosity", value, "Pa s", &it.source, &status));
    }
    if let Some(it) = &material.melt.healing {
        let healing = &it.value;
        rows.push(row(
            "Healing time",
            format!(
                "{} at {:.0} °C, {} kJ/mol",
                number::short(healing.time_s, 3),
                celsius(healing.reference_k),
                number::short(healing.energy_j_per_mol / 1e3, 4)
            ),
            "s",
            &it.source,
            &it.status.to_string(),
        ));
    }
    rows
}

/// The law of a viscosity with its constants.
fn say_viscosity(law: &Viscosity) -> String {
    match *law {
        Viscosity::Arrhenius {
            value_pa_s,
            reference_k,
            energy_j_per_mol,
        } => format!(
            "{} at {:.0} °C, {} kJ/mol",
            number::short(value_pa_s, 3),
            celsius(reference_k),
            number::short(energy_j_per_mol / 1e3, 4)
        ),
        Viscosity::Wlf {
            d1_pa_s,
            reference_k,
            a1,
            a2_k,
        } => format!(
            "D1 {} at T* {:.0} °C, A1 {}, A2 {} K",
            number::short(d1_pa_s, 3),
            celsius(reference_k),
            number::short(a1, 4),
            number::short(a2_k, 4)
        ),
    }
}

/// A constant, or the value at 23 °C and the range of the table.
fn say_table(table: &PiecewiseLinear) -> String {
    let room = number::short(table.at(ROOM_K), 4);
    let points: Vec<(f64, f64)> = table.points().collect();
    match (points.first(), points.last()) {
        (Some(first), Some(last)) if 1 < points.len() => format!(
            "{room} at 23 °C; {} entries from {:.0} °C ({}) to {:.0} °C ({})",
            points.len(),
            celsius(first.0),
            number::short(first.1, 4),
            celsius(last.0),
            number::short(last.1, 4)
        ),
        _ => room,
    }
}

/// Numerical settings as name and value.
pub fn setting_rows(settings: &Settings) -> Vec<(String, String)> {
    let heat = &settings.heat;
    vec![
        (
            "cells for every factor e of distance".into(),
            number::short(heat.cells_per_e_fold, 3),
        ),
        (
            "error allowed in one time step".into(),
            format!(
                "{} of the temperature span",
                number::short(heat.tolerance, 2)
            ),
        ),
        (
            "passes at the end that are followed one by one".into(),
            heat.most_resolved_passes.to_string(),
        ),
        ("seed of the photons".into(), SEED.to_string()),
    ]
}

/// The laser of a joint, for cautions: the machine's greatest power where it is stated.
pub fn laser_of(joint: &Joint) -> Laser {
    let power_w = joint.machine.map_or(joint.beam.power_w, |it| it.power_w.1);
    Laser {
        wavelength_m: joint.wavelength_m,
        power_w: (0.0 < power_w).then_some(power_w),
        area_m2: joint.beam.length_m * joint.beam.width_m,
    }
}

/// What the polymers of a joint may give off.
pub fn fumes_of(joint: &Joint) -> Vec<Fume> {
    let mut fumes: Vec<Fume> = Vec::new();
    for material in [&joint.upper.material, &joint.lower.material] {
        if let Some(it) = &material.fume {
            let fume = Fume {
                polymer: material.name.clone(),
                substances: it.value.clone(),
                source: it.source.clone(),
            };
            if fumes
                .iter()
                .all(|known| known.substances != fume.substances)
            {
                fumes.push(fume);
            }
        }
    }
    fumes
}
