//! Sections about the weld itself: contact, limits, air, method, scatter.

use crate::error::{Error, InputProblem};
use crate::input::document::Section;
use crate::input::quantity::{self, Field};
use crate::material::{Material, Sourced, Status};
use crate::optics::Method;
use crate::optics::reduction::Assumptions;
use crate::units::{MM, UM};
use crate::weld::{Interface, Joint, Lever, Limits, Motion, Surroundings, Uncertainty};

/// Least melt depth of either part where the joint does not say, m.
const MELT_DEPTH_M: f64 = 20.0 * UM;

/// Largest damaged share where the joint does not say.
const DAMAGE: f64 = 0.01;

/// Ambient temperature where the joint does not say, K.
const AMBIENT_K: f64 = 296.15;

/// Heat transfer from the outer faces where the joint does not say, W/(m² K): still air with
/// radiation, common practice.
const CONVECTION_W_PER_M2_K: f64 = 10.0;

const STATED: &str = "joint file";

pub(super) fn read_contact(section: Option<&Section<'_>>) -> Result<Interface, Error> {
    let perfect = Interface::Contact {
        conductance_w_per_m2_k: None,
    };
    let Some(section) = section else {
        return Ok(perfect);
    };
    section.only(&["gap", "conductance", "closure", "pressure"])?;
    let gap_m = section
        .quantity_if("gap", &quantity::GAP)?
        .filter(|it| 0.0 < *it);
    let conductance_w_per_m2_k = section.quantity_if("conductance", &quantity::CONDUCTANCE)?;
    let closure = section.get("closure");
    let closes = match &closure {
        Some(item) => item.word(&[("expansion", true), ("none", false)])?,
        None => conductance_w_per_m2_k.is_none(),
    };
    if let (Some(item), true, Some(_)) = (&closure, closes, conductance_w_per_m2_k) {
        return Err(item
            .error(InputProblem::Conflict {
                first: "closure".into(),
                second: "conductance".into(),
            })
            .cure("a stated conductance stays as it is: leave one of them out"));
    }
    Ok(match gap_m {
        Some(gap_m) => Interface::Gap {
            gap_m,
            conductance_w_per_m2_k,
            closes,
            film_factor: 1.0,
        },
        None => Interface::Contact {
            conductance_w_per_m2_k,
        },
    })
}

/// Angle of incidence, rad; straight on where the joint does not say.
pub(super) fn read_incidence(section: &Section<'_>) -> Result<f64, Error> {
    Ok(section
        .quantity_if("incidence", &quantity::INCIDENCE)?
        .unwrap_or(0.0))
}

/// Mean pressure on the seam, from `[clamp]` or `[contact]`.
pub(super) fn read_pressure(sections: [Option<&Section<'_>>; 2]) -> Result<Option<f64>, Error> {
    let [clamp, contact] = sections.map(|it| it.and_then(|it| it.get("pressure")));
    if let (Some(clamp), Some(_)) = (&clamp, &contact) {
        return Err(clamp
            .error(InputProblem::Conflict {
                first: "pressure".into(),
                second: "pressure of [contact]".into(),
            })
            .cure("state it once"));
    }
    clamp
        .or(contact)
        .map(|it| it.quantity(&quantity::PRESSURE))
        .transpose()
}

/// Refuses limits that nothing would be judged by.
pub(super) fn check_limits(section: Option<&Section<'_>>, joint: &Joint) -> Result<(), Error> {
    let Some(section) = section else {
        return Ok(());
    };
    for (key, part) in [
        ("upper_melt_depth", &joint.upper),
        ("lower_melt_depth", &joint.lower),
    ] {
        if let Some(item) = section.get(key)
            && part.thickness_m <= item.quantity(&quantity::MELT_DEPTH)?
        {
            return Err(item
                .error(InputProblem::OutOfRange {
                    what: "melt depth".into(),
                    value: item.echo(),
                    least: "0 µm".into(),
                    most: format!("{} mm, the thickness of the part", part.thickness_m / MM),
                })
                .cure("a part melted through is no weld: ask for less than its thickness"));
        }
    }
    let parts = [&joint.upper.material, &joint.lower.material];
    let without = |known: fn(&Material) -> bool| parts.into_iter().find(|it| !known(it));
    if let (Some(item), Some(part)) = (
        section.get("healing"),
        without(|it| it.melt.healing.is_some()),
    ) {
        return Err(item
            .error(InputProblem::NeedsBeside {
                first: "healing".into(),
                second: format!("[healing] on the card of {}", part.name),
            })
            .cure("state time_above_flow in its place, or a card with a published healing time"));
    }
    let Some(item) = section.get("collapse") else {
        return Ok(());
    };
    let missing = |second: String, cure: &str| {
        Err(item
            .error(InputProblem::NeedsBeside {
                first: "collapse".into(),
                second,
            })
            .cure(cure))
    };
    if !joint.motion.collapses() {
        return missing(
            "mode = \"quasi-simultaneous\" or \"simultaneous\"".into(),
            "the parts come together only where the whole seam is warm at once: leave collapse out",
        );
    }
    if joint.pressure_pa.is_none() {
        return missing(
            "pressure".into(),
            "add pressure = \"1 N/mm2\" to [contact] or [clamp]",
        );
    }
    match without(|it| it.melt.viscosity.is_some()) {
        Some(part) => missing(
            format!("[melt] viscosity on the card of {}", part.name),
            "leave collapse out, or use a card with a published viscosity",
        ),
        None => Ok(()),
    }
}

pub(super) fn read_limits(section: Option<&Section<'_>>) -> Result<Limits, Error> {
    if let Some(section) = section {
        section.only(&[
            "upper_melt_depth",
            "lower_melt_depth",
            "damage",
            "time_above_flow",
            "healing",
            "collapse",
        ])?;
    }
    let stated = |key: &str, field: &Field| -> Result<Option<Sourced<f64>>, Error> {
        let value = match section {
            Some(section) => section.quantity_if(key, field)?,
            None => None,
        };
        Ok(value.map(|it| Sourced::new(it, STATED, Status::Stated)))
    };
    let or = |it: Option<Sourced<f64>>, value: f64| {
        it.unwrap_or_else(|| Sourced::new(value, "default limit", Status::CommonPractice))
    };
    Ok(Limits {
        upper_melt_depth_m: or(
            stated("upper_melt_depth", &quantity::MELT_DEPTH)?,
            MELT_DEPTH_M,
        ),
        lower_melt_depth_m: or(
            stated("lower_melt_depth", &quantity::MELT_DEPTH)?,
            MELT_DEPTH_M,
        ),
        time_above_flow_s: stated("time_above_flow", &quantity::TIME)?,
        healing: stated("healing", &quantity::HEALING)?,
        collapse_m: stated("collapse", &quantity::COLLAPSE)?,
        damage: or(stated("damage", &quantity::DAMAGE)?, DAMAGE),
    })
}

pub(super) fn read_surroundings(section: Option<&Section<'_>>) -> Result<Surroundings, Error> {
    let mut surroundings = Surroundings {
        ambient_k: AMBIENT_K,
        convection_w_per_m2_k: CONVECTION_W_PER_M2_K,
    };
    if let Some(section) = section {
        section.only(&["ambient", "convection"])?;
        if let Some(ambient_k) = section.quantity_if("ambient", &quantity::AMBIENT)? {
            surroundings.ambient_k = ambient_k;
        }
        if let Some(value) = section.quantity_if("convection", &quantity::CONVECTION)? {
            surroundings.convection_w_per_m2_k = value;
        }
    }
    Ok(surroundings)
}

/// The section `[optics]`: how light is followed, and how spectra are reduced.
#[derive(Clone, Debug)]
pub(super) struct Optics {
    /// Method asked for; none to go by the parts.
    pub method: Option<Method>,
    /// What is assumed of the instrument, and whether spectra are inverted.
    pub assumed: Assumptions,
    /// Factor on the scattering of the upper part where it is molten.
    pub melt_clearing: Option<f64>,
}

pub(super) fn read_optics(section: Option<&Section<'_>>) -> Result<Optics, Error> {
    let mut optics = Optics {
        method: None,
        assumed: Assumptions::default(),
        melt_clearing: None,
    };
    let Some(section) = section else {
        return Ok(optics);
    };
    section.only(&[
        "method",
        "invert",
        "photometric",
        "port_loss",
        "reference_reflectance",
        "specular",
        "melt_clearing",
    ])?;
    if let Some(item) = section.get("method") {
        let mut words: Vec<(&str, Option<Method>)> = Method::ALL
            .iter()
            .map(|it| (it.name(), Some(*it)))
            .collect();
        words.push(("auto", None));
        optics.method = item.word(&words)?;
    }
    optics.melt_clearing = section.quantity_if("melt_clearing", &quantity::MELT_CLEARING)?;
    let assumed = &mut optics.assumed;
    if let Some(item) = section.get("invert") {
        assumed.invert = item.word(&[("auto", true), ("no", false)])?;
    }
    if let Some(it) = section.quantity_if("photometric", &quantity::PHOTOMETRIC)? {
        assumed.photometric = it;
    }
    if let Some(it) = section.quantity_if("port_loss", &quantity::PORT_LOSS)? {
        assumed.sphere.port_loss = it;
    }
    if let Some(it) = section.quantity_if("reference_reflectance", &quantity::REFERENCE)? {
        assumed.sphere.reference_reflectance = it;
    }
    if let Some(item) = section.get("specular") {
        assumed.sphere.specular_included = item.word(&[("included", true), ("excluded", false)])?;
    }
    Ok(optics)
}

pub(super) fn read_uncertainty(
    section: Option<&Section<'_>>,
    motion: &Motion,
) -> Result<Uncertainty, Error> {
    let Some(section) = section else {
        return Ok(Uncertainty::default());
    };
    section.only(&[
        "upper_optics",
        "upper_thickness",
        "absorber",
        "power",
        match motion.lever() {
            Lever::Time => "time",
            _ => "speed",
        },
        "spot",
        "contact",
        "thermal",
    ])?;
    let share = |key: &str| section.quantity_if(key, &quantity::UNCERTAINTY);
    Ok(Uncertainty {
        upper_optics: share("upper_optics")?,
        upper_thickness: share("upper_thickness")?,
        absorber: share("absorber")?,
        power: share("power")?,
        speed: share("speed")?,
        time: share("time")?,
        spot: share("spot")?,
        contact: share("contact")?,
        thermal: share("thermal")?,
    })
}
