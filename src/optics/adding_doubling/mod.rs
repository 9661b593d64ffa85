//! Light in scattering layers, exactly: reflectance, transmittance and absorption against depth.
//!
//! Plane-parallel radiative transfer by adding and doubling. Each layer has its own refractive
//! index, absorption, scattering and Henyey–Greenstein asymmetry; every step of index reflects by
//! Fresnel's formulae, totally beyond the critical angle. Light comes from air on the first face:
//! straight on, at an angle, or diffuse.
//!
//! ```text
//! cos θ dI/dz = −(µa + µs) I + µs/2 ∫ p(θ, θ') I(θ') dcos θ'
//! ```
//!
//! | file | what |
//! |---|---|
//! | `directions` | the directions, one set for all layers |
//! | `redistribution` | phase function to scattering between directions, forward peak |
//! | `doubling` | one homogeneous layer from a thin one |
//! | `adding` | layers and faces to a stack, and the light in it |
//! | `depth` | absorbed light against depth |
//! | `plaque_modes` | plaques of one material at any thickness, seen from outside |
//!
//! Holds for: layers wide against the depth the light reaches (no loss sideways), smooth faces,
//! incoherent light, polarisation not followed; optical thickness 0 to 1e4, any albedo, g from
//! −0.5 to 0.99. Errors at [`Resolution::standard`], as shares of the incident light: 1e-5 up to
//! g = 0.75, 3e-4 at g = 0.9, 1e-3 at g = 0.95, largest for slabs of a few free paths (R and T of one
//! slab of n = 1.5 in air, straight on: 8e-5 and 3e-4, twelve times less without faces); two scattering
//! layers whose indices differ by 0.3 and more, 2e-3 at g = 0.9. [`absorb`] takes
//! [`Resolution::fine`] from g = 0.92 on: 1e-5 there for one slab at g = 0.95.
//! Does not hold for: narrow beams (see `photon_monte_carlo`), rough faces, fluorescence.
//!
//! Source: H. C. van de Hulst, *Multiple Light Scattering* (1980); S. A. Prahl, "The adding-doubling
//! method", in *Optical-Thermal Response of Laser-Irradiated Tissue* (1995), ch. 5 (both from
//! memory; what is done differently is said in each file).
//! Checked in: `tests/optics/published.rs`, `tests/optics/adding_doubling.rs`, `limits.rs`,
//! `energy.rs`.

use crate::error::{Error, OpticsProblem};
use crate::numerics::small_matrix::dot;
use crate::optics::absorbed::{Absorbed, DepthProfile};
use crate::optics::beer_lambert;
use crate::optics::fresnel::{Boundary, reflectance};
use crate::optics::slab::{Slab, Stack};

pub mod adding;
pub mod depth;
pub mod directions;
pub mod doubling;
pub mod plaque_modes;
pub mod redistribution;

use adding::{Face, Field, Layer};
use directions::Directions;
pub use directions::Resolution;
use doubling::Doubled;
pub use plaque_modes::{Modes, Ordinates};

/// Name of the method in messages.
pub(crate) const NAME: &str = "adding-doubling";

/// Steepest incidence from air that is accepted, degrees. Scanner optics need 30.
pub const STEEPEST_DEG: f64 = 75.0;

/// How light arrives from air on the first face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Incidence {
    /// A parallel beam, straight on.
    Normal,
    /// A parallel unpolarised beam at an angle to the normal, up to [`STEEPEST_DEG`].
    Oblique {
        /// Angle to the normal in air, rad.
        angle_rad: f64,
    },
    /// The same radiance from everywhere, as from a sphere.
    Diffuse,
}

/// Where unit incident light went.
#[derive(Clone, Debug, PartialEq)]
pub struct Followed {
    /// Reflected, transmitted and absorbed shares.
    pub absorbed: Absorbed,
    /// Part of the reflected share that was never scattered (specular).
    pub reflected_unscattered: f64,
    /// Part of the transmitted share that was never scattered (collimated transmittance).
    pub transmitted_unscattered: f64,
    /// Net share that goes down through each face, from the first to behind the last layer.
    pub net_at_faces: Vec<f64>,
    /// Share that goes down just below the upper face of each layer, what comes back not taken off.
    pub down_below_faces: Vec<f64>,
}

/// What leaves a stack, as shares of the incident light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Totals {
    /// Reflected, specular and diffuse.
    pub reflected: f64,
    /// Transmitted, straight on and diffuse.
    pub transmitted: f64,
    /// Part of the reflected share that was never scattered.
    pub reflected_unscattered: f64,
    /// Part of the transmitted share that was never scattered.
    pub transmitted_unscattered: f64,
}

impl Resolution {
    /// Ten directions that escape, eight trapped, 28 moments: with fewer, the tables of
    /// `tests/published/` are not met within 1e-4 at g = 0.9; more moments need more directions.
    pub const STANDARD: Resolution = Resolution {
        escaping: 10,
        trapped: 8,
        moments: 28,
    };

    /// [`Resolution::STANDARD`].
    pub fn standard() -> Self {
        Resolution::STANDARD
    }

    /// For very sharp forward peaks: one slab within 2e-5 at g = 0.95, at a dozen times the work.
    pub fn fine() -> Self {
        Resolution {
            escaping: 24,
            trapped: 18,
            moments: 70,
        }
    }

    /// The resolution for a stack: fine where a layer scatters more sharply forwards than
    /// [`SHARP_PEAK`].
    pub fn for_stack(stack: &Stack) -> Self {
        let sharp = |slab: &Slab| slab.scatters() && SHARP_PEAK < slab.constants.g;
        if stack.slabs.iter().any(sharp) {
            Resolution::fine()
        } else {
            Resolution::standard()
        }
    }
}

/// Anisotropy above which the standard resolution is not good to 1e-4 for a slab with faces.
pub const SHARP_PEAK: f64 = 0.92;

/// Shares of unit light at normal incidence; plain Beer–Lambert where no layer scatters.
///
/// # Errors
/// A layer has values out of range.
pub fn absorb(stack: &Stack) -> Result<Absorbed, Error> {
    absorb_at(stack, 0.0)
}

/// Shares of unit light at an angle to the normal; plain Beer–Lambert where no layer scatters.
///
/// # Errors
/// A layer has values out of range, or the angle is above [`STEEPEST_DEG`].
pub fn absorb_at(stack: &Stack, incidence_rad: f64) -> Result<Absorbed, Error> {
    let incidence = if incidence_rad == 0.0 {
        Incidence::Normal
    } else {
        Incidence::Oblique {
            angle_rad: incidence_rad,
        }
    };
    if stack.scatters() {
        follow(stack, incidence, Resolution::for_stack(stack)).map(|it| it.absorbed)
    } else {
        Ok(beer_lambert::absorb_at(stack, incidence_rad))
    }
}

/// Follows unit light through a stack, scattering or not.
///
/// # Errors
/// A layer has values out of range, or the angle is too steep.
pub fn follow(
    stack: &Stack,
    incidence: Incidence,
    resolution: Resolution,
) -> Result<Followed, Error> {
    let lit = Lit::new(stack, incidence, resolution)?;
    let Totals {
        reflected,
        transmitted,
        reflected_unscattered,
        transmitted_unscattered,
    } = lit.totals(stack);
    let ends = &lit.field.ends;
    let mut net_at_faces: Vec<f64> = ends
        .iter()
        .map(|it| lit.power(&it.down_top) - lit.power(&it.up_top))
        .collect();
    net_at_faces.push(transmitted);
    Ok(Followed {
        absorbed: Absorbed {
            reflected,
            transmitted,
            layers: lit.profiles(stack, resolution)?,
            upper: stack.upper,
            lower: stack.lower,
        },
        reflected_unscattered,
        transmitted_unscattered,
        net_at_faces,
        down_below_faces: ends.iter().map(|it| lit.power(&it.down_top)).collect(),
    })
}

/// Reflected and transmitted shares alone, without depths: what a spectrometer sees.
///
/// # Errors
/// As [`follow`].
pub fn totals(
    stack: &Stack,
    incidence: Incidence,
    resolution: Resolution,
) -> Result<Totals, Error> {
    Ok(Lit::new(stack, incidence, resolution)?.totals(stack))
}

/// A stack with light in it.
struct Lit {
    grid: Grid,
    layers: Vec<Layer>,
    field: Field,
}

impl Lit {
    fn new(stack: &Stack, incidence: Incidence, resolution: Resolution) -> Result<Self, Error> {
        check(stack, incidence)?;
        let grid = Grid::new(stack, incidence, resolution);
        let layers: Vec<Layer> = (0..stack.slabs.len())
            .map(|i| grid.layer(&stack.slabs[i], &grid.cosines[i + 1], resolution))
            .collect();
        let field = adding::follow(&grid.faces, &layers, &grid.incident);
        Ok(Lit {
            grid,
            layers,
            field,
        })
    }

    /// Power of light by direction.
    fn power(&self, light: &[f64]) -> f64 {
        dot(light, &self.grid.roots[..light.len()])
    }

    fn totals(&self, stack: &Stack) -> Totals {
        let straight = self.grid.unscattered(stack);
        Totals {
            reflected: self.power(&self.field.reflected),
            // Rounding of a sum of both signs, far below what the check of the sum would notice.
            transmitted: self.power(&self.field.transmitted).max(0.0),
            reflected_unscattered: self.power(&straight.reflected),
            transmitted_unscattered: self.power(&straight.transmitted),
        }
    }

    fn profiles(&self, stack: &Stack, resolution: Resolution) -> Result<Vec<DepthProfile>, Error> {
        let roots = &self.grid.roots;
        let places = self.layers.iter().zip(&self.field.ends).enumerate();
        places
            .map(|(i, (layer, ends))| {
                let (slab, cosines) = (&stack.slabs[i], &self.grid.cosines[i + 1]);
                match layer {
                    Layer::Clear(_) => depth::in_clear(ends, cosines, roots, slab),
                    Layer::Scattering(doubled) => {
                        let mu_a_per_m = slab.constants.mu_a_per_m;
                        let absorption: Vec<f64> = (cosines.iter().zip(roots))
                            .map(|(cosine, root)| mu_a_per_m * root / cosine)
                            .collect();
                        let extinction_per_m = extinction_per_m(slab, resolution);
                        depth::in_scattering(doubled, ends, &absorption, extinction_per_m, slab)
                    }
                }
            })
            .collect()
    }
}

/// Directions, cosines, faces and incident light of one stack.
struct Grid {
    roots: Vec<f64>,
    /// Cosines in each medium, from the air in front to the air behind.
    cosines: Vec<Vec<f64>>,
    faces: Vec<Face>,
    incident: Vec<f64>,
}

impl Grid {
    fn new(stack: &Stack, incidence: Incidence, resolution: Resolution) -> Self {
        let indices = stack.indices();
        let densest = stack
            .slabs
            .iter()
            .filter(|slab| slab.scatters())
            .map(|slab| slab.constants.n)
            .fold(1.0, f64::max);
        let directions = Directions::new(&indices, densest, resolution);
        let (directions, beam) = match incidence {
            Incidence::Oblique { angle_rad } => directions.with_beam(angle_rad.sin()),
            Incidence::Normal | Incidence::Diffuse => (directions, 0),
        };
        let roots = directions.roots();
        let cosines: Vec<Vec<f64>> = indices.iter().map(|&n| directions.cosines_in(n)).collect();
        let faces = (1..indices.len())
            .map(|i| face(&indices[i - 1..=i], &cosines[i - 1..=i]))
            .collect();
        let outside = cosines[0].len();
        let incident = match incidence {
            Incidence::Diffuse => {
                let etendue: f64 = directions.etendue[..outside].iter().sum();
                roots[..outside].iter().map(|root| root / etendue).collect()
            }
            Incidence::Normal | Incidence::Oblique { .. } => {
                let mut incident = vec![0.0; outside];
                incident[beam] = 1.0 / roots[beam];
                incident
            }
        };
        Grid {
            roots,
            cosines,
            faces,
            incident,
        }
    }

    fn layer(&self, slab: &Slab, cosines: &[f64], resolution: Resolution) -> Layer {
        let (moments, constants) = (resolution.moments, &slab.constants);
        let peak = redistribution::peak(constants.g, moments);
        if slab.scatters() && peak < 1.0 {
            let scattering =
                redistribution::redistribution(constants, cosines, &self.roots, moments);
            Layer::Scattering(Box::new(Doubled::new(&scattering, slab.thickness_m)))
        } else {
            let depth = constants.mu_a_per_m * slab.thickness_m;
            Layer::Clear(
                cosines
                    .iter()
                    .map(|cosine| (-depth / cosine).exp())
                    .collect(),
            )
        }
    }

    /// The light that is never scattered: every layer clear, with its whole extinction.
    fn unscattered(&self, stack: &Stack) -> Field {
        let layers: Vec<Layer> = stack
            .slabs
            .iter()
            .zip(&self.cosines[1..])
            .map(|(slab, cosines)| {
                let depth = slab.optical_thickness();
                Layer::Clear(
                    cosines
                        .iter()
                        .map(|cosine| (-depth / cosine).exp())
                        .collect(),
                )
            })
            .collect();
        adding::follow(&self.faces, &layers, &self.incident)
    }
}

fn face(indices: &[f64], cosines: &[Vec<f64>]) -> Face {
    let (above, below) = (cosines[0].len(), cosines[1].len());
    let boundary = Boundary {
        n_from: indices[0],
        n_into: indices[1],
    };
    let reflect = (0..above.max(below))
        .map(|k| {
            if k < above.min(below) {
                reflectance(boundary, cosines[0][k])
            } else {
                1.0
            }
        })
        .collect();
    Face {
        above,
        below,
        reflect,
    }
}

/// Extinction without the forward peak, 1/m.
fn extinction_per_m(slab: &Slab, resolution: Resolution) -> f64 {
    let peak = redistribution::peak(slab.constants.g, resolution.moments);
    slab.constants.mu_a_per_m + slab.constants.mu_s_per_m * (1.0 - peak)
}

fn check(stack: &Stack, incidence: Incidence) -> Result<(), Error> {
    let refuse = |reason: String| {
        Err(Error::new(OpticsProblem::MethodDoesNotApply {
            method: NAME.into(),
            reason,
        }))
    };
    for (i, slab) in stack.slabs.iter().enumerate() {
        let place = i + 1;
        let it = &slab.constants;
        if !(1.0..=10.0).contains(&it.n) {
            return refuse(format!(
                "refractive index {} of layer {place} is outside 1 to 10",
                it.n
            ));
        }
        if !(-1.0 < it.g && it.g <= 1.0) {
            return refuse(format!(
                "anisotropy g = {} of layer {place} is outside -1 to 1",
                it.g
            ));
        }
        if !(0.0 < slab.thickness_m && slab.thickness_m.is_finite()) {
            return refuse(format!(
                "thickness {} m of layer {place} is not above 0",
                slab.thickness_m
            ));
        }
        let coefficients = [it.mu_a_per_m, it.mu_s_per_m];
        if coefficients
            .iter()
            .any(|&mu| !(0.0..f64::INFINITY).contains(&mu))
        {
            return refuse(format!(
                "a coefficient of layer {place} is negative or not finite"
            ));
        }
        if THICKEST < slab.optical_thickness() && slab.scatters() {
            let depth = slab.optical_thickness();
            return refuse(format!(
                "optical thickness {depth:.1e} of layer {place} is above {THICKEST:.0e}"
            ));
        }
    }
    match incidence {
        Incidence::Oblique { angle_rad }
            if !(0.0..=STEEPEST_DEG).contains(&angle_rad.to_degrees()) =>
        {
            refuse(format!(
                "an angle of {:.1}° is outside 0 to {STEEPEST_DEG}°",
                angle_rad.to_degrees()
            ))
        }
        _ => Ok(()),
    }
}

/// Optical thickness of a scattering layer up to which the light still adds up to 1e-9.
const THICKEST: f64 = 1e6;
