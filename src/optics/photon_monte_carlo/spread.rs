//! How far sideways light lands on the interface, and what that does to a beam.
//!
//! The spread is the distribution of the displacement r between where light would have met the
//! interface without scattering and where it crosses into the lower part; light that comes back up
//! counts negative, so the sum is the net light delivered. A spread is the same in all directions,
//! so a ring histogram of r holds everything: the line spread across the seam is its projection,
//!
//! ```text
//! L(y) = ∫ p(r) / (π √(r² − y²)) dr,      variance of y = ⟨r²⟩ / 2
//! ```
//!
//! and the irradiance at the middle of a beam is an average over rings (see [`profile`]). Taking the
//! line spreads along and across the seam as independent would not do: most light lands near the
//! middle and a few per cent far out, in both directions at once (a 1 mm square behind a usual lid
//! would come out a fifth too dim).
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | r | `displacement` | lateral displacement | m |
//! | p(r) dr | `Landing::rings` | net share of the delivered light in a ring | – |
//! | L(y) | [`LineSpread`] | line-spread function across the seam | 1/m |
//!
//! Standard errors come from 32 independent parts of the run.
//!
//! Holds for: beams wider than a few wavelengths on flat parallel parts much wider than the
//! spread. At oblique incidence the spread is no longer quite the same in all directions; the
//! azimuth average is used. The second moment (and only it) grows without limit as the logarithm
//! of the part's width where diffuse light crosses a clear layer, an air gap for one: there the
//! factors and the width at half height are the ones to trust.
//!
//! Checked in: `tests/optics/photon.rs`.

use crate::numerics::statistics::{Estimate, ratio_of_means};
use crate::optics::beam::{Beam, Shape};
use crate::optics::photon_monte_carlo::medium::Medium;
use crate::optics::photon_monte_carlo::profile;
use crate::optics::photon_monte_carlo::tally::{
    Landing, PARTS, RINGS, Totals, displacement_unit_m2, inner_edge,
};
use crate::optics::photon_monte_carlo::unscattered::Unscattered;

/// Places within a ring at which a function of the displacement is taken.
const PLACES: usize = 4;

/// Halvings of the bracket of a width: 1e-9 of it is left.
const HALVINGS: usize = 30;

/// Which width of a profile is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WidthMeasure {
    /// Full width at half of the height in the middle.
    HalfHeight,
    /// Full width at 1/e² of the height in the middle.
    OneOverESquared,
    /// Four standard deviations.
    SecondMoment,
}

/// Distribution of the lateral displacement of the light delivered to the lower part.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Net share of the incident light that crosses into the lower part.
    pub delivered: Estimate,
    /// Share of the delivered light that was never scattered and is not displaced.
    pub sharp: Estimate,
    /// Independent parts of the run: delivered shares, one value a ring.
    parts: Vec<Landing>,
    /// Sum of the parts: one value a ring.
    rings: Vec<f64>,
    /// Displacements that stand for each ring, m.
    places_m: Vec<[f64; PLACES]>,
    /// Squared displacement that ring edges are measured in, m².
    unit_m2: f64,
}

impl Spread {
    /// The spread found by a run; none where the net light delivered is not above zero.
    pub(super) fn new(
        medium: &Medium,
        unscattered: &Unscattered,
        share: f64,
        totals: &Totals,
    ) -> Option<Self> {
        let unit_m2 = displacement_unit_m2(medium);
        let each = if totals.photons == 0 {
            0.0
        } else {
            share * PARTS as f64 / totals.photons as f64
        };
        let parts: Vec<Landing> = totals
            .parts
            .iter()
            .map(|part| {
                let mut rings: Vec<f64> = part.rings.iter().map(|net| net * each).collect();
                rings[0] += unscattered.through_interface;
                Landing {
                    net: part.net * each + unscattered.through_interface,
                    squared_m2: part.squared_m2 * each,
                    rings,
                }
            })
            .collect();
        let sharp_parts: Vec<f64> = totals
            .sharp_parts
            .iter()
            .map(|sharp| sharp * each + unscattered.through_interface)
            .collect();
        let nets: Vec<f64> = parts.iter().map(|part| part.net).collect();
        let delivered = ratio_of_means(&nets, &[1.0; PARTS]);
        if delivered.value.is_nan() || delivered.value <= 0.0 {
            return None;
        }
        let places_m = (0..RINGS)
            .map(|ring| {
                let inner = inner_edge(ring);
                let outer = inner_edge(ring + 1);
                let mut places = [0.0; PLACES];
                if 0 < ring {
                    for (index, place) in places.iter_mut().enumerate() {
                        let along = (index as f64 + 0.5) / PLACES as f64;
                        *place = ((inner + (outer - inner) * along) * unit_m2).sqrt();
                    }
                }
                places
            })
            .collect();
        let rings = (0..RINGS)
            .map(|ring| parts.iter().map(|part| part.rings[ring]).sum())
            .collect();
        Some(Spread {
            rings,
            delivered,
            sharp: ratio_of_means(&sharp_parts, &nets),
            parts,
            places_m,
            unit_m2,
        })
    }

    /// Mean of a function of the displacement (m) over the light delivered.
    pub fn mean_of(&self, function: impl Fn(f64) -> f64) -> Estimate {
        let weights: Vec<f64> = self
            .places_m
            .iter()
            .enumerate()
            .map(|(ring, places)| {
                if self.parts.iter().all(|part| part.rings[ring] == 0.0) {
                    return 0.0;
                }
                places.iter().map(|place| function(*place)).sum::<f64>() / PLACES as f64
            })
            .collect();
        self.mean_of_rings(&weights)
    }

    /// Mean of a weight given to each ring.
    fn mean_of_rings(&self, weights: &[f64]) -> Estimate {
        let sums: Vec<f64> = self
            .parts
            .iter()
            .map(|part| part.rings.iter().zip(weights).map(|(a, b)| a * b).sum())
            .collect();
        ratio_of_means(&sums, &self.nets())
    }

    fn nets(&self) -> Vec<f64> {
        self.parts.iter().map(|part| part.net).collect()
    }

    /// Variance of the displacement across the seam, m².
    pub fn variance_m2(&self) -> Estimate {
        let squares: Vec<f64> = self.parts.iter().map(|part| part.squared_m2).collect();
        ratio_of_means(&squares, &self.nets()).scaled(0.5)
    }

    /// Standard deviation of the displacement across the seam, m.
    pub fn standard_deviation_m(&self) -> Estimate {
        let variance = self.variance_m2();
        let value = variance.value.max(0.0).sqrt();
        Estimate {
            value,
            standard_error: if 0.0 < value {
                0.5 * variance.standard_error / value
            } else {
                0.0
            },
        }
    }

    /// Share of the delivered light displaced by no more than `radius_m`.
    pub fn within(&self, radius_m: f64) -> Estimate {
        // Evenly spread over the area of the ring that the circle cuts.
        let reach = radius_m * radius_m / self.unit_m2;
        let weights: Vec<f64> = (0..RINGS)
            .map(|ring| {
                let (inner, outer) = (inner_edge(ring), inner_edge(ring + 1));
                if ring == 0 {
                    1.0
                } else {
                    ((reach - inner) / (outer - inner)).clamp(0.0, 1.0)
                }
            })
            .collect();
        self.mean_of_rings(&weights)
    }

    /// Peak irradiance at the interface relative to the same beam without spread.
    pub fn peak_factor(&self, shape: Shape, length_m: f64, width_m: f64) -> Estimate {
        self.mean_of(|r| profile::at_middle(shape, length_m, width_m, r))
    }

    /// [`Spread::peak_factor`] and [`Spread::energy_factor`] without their standard errors.
    pub fn factors(&self, shape: Shape, length_m: f64, width_m: f64) -> [f64; 2] {
        let (mut peak, mut energy, mut net) = (0.0, 0.0, 0.0);
        for (places, ring) in self.places_m.iter().zip(&self.rings) {
            if *ring == 0.0 {
                continue;
            }
            let each = ring / PLACES as f64;
            net += ring;
            for place in places {
                peak += each * profile::at_middle(shape, length_m, width_m, *place);
                energy += each * profile::across_seam(shape, width_m, 0.0, *place);
            }
        }
        [peak / net, energy / net]
    }

    /// [`Spread::peak_factor`] of a top-hat of this length and width.
    pub fn top_hat_factor(&self, length_m: f64, width_m: f64) -> Estimate {
        self.peak_factor(Shape::TopHat, length_m, width_m)
    }

    /// [`Spread::peak_factor`] of a Gaussian with these 1/e² full widths.
    pub fn gaussian_factor(&self, length_m: f64, width_m: f64) -> Estimate {
        self.peak_factor(Shape::Gaussian, length_m, width_m)
    }

    /// Energy left in the middle of the seam by a beam that passes along it, relative to the same
    /// beam without spread. Never below the peak factor: what is lost ahead comes back behind.
    pub fn energy_factor(&self, shape: Shape, width_m: f64) -> Estimate {
        self.mean_of(|r| profile::across_seam(shape, width_m, 0.0, r))
    }

    /// Energy left at a distance from the middle of the seam by a beam that passes along it,
    /// relative to the middle without spread; [`Spread::energy_factor`] is its value at zero.
    pub fn energy_across(&self, shape: Shape, width_m: f64, across_m: f64) -> Estimate {
        self.mean_of(|r| profile::across_seam(shape, width_m, across_m, r))
    }

    /// The beam of the same shape and power that, without spread, gives the middle of the seam the
    /// peak irradiance and the energy that `beam` gives it through this spread.
    ///
    /// Length grows by energy factor / peak factor and width by 1 / energy factor.
    pub fn widened(&self, beam: &Beam) -> Beam {
        let peak = self.peak_factor(beam.shape, beam.length_m, beam.width_m);
        let energy = self.energy_factor(beam.shape, beam.width_m);
        Beam {
            length_m: beam.length_m * energy.value / peak.value,
            width_m: beam.width_m / energy.value,
            ..*beam
        }
    }

    /// Width of the energy left across the seam by a beam `width_m` wide that passes along it, m.
    pub fn width_m(&self, shape: Shape, width_m: f64, measure: WidthMeasure) -> Estimate {
        let level = match measure {
            WidthMeasure::HalfHeight => 0.5,
            WidthMeasure::OneOverESquared => (-2f64).exp(),
            WidthMeasure::SecondMoment => return self.second_moment_width_m(shape, width_m),
        };
        let shape_at = |across_m: f64, r: f64| profile::across_seam(shape, width_m, across_m, r);
        let threshold = level * self.mean_of(|r| shape_at(0.0, r)).value;
        let above = |across_m: f64| self.mean_of(|r| shape_at(across_m, r)).value - threshold;
        // The profile falls from the middle outwards: bracket by doubling, then halve.
        let (mut inside, mut outside) = (0.0, 0.5 * width_m);
        while 0.0 < above(outside) && outside < 1e3 * width_m {
            inside = outside;
            outside *= 2.0;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (inside + outside);
            if 0.0 < above(middle) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        let half = 0.5 * (inside + outside);
        let step = 0.01 * width_m;
        let slope = (above(half + step) - above(half - step)) / (2.0 * step);
        let excess = self.mean_of(|r| shape_at(half, r) - level * shape_at(0.0, r));
        Estimate {
            value: 2.0 * half,
            standard_error: 2.0 * excess.standard_error / slope.abs(),
        }
    }

    /// Four standard deviations: variances of beam and spread add up.
    fn second_moment_width_m(&self, shape: Shape, width_m: f64) -> Estimate {
        let beam = match shape {
            Shape::TopHat => width_m * width_m / 12.0,
            Shape::Gaussian => width_m * width_m / 16.0,
        };
        let variance = self.variance_m2();
        let deviation = (beam + variance.value).max(0.0).sqrt();
        Estimate {
            value: 4.0 * deviation,
            standard_error: 2.0 * variance.standard_error / deviation,
        }
    }

    /// Line-spread function across the seam between ascending `edges_m`.
    ///
    /// Light never scattered is a line of no width at zero; it is kept apart in
    /// [`LineSpread::sharp`] and not part of the density.
    pub fn line_spread(&self, edges_m: &[f64]) -> LineSpread {
        let between = |from_m: f64, to_m: f64| {
            let share = self.mean_of(|r| {
                profile::line_cumulative(to_m, r) - profile::line_cumulative(from_m, r)
            });
            let holds_zero =
                profile::line_cumulative(to_m, 0.0) - profile::line_cumulative(from_m, 0.0);
            share.shifted(-holds_zero * self.sharp.value)
        };
        let density_per_m = edges_m
            .windows(2)
            .map(|edge| between(edge[0], edge[1]).scaled(1.0 / (edge[1] - edge[0])))
            .collect();
        let (first, last) = match (edges_m.first(), edges_m.last()) {
            (Some(first), Some(last)) => (*first, *last),
            _ => (0.0, 0.0),
        };
        LineSpread {
            edges_m: edges_m.to_vec(),
            density_per_m,
            below: between(f64::NEG_INFINITY, first),
            above: between(last, f64::INFINITY),
            sharp: self.sharp,
            standard_deviation_m: self.standard_deviation_m(),
        }
    }

    /// Edges for [`Spread::line_spread`]: even steps over the middle `share` of the light, an odd
    /// number of bins so that one is centred on zero.
    pub fn edges_m(&self, share: f64, bins: usize) -> Vec<f64> {
        let mut reach_m = 0.0;
        for places in &self.places_m {
            reach_m = places[PLACES - 1];
            let outside = self.mean_of(|r| 2.0 * (1.0 - profile::line_cumulative(reach_m, r)));
            if 0.0 < reach_m && outside.value <= 1.0 - share {
                break;
            }
        }
        let bins = bins.max(1) | 1;
        (0..=bins)
            .map(|edge| reach_m * (2.0 * edge as f64 / bins as f64 - 1.0))
            .collect()
    }
}

/// Line-spread function of the scattered light across the seam.
#[derive(Clone, Debug, PartialEq)]
pub struct LineSpread {
    /// Edges of the bins, m, ascending.
    pub edges_m: Vec<f64>,
    /// Share of the delivered light per metre in each bin, 1/m; unscattered light left out.
    pub density_per_m: Vec<Estimate>,
    /// Share of the delivered light below the first edge.
    pub below: Estimate,
    /// Share of the delivered light above the last edge.
    pub above: Estimate,
    /// Share of the delivered light that is not displaced at all.
    pub sharp: Estimate,
    /// Standard deviation of the displacement of all delivered light, m.
    pub standard_deviation_m: Estimate,
}
