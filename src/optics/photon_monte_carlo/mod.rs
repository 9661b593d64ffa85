//! Light followed photon by photon: shares with standard errors, and how far scattering carries it
//! sideways before it reaches the lower part.
//!
//! Adding-doubling gives the shares faster and exactly; photons are for what it cannot give, the
//! [`Spread`] of the light over the interface, and as an independent check of it.
//!
//! ```text
//! unscattered light (exact) → first scattering → photon … photon → tally → shares, spread
//! ```
//!
//! Every photon draws from its own stream (seed, number), blocks of photons are summed in their
//! own tallies, and tallies are merged in the order of the blocks: the result is the same for any
//! number of threads, bit for bit.
//!
//! Checked in: `tests/optics/photon.rs`.

use rayon::iter::{IntoParallelIterator, ParallelIterator};

use crate::error::{Error, MaterialProblem, OpticsProblem};
use crate::numerics::random::Stream;
use crate::numerics::statistics::Estimate;
use crate::optics::fresnel::{Boundary, reflectance};
use crate::optics::slab::{Slab, Stack};

mod medium;
mod photon;
mod tally;
mod unscattered;

pub mod profile;

pub mod spread;

pub mod table;

pub use photon::{Direction, MOST_COLLISIONS, Turn};
pub use spread::{LineSpread, Spread};
pub use table::SpreadTable;

use medium::Medium;
use photon::Photon;
use tally::{PARTS, SCORES, Score, Tally, Totals};
use unscattered::Unscattered;

/// Photons of a block, which one thread follows from first to last.
const BLOCK: u64 = 256;

/// Photons are followed in rounds of this number, so that a run has equal parts.
pub const PHOTON_STEP: u64 = BLOCK * PARTS as u64;

/// Tells the streams of photons from other uses of the same seed.
const STREAM_PURPOSE: u64 = 0x70_68_6F_74_6F_6E;

/// Largest share of the light that may be given up with photons that never end.
const MOST_UNFINISHED: f64 = 1e-3;

/// How many photons, which ones, and how the light falls in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Photons to follow; rounded up to a multiple of [`PHOTON_STEP`].
    pub photons: u64,
    /// Collisions after which no further round of photons is started: fewer photons are followed in
    /// a very dense part, with larger standard errors, instead of a wait without end.
    pub collisions: u64,
    /// Seed of the random streams; never taken from a clock.
    pub seed: u64,
    /// Angle of incidence in air against the normal, rad.
    pub incidence_rad: f64,
    /// Depth bins of equal thickness that each layer's absorption is sorted into.
    pub depth_bins: usize,
}

impl Settings {
    /// 131 072 photons at normal incidence: factors of a 1 mm beam to about 0.2 %, in 0.03 s behind
    /// a lid of µs = 2 /mm and 0.4 s behind one of 20 /mm (1.5 mm thick, two cores).
    pub fn standard() -> Self {
        Settings {
            photons: 16 * PHOTON_STEP,
            collisions: 200_000_000,
            seed: 1,
            incidence_rad: 0.0,
            depth_bins: 1,
        }
    }
}

/// Light absorbed in one layer, as shares of the incident light.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerShares {
    /// Share absorbed in the whole layer.
    pub absorbed: Estimate,
    /// Share absorbed in each depth bin, front to back.
    pub bins: Vec<Estimate>,
    /// Thickness of a bin, m.
    pub bin_m: f64,
}

/// Where unit light ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Shares {
    /// Reflected without having been scattered.
    pub reflected_unscattered: Estimate,
    /// Reflected after scattering.
    pub reflected_scattered: Estimate,
    /// Reflected in all.
    pub reflected: Estimate,
    /// Out of the last face without having been scattered.
    pub transmitted_unscattered: Estimate,
    /// Out of the last face after scattering.
    pub transmitted_scattered: Estimate,
    /// Out of the last face in all.
    pub transmitted: Estimate,
    /// Net share through the face in front of the lower part.
    pub delivered: Estimate,
    /// Absorption in each layer.
    pub layers: Vec<LayerShares>,
    /// Share of photons given up after [`MOST_COLLISIONS`].
    pub unfinished: f64,
}

impl Shares {
    /// Sum of all shares minus one.
    pub fn energy_residual(&self) -> f64 {
        let absorbed: f64 = self.layers.iter().map(|it| it.absorbed.value).sum();
        self.reflected.value + self.transmitted.value + absorbed + self.unfinished - 1.0
    }
}

/// A finished run.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Where the light ended.
    pub shares: Shares,
    /// Where it crossed into the lower part; none where no net light got there.
    pub spread: Option<Spread>,
    /// Photons followed; none are needed where nothing scatters.
    pub photons: u64,
    /// Collisions of all photons, a measure of the work.
    pub collisions: u64,
}

/// Follows unit light from air through `stack`.
///
/// The interface is the face in front of `slabs[lower]`; with `lower` one past the last slab it is
/// the last face, and the spread is that of the transmitted spot.
///
/// # Errors
/// A property of a slab is not usable; or light is scattered so often that photons do not end.
pub fn run(stack: &Stack, settings: &Settings) -> Result<Run, Error> {
    check(stack, settings)?;
    let medium = Medium::new(stack, settings.depth_bins);
    let launch = Launch::new(stack, &medium, settings.incidence_rad);
    let mut totals = Totals::new(&medium);
    if 0.0 < launch.share() {
        let rounds = settings.photons.div_ceil(PHOTON_STEP).max(1);
        for round in 0..rounds {
            let first = round * PARTS as u64;
            let tallies: Vec<Tally> = (first..first + PARTS as u64)
                .into_par_iter()
                .map(|block| follow_block(block, &medium, &launch, settings.seed))
                .collect();
            for tally in &tallies {
                totals.merge(tally, BLOCK, medium.bins_per_layer);
            }
            if settings.collisions <= totals.collisions {
                break;
            }
        }
    }
    let shares = shares(&medium, &launch, &totals);
    if MOST_UNFINISHED < shares.unfinished {
        return Err(Error::new(OpticsProblem::MethodDoesNotApply {
            method: "photon Monte Carlo".to_owned(),
            reason: format!(
                "{:.3} % of the light is still under way after {MOST_COLLISIONS} collisions",
                100.0 * shares.unfinished
            ),
        })
        .cure("use adding-doubling, or a thinner layer: light hardly gets through this one"));
    }
    Ok(Run {
        spread: Spread::new(&medium, &launch.unscattered, launch.share(), &totals),
        shares,
        photons: totals.photons,
        collisions: totals.collisions,
    })
}

/// Lateral spread of the light that crosses into the lower part.
///
/// # Errors
/// As [`run`]; or no net light reaches the lower part.
pub fn spread(stack: &Stack, settings: &Settings) -> Result<Spread, Error> {
    run(stack, settings)?.spread.ok_or_else(|| {
        Error::new(OpticsProblem::MethodDoesNotApply {
            method: "photon Monte Carlo".to_owned(),
            reason: format!(
                "none of {} photons brought light into the lower part",
                settings.photons
            ),
        })
        .cure("follow more photons, or take an upper part that lets light through")
    })
}

/// How photons begin.
struct Launch {
    unscattered: Unscattered,
    /// At oblique incidence: reflectance of the first face, sine behind it, lateral offset, m.
    oblique: Option<(f64, f64, f64)>,
}

impl Launch {
    fn new(stack: &Stack, medium: &Medium, incidence_rad: f64) -> Self {
        if incidence_rad == 0.0 {
            return Launch {
                unscattered: Unscattered::new(stack, medium),
                oblique: None,
            };
        }
        let boundary = Boundary {
            n_from: 1.0,
            n_into: stack.slabs[0].constants.n,
        };
        Launch {
            unscattered: Unscattered::none(medium),
            oblique: Some((
                reflectance(boundary, incidence_rad.cos()),
                incidence_rad.sin() / boundary.n_into,
                medium.straight_offset_m(incidence_rad),
            )),
        }
    }

    /// Share of the incident light that photons stand for.
    fn share(&self) -> f64 {
        match self.oblique {
            None => self.unscattered.scattered,
            Some((reflected, ..)) => 1.0 - reflected,
        }
    }
}

/// Follows one block. Its photons take their places of first scattering from equal strata.
fn follow_block(block: u64, medium: &Medium, launch: &Launch, seed: u64) -> Tally {
    let mut tally = Tally::new(medium);
    for number in 0..BLOCK {
        let mut stream = Stream::new(seed, STREAM_PURPOSE, block * BLOCK + number);
        let photon = match launch.oblique {
            Some((_, sine_inside, offset_m)) => Photon::entering(sine_inside, offset_m),
            None => {
                let random = (number as f64 + stream.uniform()) / BLOCK as f64;
                match launch.unscattered.first_scattering(medium, random) {
                    Some(place) => Photon::at(place, medium, &mut stream),
                    None => continue,
                }
            }
        };
        photon.follow(medium, &mut stream, &mut tally);
    }
    tally
}

/// Adds the exact unscattered light to what the photons found.
fn shares(medium: &Medium, launch: &Launch, totals: &Totals) -> Shares {
    let exact = &launch.unscattered;
    let share = launch.share();
    let found = |index: usize| {
        if totals.photons == 0 {
            Estimate::exact(0.0)
        } else {
            totals.scores.estimate(index).scaled(share)
        }
    };
    let score = |score: Score, exact: f64| found(score as usize).shifted(exact);
    let reflected = exact.reflected + launch.oblique.map_or(0.0, |(reflected, ..)| reflected);
    let bins_per_layer = medium.bins_per_layer;
    let layers = medium
        .layers
        .iter()
        .enumerate()
        .map(|(index, layer)| {
            let bins = layer.first_bin..layer.first_bin + bins_per_layer;
            let exact_bins = &exact.absorbed[bins.clone()];
            LayerShares {
                absorbed: found(SCORES + index).shifted(exact_bins.iter().sum()),
                bins: bins
                    .zip(exact_bins)
                    .map(|(bin, exact)| {
                        if totals.photons == 0 {
                            return Estimate::exact(*exact);
                        }
                        totals.bins.estimate(bin).scaled(share).shifted(*exact)
                    })
                    .collect(),
                bin_m: layer.thickness_m / bins_per_layer as f64,
            }
        })
        .collect();
    Shares {
        reflected_unscattered: score(Score::ReflectedUnscattered, reflected),
        reflected_scattered: score(Score::ReflectedScattered, 0.0),
        reflected: score(Score::Reflected, reflected),
        transmitted_unscattered: score(Score::TransmittedUnscattered, exact.transmitted),
        transmitted_scattered: score(Score::TransmittedScattered, 0.0),
        transmitted: score(Score::Transmitted, exact.transmitted),
        delivered: score(Score::Delivered, exact.through_interface),
        layers,
        unfinished: found(Score::Unfinished as usize).value,
    }
}

/// Refuses what no photon could travel through.
fn check(stack: &Stack, settings: &Settings) -> Result<(), Error> {
    let bad = |quantity: &str, value: f64, must: &str| {
        Err(Error::new(MaterialProblem::BadNumber {
            quantity: quantity.to_owned(),
            value,
            must: must.to_owned(),
        }))
    };
    if !(1..=stack.slabs.len()).contains(&stack.lower) {
        return Err(Error::new(OpticsProblem::MethodDoesNotApply {
            method: "photon Monte Carlo".to_owned(),
            reason: "no layer stands in front of the interface".to_owned(),
        }));
    }
    for slab in &stack.slabs {
        let it = slab.constants;
        if !(it.n.is_finite() && 1.0 <= it.n) {
            return bad("refractive index", it.n, "1 or more");
        }
        for (name, value) in [
            ("absorption coefficient", it.mu_a_per_m),
            ("scattering coefficient", it.mu_s_per_m),
        ] {
            if !(value.is_finite() && 0.0 <= value) {
                return bad(name, value, "0 1/m or more");
            }
        }
        if it.g.is_nan() || 1.0 <= it.g.abs() {
            return bad("anisotropy", it.g, "between -1 and 1, neither of them");
        }
        if !(slab.thickness_m.is_finite() && 0.0 < slab.thickness_m) {
            return bad("thickness", slab.thickness_m, "more than 0 m");
        }
    }
    let each = collisions_of_a_photon(stack);
    if settings.collisions as f64 <= each * PHOTON_STEP as f64 {
        return Err(Error::new(OpticsProblem::MethodDoesNotApply {
            method: "photon Monte Carlo".to_owned(),
            reason: format!("a photon would be scattered about {each:.0} times"),
        })
        .cure("use adding-doubling, or raise the limit of collisions and wait"));
    }
    let most = std::f64::consts::FRAC_PI_2;
    if !(0.0..most).contains(&settings.incidence_rad) {
        let degrees = settings.incidence_rad.to_degrees();
        return bad("angle of incidence", degrees, "0 to below 90 degrees");
    }
    Ok(())
}

/// Upper estimate of the collisions of a photon: the mean path of diffuse light in a layer that
/// does not absorb is 2 n² d whatever it scatters (S. Blanco and R. Fournier, Europhys. Lett. 61
/// (2003) 168, with the n² of trapped light; from memory), and absorption ends it after 1/µa.
fn collisions_of_a_photon(stack: &Stack) -> f64 {
    let of_slab = |slab: &Slab| {
        let it = slab.constants;
        let path_m = 2.0 * it.n * it.n * slab.thickness_m;
        it.mu_s_per_m * path_m.min(1.0 / it.mu_a_per_m)
    };
    stack.slabs.iter().map(of_slab).sum()
}
