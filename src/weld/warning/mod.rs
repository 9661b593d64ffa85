//! Facts that limit how far a result may be trusted, one warning for each cause.

mod due;

use std::fmt;

use crate::material::{NO_POLYMER_C, Status};
use crate::weld::setpoint::PLANE_WALL;
use crate::weld::settings::{LATERAL_LOSS, LATERAL_MELT_LOSS};
pub use due::{Dry, matters_dry, warnings};

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
    /// Faces in contact that let much less light through where they lie dry until melt wets them.
    DryFaces {
        /// Share of the light delivered to the interface in optical contact.
        delivered: f64,
        /// The same where the faces lie dry.
        dry: f64,
        /// Why no narrow gap can be computed in place of contact; none where it can.
        not_computed: Option<&'static str>,
    },
    /// The run ended while something that is watched could still change.
    RunEnded {
        /// Time after the last light, s.
        after_s: f64,
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
            Warning::DryFaces { .. } => "dry_faces",
            Warning::RunEnded { .. } => "run_ended",
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
                "the verdict rests on numbers of {material} that are {status}: {}",
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
                    "state moisture = \"2.5 %\" or what it is in its section; \"0 %\" for a dry part"
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
            Warning::DryFaces {
                delivered,
                dry,
                not_computed,
            } => {
                write!(
                    f,
                    "the faces are taken to be in optical contact, where {:.0} % of the light reaches \
                     the interface; faces that lie dry let {:.0} % through until melt wets them, and \
                     need more power",
                    100.0 * delivered,
                    100.0 * dry
                )?;
                match not_computed {
                    None => f.write_str(": gap = \"1 µm\" in place of contact computes it"),
                    Some(why) => write!(f, "; how much is not computed, since {why}"),
                }
            }
            Warning::RunEnded { after_s } => write!(
                f,
                "heat was followed for {after_s:.0} s after the last light and no longer: the laser-side \
                 surface, or another place far from the seam, may still become warmer than stated"
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
