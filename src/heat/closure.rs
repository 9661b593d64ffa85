//! A film of air between the parts that closes while they swell: its width and its conductance.
//!
//! ```text
//! u     =  Σ over both parts of ∫ ε(T) dz              swelling towards the gap
//! g     =  max(g_0 − u, 0)                             width left
//! h     =  k_air(T_m) / (g + 2 ζ) + σ E (T_1² + T_2²)(T_1 + T_2)
//! 2 ζ   =  2 (2 − a)/a · 2γ/(γ + 1) · λ / Pr  =  4.02 λ,   λ = 61.1 nm · T_m / 298 K
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | g_0, g | `gap_m`, – | width of the gap cold, and left | m |
//! | ε | `Swelling::strain` | strain through a layer (`material::expansion`) | – |
//! | T_1, T_2, T_m | – | temperatures of both faces and their mean | K |
//! | ζ | `JUMP_PER_PATH` | length of the temperature jump at a face | m |
//! | a, γ, Pr | – | accommodation 0.9, ratio of specific heats 1.4, Prandtl number 0.71 | – |
//! | E | `EMISSIVITY` | 1/(2/0.9 − 1) of two faces of emissivity 0.9 | – |
//!
//! Both backs are held: by the clamp and by the fixture. Where the parts touch, what is left of the
//! resistance is 2 ζ / k_air, some 1e5 W/(m² K), which is contact for polymers (0.1 mm of polymer
//! conducts 2000); a film that has closed while a face flows stays closed, for the melt wets the
//! other part.
//!
//! Both stages of a step have one conductance. The flux at its start is that of the step before, so
//! that nothing jumps; with the weights W and 1 − W of the method (`heat::step`) their mean is to be
//! the value half-way, to which the logarithm is carried on from the step before:
//!
//! ```text
//! ln h_new = ( ln h(t + Δt/2) − W ln h_before ) / (1 − W)            W = √2/4
//! ```
//!
//! Steps are kept so short that the conductance changes by a quarter at most. The heat that crosses
//! is one number for both parts, so heat is conserved whatever the conductance.
//!
//! Holds for: air at rest (gaps up to a few mm), a gap thin against the width of the seam and swelling
//! small against the heated depth (across the seam: `heat::cross_section`): neither depths nor
//! capacities follow the swelling. Light crosses both faces of the gap (a tenth of straight light comes
//! back, a quarter to a third of what has been scattered, for much of it meets them at an angle of total
//! reflection) until melt wets the other part: faces that only touch keep air in their roughness, far
//! wider than what light would tunnel through. From then on it goes its way in optical contact. Does
//! not hold for: melt driven in from beside, bubbles, parts that bend under the clamp; the beam is
//! taken as wide below the gap as above, and as wide as over the gap once that is gone (1 to 2 % more
//! energy in the middle of polyamide and polypropylene than with the beam of contact).
//!
//! Source: conductivity of air, table 4.6 of B. M. Smirnov, *Fundamentals of Ionized Gases*; mean free
//! path, G. Karniadakis et al., *Microflows and Nanoflows*, table 1.1; temperature jump after
//! M. Smoluchowski, and emissivity of plastics, from memory. Checked in: `tests/heat/closure.rs`.

use std::sync::Arc;

use crate::heat::lanes::Place;
use crate::heat::settings::Settings;
use crate::heat::step::W;
use crate::material::expansion::Swelling;
use crate::optics::Absorbed;

/// Conductivity of air at atmospheric pressure, K and W/(m K).
const AIR: [(f64, f64); 6] = [
    (200.0, 0.0183),
    (300.0, 0.0262),
    (400.0, 0.0328),
    (600.0, 0.0469),
    (800.0, 0.0573),
    (1000.0, 0.0667),
];

/// Temperature above which the film is taken as it is there, K: no polymer gets there, and radiation
/// that grows with the third power would drown all else in a run that has long been refused.
const HOTTEST_K: f64 = 1000.0;

/// Mean free path of air at [`PATH_AT_K`] and atmospheric pressure, m.
const PATH_M: f64 = 61.1e-9;

/// See [`PATH_M`], K.
const PATH_AT_K: f64 = 298.0;

/// Length of both temperature jumps over the mean free path.
const JUMP_PER_PATH: f64 = 2.0 * (2.0 - 0.9) / 0.9 * (2.0 * 1.4 / 2.4) / 0.71;

/// Exchange factor of two faces of emissivity 0.9.
const EMISSIVITY: f64 = 1.0 / (2.0 / 0.9 - 1.0);

/// σ, W/(m² K⁴) (CODATA 2018).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Most by which the logarithm of the conductance may change in a step, at a tolerance of
/// [`AT_TOLERANCE`]; it goes with the cube root of the tolerance, as steps do.
const CHANGE: f64 = 0.25;

/// See [`CHANGE`].
const AT_TOLERANCE: f64 = 0.003;

/// Least step the film asks for, as a share of the pulse.
const LEAST_STEP: f64 = 1e-5;

/// The same before a face flows: what is left of the step then is made up for in the next one, but
/// not after the last light.
const LEAST_TO_FLOW: f64 = 1e-3;

/// A film of air between the parts.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    /// Width of the gap when cold, m.
    pub gap_m: f64,
    /// How upper and lower part swell; none for a part that is taken as rigid.
    pub swelling: [Option<Arc<Swelling>>; 2],
    /// Factor on the conductance: 1 but where a study scales all of heat conduction.
    pub factor: f64,
    /// Where unit light is absorbed once melt has wetted the other part, in the layers of the column's
    /// light; none where that stays as it was.
    pub wetted: Option<Arc<Absorbed>>,
}

/// What became of a gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilmOutcome {
    /// Width of the gap when cold, m.
    pub gap_m: f64,
    /// Greatest swelling of both parts together, m; none where neither is known to swell.
    pub swelling_m: Option<f64>,
    /// When the parts first touched, s from the first light.
    pub closed_s: Option<f64>,
    /// True where they touched while a face flowed.
    pub wetted: bool,
}

impl Film {
    /// Conductance at a width left and the temperatures of both faces, W/(m² K).
    pub fn conductance_w_per_m2_k(&self, left_m: f64, faces_k: [f64; 2]) -> f64 {
        let [a, b] = faces_k.map(|it| it.min(HOTTEST_K));
        let mean_k = 0.5 * (a + b);
        let jump_m = JUMP_PER_PATH * PATH_M * mean_k / PATH_AT_K;
        let radiation = STEFAN_BOLTZMANN * EMISSIVITY * (a * a + b * b) * (a + b);
        self.factor * (air_conductivity_w_per_m_k(mean_k) / (left_m.max(0.0) + jump_m) + radiation)
    }

    /// How much both parts swell where a case stands, m.
    fn swelling_m(&self, at: Place) -> f64 {
        let layout = at.case.layout;
        [0, 1]
            .into_iter()
            .filter_map(|side| Some((side, self.swelling[side].as_ref()?)))
            .map(|(side, it)| {
                let (first, last) = layout.nodes_of(layout.upper() + side);
                let depth = &at.case.depth[first..=last];
                swelling_m(depth, |i| it.strain(at.temperature_k(first + i)))
            })
            .sum()
    }

    /// True if a part is known to swell.
    pub fn closes(&self) -> bool {
        self.swelling.iter().any(Option::is_some)
    }
}

/// Conductivity of air at a temperature, W/(m K).
pub fn air_conductivity_w_per_m_k(temperature_k: f64) -> f64 {
    let right = AIR
        .partition_point(|it| it.0 <= temperature_k)
        .clamp(1, AIR.len() - 1);
    let ((t0, k0), (t1, k1)) = (AIR[right - 1], AIR[right]);
    // Beyond the table its last slopes go on, from 100 K on.
    k0 + (k1 - k0) * (temperature_k.max(100.0) - t0) / (t1 - t0)
}

/// Thickness that a part gains, m, from depths of its points (m, ascending) and the strain there.
pub fn swelling_m(depth_m: &[f64], strain: impl Fn(usize) -> f64) -> f64 {
    (1..depth_m.len())
        .map(|i| 0.5 * (strain(i - 1) + strain(i)) * (depth_m[i] - depth_m[i - 1]))
        .sum()
}

/// A film on its way.
#[derive(Clone, Debug)]
pub struct FilmCourse {
    film: Arc<Film>,
    flow_k: [f64; 2],
    time_s: f64,
    swelling_m: f64,
    faces_k: [f64; 2],
    /// When melt wetted the other part, s.
    wetted_s: Option<f64>,
    /// Logarithm of the conductance now, and its rise per second.
    log: f64,
    slope_per_s: f64,
    /// Logarithm of the conductance in the step under way and in the one before.
    tried: f64,
    used: f64,
    change: f64,
    least_step_s: f64,
    /// Time until a face flows, as it warmed in the step before, where melt would wet the other part.
    to_flow_s: f64,
    least_to_flow_s: f64,
    outcome: FilmOutcome,
    /// Width left at every step, m.
    left_m: Vec<f64>,
    record: bool,
}

impl FilmCourse {
    /// A film whose case has just been loaded.
    pub fn new(
        film: &Arc<Film>,
        flow_k: [f64; 2],
        dwell_s: f64,
        settings: &Settings,
        at: Place,
    ) -> Self {
        let mut course = FilmCourse {
            film: Arc::clone(film),
            flow_k,
            time_s: 0.0,
            swelling_m: 0.0,
            faces_k: [0.0; 2],
            wetted_s: None,
            log: 0.0,
            slope_per_s: 0.0,
            tried: 0.0,
            used: 0.0,
            change: CHANGE * (settings.tolerance / AT_TOLERANCE).cbrt(),
            least_step_s: LEAST_STEP * dwell_s,
            to_flow_s: f64::INFINITY,
            least_to_flow_s: LEAST_TO_FLOW * dwell_s,
            outcome: FilmOutcome {
                gap_m: film.gap_m,
                swelling_m: film.closes().then_some(0.0),
                closed_s: None,
                wetted: false,
            },
            left_m: Vec::new(),
            record: settings.record,
        };
        course.look(at, 0.0, true);
        course.used = course.log;
        course.tried = course.log;
        course
    }

    /// Takes note of the state at a time. After a change of the light, `abrupt`, what happened
    /// before says nothing of what comes.
    pub fn look(&mut self, at: Place, time_s: f64, abrupt: bool) {
        let (above, below) = at.case.layout.interface();
        let faces_k = [at.temperature_k(above), at.temperature_k(below)];
        let swelling_m = if self.film.closes() {
            self.film.swelling_m(at)
        } else {
            0.0
        };
        let gap_m = self.film.gap_m;
        let open_m = gap_m - swelling_m;
        let step_s = time_s - self.time_s;
        if let Some(most) = &mut self.outcome.swelling_m {
            *most = most.max(swelling_m);
        }
        if open_m <= 0.0 {
            // Straight lines over the step: when one got to where it had to get.
            let reached_s = |from: f64, to: f64, due: f64| {
                let share = (due - from) / (to - from).max(f64::MIN_POSITIVE);
                self.time_s + step_s * share.clamp(0.0, 1.0)
            };
            let touched_s = reached_s(self.swelling_m, swelling_m, gap_m);
            let flowed_s = (0..2)
                .filter(|&side| self.flow_k[side] <= faces_k[side])
                .map(|side| reached_s(self.faces_k[side], faces_k[side], self.flow_k[side]))
                .reduce(f64::min);
            self.outcome.closed_s.get_or_insert(touched_s);
            self.wetted_s = self.wetted_s.or(flowed_s.map(|it| it.max(touched_s)));
        }
        let left_m = if self.wetted_s.is_some() {
            0.0
        } else {
            open_m.max(0.0)
        };
        let log = self.film.conductance_w_per_m2_k(left_m, faces_k).ln();
        self.used = self.tried;
        self.slope_per_s = if abrupt || step_s <= 0.0 {
            0.0
        } else {
            (log - self.log) / step_s
        };
        // Light changes where melt wets the other part: steps are to end there. A face that warms ever
        // more slowly gets there after its straight line.
        let awaited = self.film.wetted.is_some() && open_m <= 0.0 && self.wetted_s.is_none();
        self.to_flow_s = f64::INFINITY;
        if awaited && !abrupt && 0.0 < step_s {
            for ((now, before), flow) in faces_k.iter().zip(self.faces_k).zip(self.flow_k) {
                if before < *now {
                    let to_flow_s = (flow - now) / (now - before) * step_s;
                    self.to_flow_s = self.to_flow_s.min(to_flow_s);
                }
            }
        }
        (self.log, self.time_s, self.swelling_m) = (log, time_s, swelling_m);
        self.faces_k = faces_k;
        if self.record {
            self.left_m.push(left_m);
        }
    }

    /// Conductance for a step of a length, W/(m² K).
    pub fn conductance_w_per_m2_k(&mut self, step_s: f64) -> f64 {
        let ahead = 0.5 * self.slope_per_s * step_s;
        let half_way = self.log + ahead.clamp(-self.change, self.change);
        let due = (half_way - W * self.used) / (1.0 - W);
        self.tried = due.clamp(half_way - self.change, half_way + self.change);
        self.tried.exp()
    }

    /// True while the parts touch, and ever after melt wetted the other part.
    pub fn touching(&self) -> bool {
        self.wetted_s.is_some() || self.film.gap_m <= self.swelling_m
    }

    /// When the parts first touched while a face flowed, s.
    pub fn wetted_s(&self) -> Option<f64> {
        self.wetted_s
    }

    /// Longest step over which the conductance changes little, s.
    pub fn longest_step_s(&self) -> f64 {
        (self.change / self.slope_per_s.abs())
            .max(self.least_step_s)
            .min(self.to_flow_s.max(self.least_to_flow_s))
    }

    /// What became of it, and the width left at every step, m, where kept.
    pub fn end(self) -> (FilmOutcome, Vec<f64>) {
        let outcome = FilmOutcome {
            wetted: self.wetted_s.is_some(),
            ..self.outcome
        };
        (outcome, self.left_m)
    }
}
