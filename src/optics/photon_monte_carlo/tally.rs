//! What photons leave behind: sums of one block, merged in fixed order.

use crate::numerics::statistics::BatchMeans;
use crate::optics::photon_monte_carlo::medium::Medium;

/// Independent parts of a run that a landing is kept for, to give its standard errors.
pub const PARTS: usize = 32;

/// Shortest displacement told from zero, as a share of the depth of the interface.
const LEAST_DISPLACEMENT: f64 = 1e-4;

/// Rings per doubling of the squared displacement: a ring is 1.5 to 3 % of its radius wide.
const RINGS_PER_DOUBLING: usize = 16;

/// Doublings of the squared displacement: up to 800 times the depth of the interface.
const DOUBLINGS: usize = 46;

/// Number of rings, the innermost disc included.
pub const RINGS: usize = 1 + RINGS_PER_DOUBLING * DOUBLINGS;

/// Leading bits of a double above its mantissa's first four: one value per ring.
const RING_SHIFT: u32 = 48;

/// Ring of a squared displacement divided by the smallest squared displacement.
///
/// The leading bits of a floating-point number count 16 even steps between powers of two.
#[inline]
pub fn ring(relative_squared: f64) -> usize {
    let one = 1f64.to_bits() >> RING_SHIFT;
    let steps = (relative_squared.to_bits() >> RING_SHIFT) as usize;
    (steps + 1).saturating_sub(one as usize).min(RINGS - 1)
}

/// Relative squared displacement at the inner edge of a ring; zero for the innermost disc.
pub fn inner_edge(ring: usize) -> f64 {
    if ring == 0 {
        return 0.0;
    }
    let steps = (ring - 1) as f64;
    let whole = RINGS_PER_DOUBLING as f64;
    2f64.powi((steps / whole).floor() as i32) * (1.0 + steps.rem_euclid(whole) / whole)
}

/// Squared length that a squared displacement is measured in, m².
pub fn displacement_unit_m2(medium: &Medium) -> f64 {
    (LEAST_DISPLACEMENT * medium.interface_depth_m).powi(2)
}

/// Where light crossed the interface: light going down counts positive, light coming back negative.
#[derive(Clone, Debug, PartialEq)]
pub struct Landing {
    /// Net weight.
    pub net: f64,
    /// Net weight in each ring of displacement.
    pub rings: Vec<f64>,
    /// Net sum of weight times squared displacement, m².
    pub squared_m2: f64,
}

impl Landing {
    /// Nothing yet.
    pub fn new() -> Self {
        Landing {
            net: 0.0,
            rings: vec![0.0; RINGS],
            squared_m2: 0.0,
        }
    }

    fn add(&mut self, other: &Landing) {
        self.net += other.net;
        self.squared_m2 += other.squared_m2;
        for (sum, part) in self.rings.iter_mut().zip(&other.rings) {
            *sum += part;
        }
    }
}

/// Sums over one block of photons, each of unit weight.
#[derive(Clone, Debug)]
pub struct Tally {
    /// Weight out of the first face, never scattered.
    pub reflected_unscattered: f64,
    /// Weight out of the first face after scattering.
    pub reflected_scattered: f64,
    /// Weight out of the last face, never scattered.
    pub transmitted_unscattered: f64,
    /// Weight out of the last face after scattering.
    pub transmitted_scattered: f64,
    /// Net weight through the interface, never scattered.
    pub sharp: f64,
    /// Weight of photons that were given up after the limit of collisions.
    pub unfinished: f64,
    /// Weight absorbed in each bin.
    pub absorbed: Vec<f64>,
    /// Where the interface was crossed.
    pub landing: Landing,
    /// Collisions, a measure of the work.
    pub collisions: u64,
    /// 1 / the unit of squared displacement, 1/m².
    pub per_displacement_unit: f64,
}

impl Tally {
    /// An empty tally for `medium`.
    pub fn new(medium: &Medium) -> Self {
        Tally {
            reflected_unscattered: 0.0,
            reflected_scattered: 0.0,
            transmitted_unscattered: 0.0,
            transmitted_scattered: 0.0,
            sharp: 0.0,
            unfinished: 0.0,
            absorbed: vec![0.0; medium.layers.len() * medium.bins_per_layer],
            landing: Landing::new(),
            collisions: 0,
            per_displacement_unit: 1.0 / displacement_unit_m2(medium),
        }
    }

    /// Notes a crossing of the interface at a squared displacement.
    #[inline]
    pub fn cross(&mut self, net_weight: f64, squared_m2: f64) {
        self.landing.net += net_weight;
        self.landing.squared_m2 += net_weight * squared_m2;
        self.landing.rings[ring(squared_m2 * self.per_displacement_unit)] += net_weight;
    }
}

/// The quantities of which means are kept, in this order, before the absorption of each layer.
#[derive(Clone, Copy, Debug)]
pub enum Score {
    /// Reflected without scattering.
    ReflectedUnscattered,
    /// Reflected after scattering.
    ReflectedScattered,
    /// Both.
    Reflected,
    /// Transmitted without scattering.
    TransmittedUnscattered,
    /// Transmitted after scattering.
    TransmittedScattered,
    /// Both.
    Transmitted,
    /// Net through the interface.
    Delivered,
    /// Given up.
    Unfinished,
}

/// Number of variants of [`Score`].
pub const SCORES: usize = 8;

/// All blocks of a run.
#[derive(Clone, Debug)]
pub struct Totals {
    /// Means over blocks of each [`Score`] and of each layer's absorption, per photon.
    pub scores: BatchMeans,
    /// Means over blocks of each absorption bin, per photon.
    pub bins: BatchMeans,
    /// Landings of [`PARTS`] equal parts of the run, sums over photons.
    pub parts: Vec<Landing>,
    /// Never scattered net weight through the interface in each part, sums over photons.
    pub sharp_parts: Vec<f64>,
    /// Photons followed.
    pub photons: u64,
    /// Collisions of all photons.
    pub collisions: u64,
    blocks: usize,
}

impl Totals {
    /// Nothing yet.
    pub fn new(medium: &Medium) -> Self {
        let layers = medium.layers.len();
        Totals {
            scores: BatchMeans::new(SCORES + layers),
            bins: BatchMeans::new(layers * medium.bins_per_layer),
            parts: vec![Landing::new(); PARTS],
            sharp_parts: vec![0.0; PARTS],
            photons: 0,
            collisions: 0,
            blocks: 0,
        }
    }

    /// Takes in the next block; blocks must come in their order.
    pub fn merge(&mut self, tally: &Tally, photons: u64, bins_per_layer: usize) {
        let each = 1.0 / photons as f64;
        let mut scores = vec![
            tally.reflected_unscattered,
            tally.reflected_scattered,
            tally.reflected_unscattered + tally.reflected_scattered,
            tally.transmitted_unscattered,
            tally.transmitted_scattered,
            tally.transmitted_unscattered + tally.transmitted_scattered,
            tally.landing.net,
            tally.unfinished,
        ];
        let by_layer = tally.absorbed.chunks_exact(bins_per_layer);
        scores.extend(by_layer.map(|bins| bins.iter().sum::<f64>()));
        scores.iter_mut().for_each(|score| *score *= each);
        self.scores.push(&scores);
        let bins: Vec<f64> = tally.absorbed.iter().map(|sum| sum * each).collect();
        self.bins.push(&bins);
        self.parts[self.blocks % PARTS].add(&tally.landing);
        self.sharp_parts[self.blocks % PARTS] += tally.sharp;
        self.photons += photons;
        self.collisions += tally.collisions;
        self.blocks += 1;
    }
}
