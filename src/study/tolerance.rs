//! How often the weld is sound when inputs scatter, what it fails of, and which input matters.
//!
//! Points are scrambled Sobol points in as many dimensions as inputs scatter, twice (two independent
//! sets A and B, and A with one input at a time from B), in [`REPLICATES`] independent scrambles.
//!
//! ```text
//! chance of a sound weld   share of sound welds among A and B; Wilson's interval of 95 % for as
//!                          many independent trials (a scrambled net errs less than those in all
//!                          but odd cases; the spread of the replicates is given beside it)
//! effects                  of inputs on the least margin of all criteria, and on whether the weld
//!                          is sound: mean over the replicates, interval of 95 % by Student's t
//! held tighter             chance with the spread of one input halved, at the points A
//! ```
//!
//! The least margin is continuous where the governing criterion changes, and the weld is sound where
//! it is not negative. The interval is that of the sampling alone: it says nothing about the model
//! or about spreads that are wrong.
//!
//! Source: `numerics::sensitivity`, `numerics::sobol`, `numerics::normal`; A. B. Owen, Ann. Stat. 25
//! (1997) 1541 for the variance of scrambled nets (from memory). Checked in:
//! `tests/study/tolerance.rs`.

use crate::error::Error;
use crate::numerics::normal::{student_95, wilson_95};
use crate::numerics::sensitivity::{Effect, Paired, effects};
use crate::numerics::sobol::{DIMENSIONS, Sobol};
use crate::numerics::statistics::BatchMeans;
use crate::study::progress::Progress;
use crate::study::scatter::{Draw, Quantity, Scatter, Scattered, scatter_of};
use crate::weld::criteria::Rule;
use crate::weld::joint::Joint;
use crate::weld::light_lattice::LightLattice;
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate, simulate_lit};
use crate::weld::verdict::Verdict;

/// Independent scrambles.
pub const REPLICATES: usize = 8;

/// Least and greatest number of welds.
pub const SAMPLES: (usize, usize) = (1_000, 10_000_000);

/// Welds simulated between two tellings of progress.
const CHUNK: usize = 4096;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Most welds to simulate for chance and effects.
    pub samples: usize,
    /// Seed of the scrambles.
    pub seed: u64,
}

/// A share with its interval of 95 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Counted.
    pub hits: usize,
    /// Out of.
    pub trials: usize,
    /// Wilson's interval.
    pub interval: (f64, f64),
}

impl Chance {
    /// Counted `hits` of `trials`.
    pub fn of(hits: usize, trials: usize) -> Self {
        Chance {
            hits,
            trials,
            interval: wilson_95(hits, trials),
        }
    }

    /// Best value, 0 to 1.
    pub fn value(&self) -> f64 {
        self.hits as f64 / self.trials as f64
    }
}

/// A number with the half-width of its interval of 95 %.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Between {
    /// Best value.
    pub value: f64,
    /// Half-width of the interval.
    pub half: f64,
}

/// What one input does.
#[derive(Clone, Debug, PartialEq)]
pub struct InputEffect {
    /// The input and its spread.
    pub input: Scattered,
    /// First-order and total effect on the least margin.
    pub on_margin: [Between; 2],
    /// First-order and total effect on whether the weld is sound; none where all welds are alike.
    pub on_sound: Option<[Between; 2]>,
    /// Chance of a sound weld with half the spread of this input.
    pub halved: Chance,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Tolerance {
    /// What scatters and what is taken as exact.
    pub scatter: Scatter,
    /// Welds simulated.
    pub welds: usize,
    /// Most welds that were asked for.
    pub most: usize,
    /// Seed of the scrambles.
    pub seed: u64,
    /// Chance of a sound weld.
    pub sound: Chance,
    /// Half-width of the interval of the chance from the spread of the replicates.
    pub replicate_half: f64,
    /// Chance at the points A alone, which `halved` is to be compared with.
    pub base: Chance,
    /// Welds of each verdict among A and B, in the order of their listing.
    pub verdicts: Vec<(Verdict, usize)>,
    /// Broken rules that governed, most frequent first.
    pub rules: Vec<(Rule, usize)>,
    /// Least margin of all criteria: 5 %, 50 % and 95 % of the welds lie below.
    pub margin_quantiles: [f64; 3],
    /// Every least margin among A and B, ascending.
    pub margins: Vec<f64>,
    /// Inputs, greatest total effect on the margin first.
    pub effects: Vec<InputEffect>,
    /// The joint as its file states it.
    pub nominal: Outcome,
    /// Nodes at which light was followed: absorbed light, widened spot.
    pub light_nodes: (usize, usize),
}

/// Chance of a sound weld below which the setpoint is to be moved before anything else.
pub const MOSTLY_SOUND: f64 = 0.5;

impl Tolerance {
    /// The input whose halved spread raises the chance most; none where none raises it, and where more
    /// than half of the welds fail: off the middle of its window a weld is not saved by less scatter.
    pub fn hold_tighter(&self) -> Option<&InputEffect> {
        if self.base.value() < MOSTLY_SOUND {
            return None;
        }
        self.effects
            .iter()
            .filter(|it| self.base.hits < it.halved.hits)
            .max_by_key(|it| it.halved.hits)
    }
}

/// Verdict, rule that governs, and least margin of one weld.
#[derive(Clone, Copy, Debug)]
struct Judged {
    verdict: Verdict,
    rule: Rule,
    margin: f64,
}

impl Judged {
    fn of(outcome: &Outcome) -> Self {
        Judged {
            verdict: outcome.verdict,
            rule: outcome.governing.rule,
            margin: outcome.least_margin(),
        }
    }

    fn sound(&self) -> bool {
        self.verdict == Verdict::Sound
    }
}

/// Joints drawn around one, their light interpolated.
pub struct Sampler<'s> {
    /// Draws joints.
    pub draw: Draw,
    /// Their light.
    pub light: LightLattice,
    settings: &'s Settings,
}

impl<'s> Sampler<'s> {
    /// A sampler around a joint.
    ///
    /// # Errors
    /// A spectrum does not reach the wavelength, or a part has no absorption.
    pub fn around(joint: &Joint, settings: &'s Settings) -> Result<Self, Error> {
        let draw = Draw::around(joint)?;
        let light = LightLattice::around(&draw.middle())?;
        Ok(Sampler {
            draw,
            light,
            settings,
        })
    }

    /// Simulates drawn joints.
    pub fn simulate(&self, joints: &[Joint]) -> Vec<Result<Outcome, Error>> {
        let lights = self.light.lights(joints, &self.settings.memory);
        simulate_lit(joints, lights, self.settings)
    }

    fn judge(&self, joints: &[Joint]) -> Result<Vec<Judged>, Error> {
        self.simulate(joints)
            .into_iter()
            .map(|it| it.map(|it| Judged::of(&it)))
            .collect()
    }
}

/// Points of each replicate, a power of two, and dimensions: one an input.
fn points_of(samples: usize, inputs: usize) -> usize {
    let sets = 2 * inputs + 2;
    let each = (samples / (sets * REPLICATES)).max(8);
    1 << each.ilog2()
}

/// Scatters the inputs of a joint at its setpoint.
///
/// # Errors
/// The light or heat of a drawn joint cannot be followed.
pub fn tolerance(
    joint: &Joint,
    plan: &Plan,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<Tolerance, Error> {
    let mut scatter = scatter_of(joint);
    scatter.inputs.truncate(DIMENSIONS / 2);
    let inputs = &scatter.inputs;
    let nominal = simulate(std::slice::from_ref(joint), settings).remove(0)?;
    let sampler = Sampler::around(joint, settings)?;
    let quantities: Vec<Quantity> = inputs.iter().map(|it| it.quantity).collect();
    let points = points_of(plan.samples, inputs.len());
    let sets = 2 * inputs.len() + 2;
    let mut gathered = Gathered::new(inputs.len());
    for replicate in 0..REPLICATES {
        let sobol = Sobol::scrambled(2 * inputs.len(), plan.seed, replicate as u64);
        let count = inputs.len();
        let mut uniforms = Vec::with_capacity(points * sets);
        let all: Vec<Vec<f64>> = (0..points as u32).map(|i| sobol.point(i)).collect();
        // Sets in order: A, B, then A with one input from B, then A with one spread halved.
        let factors = |of: &dyn Fn(usize, &[f64]) -> f64| -> Vec<Vec<f64>> {
            all.iter()
                .map(|point| (0..count).map(|i| of(i, point)).collect())
                .collect()
        };
        uniforms.extend(factors(&|i, p| inputs[i].factor(p[i])));
        uniforms.extend(factors(&|i, p| inputs[i].factor(p[count + i])));
        for mixed in 0..count {
            uniforms.extend(factors(&|i, p| {
                inputs[i].factor(p[if i == mixed { count + i } else { i }])
            }));
        }
        for halved in 0..count {
            uniforms.extend(factors(&|i, p| {
                let factor = inputs[i].factor(p[i]);
                if i == halved { factor.sqrt() } else { factor }
            }));
        }
        let mut judged = Vec::with_capacity(uniforms.len());
        for chunk in uniforms.chunks(CHUNK) {
            progress.at(
                replicate * points * sets + judged.len(),
                REPLICATES * points * sets,
            );
            let joints: Vec<Joint> = chunk
                .iter()
                .map(|factors| sampler.draw.at(&quantities, factors).joint)
                .collect();
            judged.extend(sampler.judge(&joints)?);
        }
        let parts: Vec<&[Judged]> = judged.chunks(points).collect();
        gathered.take(&parts, count);
    }
    progress.at(1, 1);
    let light_nodes = sampler.light.nodes();
    Ok(gathered.into_answer(scatter, *plan, nominal, light_nodes))
}

/// What is gathered over the replicates.
struct Gathered {
    welds: usize,
    judged: Vec<Judged>,
    base: (usize, usize),
    chances: BatchMeans,
    on_margin: BatchMeans,
    on_sound: BatchMeans,
    sound_replicates: usize,
    margin_replicates: usize,
    halved: Vec<usize>,
}

impl Gathered {
    fn new(inputs: usize) -> Self {
        Gathered {
            welds: 0,
            judged: Vec::new(),
            base: (0, 0),
            chances: BatchMeans::new(1),
            on_margin: BatchMeans::new(2 * inputs),
            on_sound: BatchMeans::new(2 * inputs),
            sound_replicates: 0,
            margin_replicates: 0,
            halved: vec![0; inputs],
        }
    }

    fn take(&mut self, sets: &[&[Judged]], inputs: usize) {
        let sound = |set: &[Judged]| set.iter().filter(|it| it.sound()).count();
        self.welds += sets.iter().map(|it| it.len()).sum::<usize>();
        self.judged.extend(sets[0]);
        self.judged.extend(sets[1]);
        self.base.0 += sound(sets[0]);
        self.base.1 += sets[0].len();
        let both = sets[0].len() + sets[1].len();
        let share = (sound(sets[0]) + sound(sets[1])) as f64 / both as f64;
        self.chances.push(&[share]);
        for (halved, set) in self.halved.iter_mut().zip(&sets[2 + inputs..]) {
            *halved += sound(set);
        }
        let paired = |of: fn(&Judged) -> f64| {
            let values = |set: &[Judged]| set.iter().map(of).collect::<Vec<f64>>();
            Paired {
                a: values(sets[0]),
                b: values(sets[1]),
                mixed: sets[2..2 + inputs].iter().map(|it| values(it)).collect(),
            }
        };
        let flat = |found: Vec<Effect>| -> Vec<f64> {
            found.iter().flat_map(|it| [it.first, it.total]).collect()
        };
        if let Some(found) = effects(&paired(|it| it.margin)) {
            self.on_margin.push(&flat(found));
            self.margin_replicates += 1;
        }
        if let Some(found) = effects(&paired(|it| f64::from(u8::from(it.sound())))) {
            self.on_sound.push(&flat(found));
            self.sound_replicates += 1;
        }
    }

    fn into_answer(
        self,
        scatter: Scatter,
        plan: Plan,
        nominal: Outcome,
        light_nodes: (usize, usize),
    ) -> Tolerance {
        let trials = self.judged.len();
        let hits = self.judged.iter().filter(|it| it.sound()).count();
        let between = |means: &BatchMeans, index: usize, count: usize| {
            let it = means.estimate(index);
            Between {
                value: it.value,
                half: student_95(count) * it.standard_error,
            }
        };
        let mut effects: Vec<InputEffect> = scatter
            .inputs
            .iter()
            .enumerate()
            .map(|(i, input)| InputEffect {
                input: input.clone(),
                on_margin: [0, 1]
                    .map(|which| between(&self.on_margin, 2 * i + which, self.margin_replicates)),
                on_sound: (1 < self.sound_replicates).then(|| {
                    [0, 1]
                        .map(|which| between(&self.on_sound, 2 * i + which, self.sound_replicates))
                }),
                halved: Chance::of(self.halved[i], self.base.1),
            })
            .collect();
        effects.sort_by(|a, b| b.on_margin[1].value.total_cmp(&a.on_margin[1].value));
        let verdicts = [
            Verdict::Sound,
            Verdict::Unfused,
            Verdict::Weak,
            Verdict::Degraded,
            Verdict::Marked,
        ]
        .map(|verdict| {
            let count = self.judged.iter().filter(|it| it.verdict == verdict);
            (verdict, count.count())
        });
        let mut rules: Vec<(Rule, usize)> = Rule::ALL
            .iter()
            .map(|&rule| {
                let count = self
                    .judged
                    .iter()
                    .filter(|it| !it.sound() && it.rule == rule);
                (rule, count.count())
            })
            .filter(|it| 0 < it.1)
            .collect();
        rules.sort_by_key(|it| std::cmp::Reverse(it.1));
        let mut margins: Vec<f64> = self.judged.iter().map(|it| it.margin).collect();
        margins.sort_by(f64::total_cmp);
        let quantile = |share: f64| margins[((share * trials as f64) as usize).min(trials - 1)];
        Tolerance {
            scatter,
            welds: self.welds,
            most: plan.samples,
            seed: plan.seed,
            sound: Chance::of(hits, trials),
            replicate_half: student_95(REPLICATES) * self.chances.estimate(0).standard_error,
            base: Chance::of(self.base.0, self.base.1),
            verdicts: verdicts.to_vec(),
            rules,
            margin_quantiles: [0.05, 0.5, 0.95].map(quantile),
            margins,
            effects,
            nominal,
            light_nodes,
        }
    }
}
