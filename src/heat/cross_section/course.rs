//! The run through time: steps, what is watched on the way, and the end.

use crate::error::HeatProblem;
use crate::heat::column::Column;
use crate::heat::cross_section::Settings;
use crate::heat::cross_section::equations::Equations;
use crate::heat::cross_section::equations::State;
use crate::heat::cross_section::outcome::CrossSection;
use crate::heat::cross_section::outcome::Ending;
use crate::heat::cross_section::outcome::Ledger;
use crate::heat::cross_section::step::Stepper;
use crate::heat::history::Counters;
use crate::heat::history::StopReason;
use crate::heat::pulses::Pulses;

/// Shortest step, as a share of the dwell time.
const SHORTEST_SHARE: f64 = 1e-10;

/// Share of the step that the error estimate would allow which is taken.
const SAFETY: f64 = 0.9;

/// Most by which a step may shrink and grow.
const GROWTH: (f64, f64) = (0.2, 3.0);

/// Least error to ask for in a step, K.
const LEAST_TOLERANCE_K: f64 = 1e-3;

/// Rise below which nothing needs to be followed, K.
const SETTLED_K: f64 = 0.01;

/// Faces that are watched beside the cells: laser side of the upper part, both sides of the
/// interface, far side.
pub const FACES: usize = 4;

/// What has been met so far.
#[derive(Clone, Debug)]
pub struct Watch {
    /// Highest temperature of every cell, K.
    pub peak: Vec<f64>,
    /// Highest temperature of the watched faces, K.
    pub faces: [Vec<f64>; FACES],
    /// Greatest swelling into the gap at every column, m; empty without a film of air.
    pub swelling_m: Vec<f64>,
    /// Damage integral of every cell; empty without kinetics.
    pub damage: Vec<f64>,
    rate: Vec<f64>,
    /// Highest temperature now and so far, K.
    hottest: f64,
    highest: f64,
}

impl Watch {
    fn new(equations: &Equations, kinetics: bool) -> Self {
        let (cells, columns) = (equations.cells(), equations.width_m.len());
        let kept = if kinetics { cells } else { 0 };
        Watch {
            peak: vec![0.0; cells],
            faces: [(); FACES].map(|()| vec![0.0; columns]),
            swelling_m: vec![0.0; equations.closing.as_ref().map_or(0, |_| columns)],
            damage: vec![0.0; kept],
            rate: vec![0.0; kept],
            hottest: 0.0,
            highest: 0.0,
        }
    }

    /// Takes in the state at the end of a step.
    fn see(
        &mut self,
        column: &Column,
        equations: &Equations,
        enthalpy: &[f64],
        state: &mut State,
        step_s: f64,
    ) {
        self.hottest = 0.0;
        for (peak, t) in self.peak.iter_mut().zip(&state.temperature) {
            *peak = peak.max(*t);
            self.hottest = self.hottest.max(*t);
        }
        let columns = equations.width_m.len();
        let mut interface_k = Vec::new();
        if !self.damage.is_empty() {
            for (i, row) in equations.rows.iter().enumerate() {
                let Some(kinetics) = &column.bodies[row.body].damage else {
                    continue;
                };
                for c in i * columns..(i + 1) * columns {
                    let rate = kinetics.rate_per_s(state.temperature[c]);
                    self.damage[c] += step_s * mean_between(self.rate[c], rate);
                    self.rate[c] = rate;
                }
            }
        }
        let front = equations.first_row[equations.upper];
        let last = equations.rows.len() - 1;
        for j in 0..columns {
            let at = |row: usize| enthalpy[row * columns + j];
            let faces = |row: usize| equations.contact((row, j), enthalpy, state).1;
            let [upper, lower] = faces(equations.above_interface());
            let laser_side = if front == 0 {
                equations.outer(0, at(0)).2
            } else {
                faces(front - 1)[1]
            };
            let far = equations.outer(1, at(last)).2;
            if equations.closing.is_some() {
                interface_k.push([upper, lower]);
            }
            let now = [laser_side, upper, lower, far];
            for (peak, t) in self.faces.iter_mut().zip(now) {
                peak[j] = peak[j].max(t);
                self.hottest = self.hottest.max(t);
            }
        }
        self.highest = self.highest.max(self.hottest);
        if let Some(closing) = &equations.closing {
            for (most, it) in self.swelling_m.iter_mut().zip(&state.air.swelling_m) {
                *most = most.max(*it);
            }
            closing.wet(&interface_k, &mut state.air);
        }
    }
}

/// Mean of a rate that goes from one value to another by equal ratios in equal times.
fn mean_between(from: f64, to: f64) -> f64 {
    let (sum, rise) = (from + to, to - from);
    // Where they are close the plain mean differs by less than 0.4 % and is safe.
    if rise.abs() <= 0.1 * sum || from <= 0.0 || to <= 0.0 {
        return 0.5 * sum;
    }
    rise / (to / from).ln()
}

/// Follows the cross-section from the first light until nothing that matters can change.
pub fn follow(
    column: &Column,
    equations: &Equations,
    settings: &Settings,
) -> Result<CrossSection, HeatProblem> {
    let columns = equations.width_m.len();
    let exposure = &column.exposure;
    let mut enthalpy: Vec<f64> = equations
        .start
        .iter()
        .flat_map(|it| std::iter::repeat_n(*it, columns))
        .collect();
    let mut next = enthalpy.clone();
    let mut state = State::default();
    equations.look_up(&enthalpy, &mut state);
    let kinetics = column.bodies.iter().any(|it| it.damage.is_some());
    let mut watch = Watch::new(equations, kinetics);
    watch.see(column, equations, &enthalpy, &mut state, 0.0);
    let coldest = column
        .bodies
        .iter()
        .map(|it| it.initial_k)
        .chain(equations.faces.iter().map(|it| it.ambient_k))
        .fold(f64::INFINITY, f64::min);
    let start_k = column
        .bodies
        .iter()
        .map(|it| it.initial_k)
        .fold(coldest, f64::max);
    let flow_k = column.bodies[column.upper..]
        .iter()
        .map(|it| it.thermal.flow_temperature_k.value)
        .fold(f64::INFINITY, f64::min);
    let mut pulses = Pulses::new(
        *exposure,
        equations.rise_k_m2_per_j,
        settings.most_resolved_passes,
    );
    let limit_s = exposure.heating_s() + settings.longest_s;
    let shortest_s = SHORTEST_SHARE * exposure.dwell_s;
    let most_steps = settings
        .most_steps_per_pulse
        .saturating_mul(exposure.passes as usize);
    let mut stepper = Stepper::new(equations);
    let mut counters = Counters {
        cells: equations.cells(),
        steps: 0,
        rejected: 0,
    };
    let mut ledger = Ledger::default();
    let (mut time_s, mut proposed_s) = (0.0, pulses.first_step_s());
    let stop = loop {
        // Steps up to where the light changes, even ones where few are left.
        let change = pulses.next_s();
        let left = change.min(limit_s) - time_s;
        let count = (left / proposed_s - 1e-9).ceil().max(1.0);
        let step_s = if count < 8.0 {
            left / count
        } else {
            proposed_s
        };
        let reaches = count == 1.0;
        let to_s = if reaches {
            change.min(limit_s)
        } else {
            time_s + step_s
        };
        let energy = pulses.energy_j_per_m2(time_s, to_s);
        let light = (step_s, energy / step_s);
        let absorbed_m = equations.absorbed_m(&state);
        let done = stepper.step(equations, &enthalpy, &state, light, &mut next);
        // The first steps, when nothing is warm yet, are judged by what they bring.
        let rise_k = (watch.highest - coldest).max(done.change_k);
        let tolerance_k = (settings.tolerance * rise_k).max(LEAST_TOLERANCE_K);
        let factor = SAFETY * (tolerance_k / done.error_k.max(1e-300)).sqrt();
        if tolerance_k < done.error_k || !done.error_k.is_finite() {
            counters.rejected += 1;
            proposed_s = step_s * factor.clamp(GROWTH.0, 0.8);
            if !done.error_k.is_finite() {
                proposed_s = step_s * GROWTH.0;
            }
            if proposed_s < shortest_s {
                return Err(HeatProblem::StepTooShort {
                    step_s: proposed_s,
                    limit_s: shortest_s,
                    time_s,
                    error_k: done.error_k,
                    tolerance_k,
                });
            }
            continue;
        }
        counters.steps += 1;
        if most_steps < counters.steps + counters.rejected {
            return Err(HeatProblem::TooManySteps {
                steps: counters.steps,
                time_s,
            });
        }
        std::mem::swap(&mut enthalpy, &mut next);
        time_s = to_s;
        ledger.absorbed_j_per_m += energy * absorbed_m;
        ledger.lost_j_per_m += done.lost_j_per_m;
        equations.look_up(&enthalpy, &mut state);
        watch.see(column, equations, &enthalpy, &mut state, step_s);
        proposed_s = step_s * factor.clamp(GROWTH.0, GROWTH.1);
        if reaches && change <= limit_s {
            pulses.pass_over();
            proposed_s = proposed_s.min(pulses.first_step_s());
        }
        if !pulses.heating() {
            let rise = watch.hottest - start_k;
            let share = settings.follow_to_share * (watch.highest - start_k);
            if rise <= share.max(SETTLED_K) && watch.hottest < flow_k {
                break StopReason::Settled;
            }
        }
        if limit_s <= time_s {
            break StopReason::TimeLimit;
        }
    };
    ledger.stored_j_per_m = equations.stored_j_per_m(&enthalpy);
    let ending = Ending {
        ledger: ledger.of_both_halves(),
        counters,
        end_s: time_s,
        stop,
        final_above_k: watch.hottest,
    };
    Ok(CrossSection::new(column, equations, &watch, ending))
}
