//! What becomes of the melt at the interface: how far it heals, and how much is squeezed out.
//!
//! ```text
//! healing      D_h = ( ∫ dt / t_r(T) )^¼               while both sides flow; healed at 1
//! squeezing    dh/dt = − 12 p Φ(h) / w²                Φ = ∫ (z − z̄)² / η dz over the film
//!              Φ = h³ / (12 η), dh/dt = − p h³ / (η w²) for one viscosity (Stefan, plane strip)
//! film         h grows with the molten thickness M, and freezes in proportion to it; of its heat
//!              and viscosity the profile is that of the molten zone, scaled to h: Φ(h) = Φ(M) (h/M)³
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | D_h | fourth root of `healing` | degree of healing | – |
//! | t_r | `Healing` | reptation or healing time | s |
//! | p, w | `pressure_pa`, `width_m` | mean pressure on the seam, its whole width | Pa, m |
//! | η, z̄ | – | viscosity, centre of fluidity ∫ z/η dz / ∫ dz/η | Pa s, m |
//! | M, h | `molten_m`, `film_m` | thickness that flows by temperature, less what has left | m |
//!
//! Between p(x) = 6 η (−dh/dt) (w²/4 − x²)/h³ and its mean lies the factor w²/6, which gives the
//! formula above for one viscosity; with a viscosity that changes across the film the flow rate at a
//! given pressure gradient is that of layers that do not slip, Φ times the gradient.
//!
//! Holds for: a film thin against the seam's width, sticking to solid walls, at low rates of shear,
//! pressed everywhere at once (quasi-simultaneous and simultaneous welding). An estimate: the melt
//! that leaves takes its heat with it, which the temperatures do not know, and shear thinning lets it
//! leave faster. Does not hold for: contour welding, where solid plastic beside the spot bears the
//! pressure.
//!
//! Source: healing by F. Yang and R. Pitchumani, Macromolecules 35 (2002) 3213 (abstract; the form
//! from memory); squeezing by M. J. Stefan (1874) as lubrication theory gives it, derived here.
//! Checked in: `tests/heat/melt.rs`.

use std::sync::Arc;

use crate::material::melt::{Healing, Viscosity};

/// What is followed of the melt beyond temperatures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeltPlan {
    /// Healing of the upper and of the lower part; none where not known.
    pub healing: [Option<Healing>; 2],
    /// Squeezing; none where not asked for or not known.
    pub squeeze: Option<Arc<Squeeze>>,
}

/// How the melt is squeezed.
#[derive(Clone, Debug, PartialEq)]
pub struct Squeeze {
    /// Mean pressure on the seam, Pa.
    pub pressure_pa: f64,
    /// Whole width of the seam, m.
    pub width_m: f64,
    /// Viscosity of the upper and of the lower part.
    pub viscosity: [Viscosity; 2],
    /// Collapse whose time is noted, m.
    pub target_m: Option<f64>,
}

/// Healing and squeezing so far.
#[derive(Clone, Debug, Default)]
pub struct MeltCourse {
    plan: MeltPlan,
    /// ∫ dt / t_r of either side.
    healing: [f64; 2],
    film: Film,
    before: Molten,
    reached_s: Option<f64>,
}

/// What came of the melt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeltOutcome {
    /// ∫ dt / t_r of the side that heals more slowly; none where a side is not known.
    pub healing: Option<f64>,
    /// Distance by which the parts have come together, m; none where not asked for.
    pub collapse_m: Option<f64>,
    /// When the stated collapse was reached, s from the first light.
    pub collapse_reached_s: Option<f64>,
}

impl MeltOutcome {
    /// Degree of healing, at most one.
    pub fn degree_of_healing(&self) -> Option<f64> {
        self.healing.map(|it| it.powf(0.25).min(1.0))
    }
}

/// The molten zone at one time.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Molten {
    /// Its thickness M, m.
    pub thickness_m: f64,
    /// Φ over it, m³/(Pa s).
    pub fluidity: f64,
}

impl Molten {
    /// From depths and fluidities 1/η of the molten zone, in order of depth; between points
    /// the fluidity is linear.
    pub fn of(points: &[(f64, f64)]) -> Self {
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            return Molten::default();
        };
        let mut moments = [0.0; 3];
        for pair in points.windows(2) {
            let ((a, fa), (b, fb)) = (pair[0], pair[1]);
            let (middle, fm) = (0.5 * (a + b), 0.5 * (fa + fb));
            // Simpson's rule is exact: z² times a line is a cubic. Depths from the first point.
            for (power, moment) in (0i32..).zip(&mut moments) {
                let at = |z: f64, f: f64| (z - first.0).powi(power) * f;
                *moment += (b - a) / 6.0 * (at(a, fa) + 4.0 * at(middle, fm) + at(b, fb));
            }
        }
        if moments[0] <= 0.0 {
            return Molten::default();
        }
        Molten {
            thickness_m: last.0 - first.0,
            fluidity: (moments[2] - moments[1] * moments[1] / moments[0]).max(0.0),
        }
    }

    /// Φ / M³, which stays as the film gets thinner; zero where nothing is molten.
    fn shape(&self) -> f64 {
        if self.thickness_m <= 0.0 {
            return 0.0;
        }
        self.fluidity / self.thickness_m.powi(3)
    }
}

/// The film between the parts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Film {
    /// Its thickness, m.
    pub thickness_m: f64,
    /// What has left it, m.
    pub squeezed_m: f64,
}

impl Film {
    fn follow(&mut self, from_m: f64, to_m: f64) {
        if from_m < to_m {
            self.thickness_m += to_m - from_m;
        } else if 0.0 < from_m {
            self.thickness_m *= to_m / from_m;
        }
    }

    /// One step in which the molten zone changes from `before` to `after`: half of the change, then
    /// squeezing by its closed form, then the other half.
    pub fn step(&mut self, squeeze: &Squeeze, before: Molten, after: Molten, step_s: f64) {
        let middle_m = 0.5 * (before.thickness_m + after.thickness_m);
        self.follow(before.thickness_m, middle_m);
        let shape = match (before.thickness_m <= 0.0, after.thickness_m <= 0.0) {
            (true, _) => after.shape(),
            (_, true) => before.shape(),
            _ => 0.5 * (before.shape() + after.shape()),
        };
        let rate = 24.0 * squeeze.pressure_pa * shape / squeeze.width_m.powi(2);
        let thinned = self.thickness_m / (1.0 + rate * self.thickness_m.powi(2) * step_s).sqrt();
        self.squeezed_m += self.thickness_m - thinned;
        self.thickness_m = thinned;
        self.follow(middle_m, after.thickness_m);
    }
}

/// One side of the interface over the part of a step in which both sides flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flowing {
    /// Temperature at start, middle and end of that part, K.
    pub temperature_k: [f64; 3],
    /// Its length, s.
    pub duration_s: f64,
}

impl MeltCourse {
    /// At the start.
    pub fn new(plan: &MeltPlan) -> Self {
        MeltCourse {
            plan: plan.clone(),
            ..MeltCourse::default()
        }
    }

    /// True where healing of either side is known.
    pub fn heals(&self) -> bool {
        self.plan.healing.iter().any(Option::is_some)
    }

    /// The squeezing asked for.
    pub fn squeeze(&self) -> Option<&Squeeze> {
        self.plan.squeeze.as_deref()
    }

    /// Adds the healing of a step on either side.
    pub fn heal(&mut self, sides: [Flowing; 2]) {
        for ((healing, integral), side) in
            self.plan.healing.iter().zip(&mut self.healing).zip(sides)
        {
            if let Some(healing) = healing {
                let [a, b, c] = side.temperature_k.map(|it| healing.rate_per_s(it));
                *integral += 0.5 * side.duration_s * (mean(a, b) + mean(b, c));
            }
        }
    }

    /// Squeezes over a step that ends at `time_s` with the molten zone `after`, where the parts touch:
    /// over a gap that is open nothing presses on the melt.
    pub fn press(&mut self, after: Molten, touching: bool, time_s: f64, step_s: f64) {
        let Some(squeeze) = self.plan.squeeze.clone() else {
            return;
        };
        let earlier_m = self.film.squeezed_m;
        if touching {
            self.film.step(&squeeze, self.before, after, step_s);
        } else {
            self.film.follow(self.before.thickness_m, after.thickness_m);
        }
        self.before = after;
        if let (None, Some(target_m)) = (self.reached_s, squeeze.target_m)
            && target_m <= self.film.squeezed_m
        {
            let share = (target_m - earlier_m) / (self.film.squeezed_m - earlier_m).max(1e-30);
            self.reached_s = Some(time_s - step_s * (1.0 - share.clamp(0.0, 1.0)));
        }
    }

    /// Collapse so far, m.
    pub fn collapse_m(&self) -> f64 {
        self.film.squeezed_m
    }

    /// What came of it.
    pub fn outcome(&self) -> MeltOutcome {
        let known = self.plan.healing.iter().all(Option::is_some);
        MeltOutcome {
            healing: known.then_some(self.healing[0].min(self.healing[1])),
            collapse_m: self.squeeze().map(|_| self.film.squeezed_m),
            collapse_reached_s: self.reached_s,
        }
    }
}

/// Mean of a rate that changes exponentially.
fn mean(from: f64, to: f64) -> f64 {
    let x = (to / from).ln();
    if x.abs() < 1e-4 || !x.is_finite() {
        0.5 * (from + to)
    } else {
        (to - from) / x
    }
}
