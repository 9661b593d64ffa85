//! One case in its lane: its time, its steps, what it has met, and when it ends.

use crate::error::HeatProblem;
use crate::heat::case::Case;
use crate::heat::column::Column;
use crate::heat::crossing::Margin;
use crate::heat::history::Counters;
use crate::heat::history::History;
use crate::heat::history::Ledger;
use crate::heat::history::Record;
use crate::heat::history::StopReason;
use crate::heat::lanes::Place;
use crate::heat::light::absorbed_share;
use crate::heat::melt::Flowing;
use crate::heat::melt::MeltCourse;
use crate::heat::molten_zone::molten_zone;
use crate::heat::outcome::PartPeaks;
use crate::heat::outcome::Worst;
use crate::heat::pulses::Light;
use crate::heat::pulses::Pulses;
use crate::heat::settings::Settings;
use crate::heat::step::Stepper;
use crate::heat::table::Pool;
use crate::heat::watch::Watch;
use crate::numerics::order::larger;
use crate::numerics::order::smaller;
use crate::numerics::root::inverse_cube_root;

/// Shortest step, as a share of the pulse: rounding of the time would set in below.
const SHORTEST_SHARE: f64 = 1e-10;

/// Share of the step that the error estimate would allow which is taken.
const SAFETY: f64 = 0.9;

/// Factor on the error allowed once all is solid again: what comes is only the slow spread of heat.
const SOLID: f64 = 4.0;

/// Most by which a step may grow or shrink from one to the next.
const GROWTH: (f64, f64) = (0.2, 4.0);

/// Steps up to a stop at which the light changes from which on they are not made even.
const MANY: f64 = 7.0;

/// A temperature that can rise by less than this is settled, K.
const SETTLED_K: f64 = 0.01;

/// Least error to ask for in a step, K.
const LEAST_TOLERANCE_K: f64 = 1e-3;

/// Damage that can still be added, relative to that done, for a run to be settled.
const SETTLED_DAMAGE: f64 = 1e-4;

/// Light of a step that is made up for in the next one, at most, in units of what that one brings: so
/// little that a node which absorbs a third as much where wetted is not cooled meanwhile.
const MOST_MADE_UP: f64 = 0.5;

/// Light after melt wetted the other part.
#[derive(Clone, Copy, Debug)]
struct WettedLight {
    /// Light since, J/m².
    received_j_per_m2: f64,
    /// Light between that moment and the end of its step, as far as it is not made up for, J/m².
    owed_j_per_m2: f64,
    /// See [`Run::wetted_share`].
    share: f64,
}

/// One case on its way.
#[derive(Clone, Debug)]
pub struct Run {
    /// Its place in the block.
    pub index: usize,
    time_s: f64,
    /// Step to try next, and step under way.
    proposed_s: f64,
    step_s: f64,
    next_time_s: f64,
    reaches_change: bool,
    abrupt: bool,
    pulses: Pulses,
    shortest_s: f64,
    limit_s: f64,
    most_steps: usize,
    counters: Counters,
    lost_j_per_m2: f64,
    /// Light since melt wetted the other part; none before.
    wetted: Option<WettedLight>,
    first_flow_s: Option<f64>,
    above_s: f64,
    error_k: f64,
    tolerance_k: f64,
    /// Energy of the step under way.
    light_j_per_m2: f64,
    hottest_k: f64,
    melt: MeltCourse,
    record: Option<Box<Record>>,
}

/// How a run ended.
pub enum Ending {
    /// With an answer.
    Answered(StopReason),
    /// Without.
    Failed(HeatProblem),
}

impl Run {
    /// A case that has just been loaded into a lane.
    pub fn new(index: usize, column: &Column, case: &Case, settings: &Settings) -> Self {
        let pulses = Pulses::new(
            column.exposure,
            case.rise_k_m2_per_j,
            settings.most_resolved_passes,
        );
        Run {
            index,
            time_s: 0.0,
            proposed_s: pulses.first_step_s(),
            step_s: 0.0,
            next_time_s: 0.0,
            reaches_change: false,
            pulses,
            shortest_s: SHORTEST_SHARE * column.exposure.dwell_s,
            limit_s: column.exposure.heating_s() + settings.longest_s,
            most_steps: settings
                .most_steps_per_pulse
                .saturating_mul(column.exposure.passes as usize),
            counters: Counters {
                cells: case.landmarks.cells,
                steps: 0,
                rejected: 0,
            },
            lost_j_per_m2: 0.0,
            wetted: None,
            abrupt: true,
            first_flow_s: None,
            above_s: 0.0,
            error_k: 0.0,
            tolerance_k: LEAST_TOLERANCE_K,
            light_j_per_m2: 0.0,
            hottest_k: case.landmarks.hottest_start_k,
            melt: MeltCourse::new(&column.melt),
            record: settings.record.then(|| Box::new(new_record(case))),
        }
    }

    /// True if the light has just changed.
    pub fn abrupt(&self) -> bool {
        self.abrupt
    }

    /// Time reached, s.
    pub fn time_s(&self) -> f64 {
        self.time_s
    }

    /// Takes note that melt wetted the other part at a time in the step just kept, s: light goes its
    /// way as there since.
    pub fn wet(&mut self, at_s: f64) {
        if self.wetted.is_none() {
            let since = (self.time_s - at_s) / self.step_s;
            self.wetted = Some(WettedLight {
                received_j_per_m2: 0.0,
                owed_j_per_m2: since * self.light_j_per_m2,
                share: 1.0,
            });
            self.abrupt = true;
        }
    }

    /// For the step under way: how much of the way from the light over the gap to that where melt has
    /// wetted the other part it is to go; more than all of it to make up for the step in which that
    /// happened. None before.
    pub fn wetted_share(&mut self) -> Option<f64> {
        let light_j_per_m2 = self.light_j_per_m2;
        let wetted = self.wetted.as_mut()?;
        wetted.share = 1.0;
        if 0.0 < light_j_per_m2 {
            wetted.share += (wetted.owed_j_per_m2 / light_j_per_m2).min(MOST_MADE_UP);
        }
        Some(wetted.share)
    }

    /// Keeps the next step from being longer than this, s.
    pub fn hold_step(&mut self, longest_s: f64) {
        self.proposed_s = self.proposed_s.min(longest_s);
    }

    /// Length of the next step, s, and light during it.
    pub fn next_step(&mut self) -> (f64, Light) {
        self.proposed_s = smaller(self.proposed_s, self.pulses.longest_step_s());
        let change = self.pulses.next_s();
        let stop = smaller(change, self.limit_s);
        let left = stop - self.time_s;
        self.step_s = self.proposed_s;
        let mut reaches_stop = false;
        if left < MANY * self.proposed_s {
            // Even steps up to the stop, so that no sliver is left before it.
            let steps = left / self.proposed_s - 1e-9;
            reaches_stop = steps < 1.0;
            self.step_s = left / f64::from(1 + steps as u32);
        }
        self.next_time_s = self.time_s + self.step_s;
        if reaches_stop {
            self.next_time_s = stop;
        }
        self.reaches_change = reaches_stop && change <= self.limit_s;
        let light = self.pulses.light(self.time_s, self.next_time_s);
        self.light_j_per_m2 = self.step_s * (light.irradiance + 0.5 * self.step_s * light.slope);
        (self.step_s, light)
    }

    /// True if the step's error is allowed; sets the time and the next step.
    pub fn judge(&mut self, case: &Case, stepper: &Stepper, lane: usize) -> bool {
        let landmarks = &case.landmarks;
        // The rise to the lower flow temperature is what the answer is about.
        let first_flow_k = landmarks.first_flow_k();
        let span_k = larger(
            larger(self.hottest_k, first_flow_k) - landmarks.coldest_k,
            case.rise_k_m2_per_j * self.light_j_per_m2,
        );
        self.tolerance_k = larger(case.tolerance * span_k, LEAST_TOLERANCE_K);
        if self.hottest_k < first_flow_k && !self.pulses.heating() {
            self.tolerance_k *= SOLID;
        }
        let error = stepper.error_k[lane] / self.tolerance_k;
        self.error_k = stepper.error_k[lane];
        let factor = if error.is_finite() {
            // The estimate falls with the third power of the step.
            let factor = SAFETY * inverse_cube_root(larger(error, 1e-9));
            smaller(larger(factor, GROWTH.0), GROWTH.1)
        } else {
            GROWTH.0
        };
        if error.is_nan() || 1.0 < error {
            self.counters.rejected += 1;
            self.proposed_s = self.step_s * factor.min(0.9);
            return false;
        }
        self.counters.steps += 1;
        self.abrupt = self.reaches_change;
        if let Some(wetted) = &mut self.wetted {
            self.abrupt |= 1.0 < wetted.share;
            wetted.received_j_per_m2 += wetted.share * self.light_j_per_m2;
            wetted.owed_j_per_m2 -= (wetted.share - 1.0) * self.light_j_per_m2;
        }
        self.lost_j_per_m2 += stepper.lost[0][lane] + stepper.lost[1][lane];
        self.time_s = self.next_time_s;
        let next_s = self.step_s * factor;
        if self.reaches_change {
            self.pulses.pass_over();
            self.proposed_s = smaller(next_s, self.pulses.first_step_s());
        } else {
            // A step shortened to meet a change says little about the next: it may grow back.
            let as_before = smaller(self.proposed_s, self.step_s * GROWTH.1);
            self.proposed_s = larger(next_s, as_before * smaller(factor, 1.0));
        }
        true
    }

    /// Takes note of a step that was kept: how hot it is, and how long the interface flowed.
    pub fn note(&mut self, case: &Case, watch: &Watch, pool: &Pool, lane: usize) {
        self.hottest_k = watch.hottest_k[lane];
        let flow = case.landmarks.flow_j_per_m3;
        if (0..2).any(|side| watch.interface[side].top[lane] < flow[side]) {
            return;
        }
        let sides = [0, 1].map(|side| watch.interface[side].cubic(lane));
        let margin = Margin {
            sides: &sides,
            flow,
        };
        let Some((from, to)) = margin.stretch_above() else {
            return;
        };
        let duration_s = (to - from) * self.step_s;
        self.first_flow_s
            .get_or_insert(self.time_s - self.step_s + from * self.step_s);
        self.above_s += duration_s;
        if self.melt.heals() {
            self.melt.heal([0, 1].map(|side| {
                let table = case.table_at(case.landmarks.interface[side]);
                Flowing {
                    temperature_k: [from, 0.5 * (from + to), to]
                        .map(|s| table.temperature_k(pool, sides[side].at(s))),
                    duration_s,
                }
            }));
        }
    }

    /// Presses on the melt there is at the end of the step, where asked for.
    fn press_melt(&mut self, at: Place, touching: bool) {
        if let Some(squeeze) = self.melt.squeeze() {
            let zone = molten_zone(at, squeeze);
            self.melt.press(zone, touching, self.time_s, self.step_s);
        }
    }

    /// Keeps the temperatures for figures, where asked for; `touching` is false over an open gap.
    pub fn keep(&mut self, at: Place, touching: bool) {
        self.press_melt(at, touching);
        let Some(record) = &mut self.record else {
            return;
        };
        let landmarks = &at.case.landmarks;
        let [upper, lower] = landmarks.interface;
        record.collapse_m.push(self.melt.collapse_m());
        record.time_s.push(self.time_s);
        record.interface_upper_k.push(at.temperature_k(upper));
        record.interface_lower_k.push(at.temperature_k(lower));
        record.laser_side_k.push(at.temperature_k(landmarks.front));
        let all = rows(at.case.layout).map(|i| at.temperature_k(i));
        record.temperature_k.push(all.collect());
    }

    /// How the run ended, if it has.
    pub fn ending(&self, case: &Case, watch: &Watch, pool: &Pool, lane: usize) -> Option<Ending> {
        if self.proposed_s < self.shortest_s {
            return Some(Ending::Failed(HeatProblem::StepTooShort {
                step_s: self.proposed_s,
                limit_s: self.shortest_s,
                time_s: self.time_s,
                error_k: self.error_k,
                tolerance_k: self.tolerance_k,
            }));
        }
        if self.most_steps <= self.counters.steps + self.counters.rejected {
            return Some(Ending::Failed(HeatProblem::TooManySteps {
                steps: self.counters.steps + self.counters.rejected,
                time_s: self.time_s,
            }));
        }
        if self.pulses.heating() || self.counters.steps == 0 {
            return None;
        }
        if self.settled(case, watch, pool, lane) {
            return Some(Ending::Answered(StopReason::Settled));
        }
        (self.limit_s <= self.time_s).then_some(Ending::Answered(StopReason::TimeLimit))
    }

    /// Maximum principle: without light no temperature can rise above the highest there is, so
    /// what has been higher already cannot change.
    fn settled(&self, case: &Case, watch: &Watch, pool: &Pool, lane: usize) -> bool {
        let landmarks = &case.landmarks;
        let hottest = watch.hottest_k[lane].max(landmarks.warmest_ambient_k);
        // The laser-side face, far from the heat, is usually the last.
        let [above, below] = landmarks.interface;
        let [probe_above, probe_below] = landmarks.probes.map(|it| it.0);
        let watched = [landmarks.front, above, below, probe_above, probe_below];
        if landmarks.first_flow_k() <= hottest
            || watched.iter().any(|&i| {
                let peak_k = case
                    .table_at(i)
                    .temperature_k(pool, watch.nodes[i].peak[lane]);
                peak_k + SETTLED_K < hottest
            })
        {
            return false;
        }
        // Damage goes on at a falling rate; what another time as long as the run would add counts.
        watch.harm.iter().all(|harm| {
            let done = harm
                .integral
                .iter()
                .fold(0.0_f64, |most, it| most.max(it[lane]));
            harm.rate_per_s(lane, hottest) * self.time_s <= SETTLED_DAMAGE * done + 1e-9
        })
    }

    /// Light that the bodies have absorbed, J/m².
    fn absorbed_j_per_m2(&self, column: &Column) -> f64 {
        let fluence = column.exposure.fluence_until_j_per_m2(self.time_s);
        let share = absorbed_share(&column.light, column);
        let more = match (self.wetted, column.wetted_light()) {
            (Some(it), Some(light)) => {
                it.received_j_per_m2 * (absorbed_share(light, column) - share)
            }
            _ => 0.0,
        };
        share * fluence + more
    }

    /// What happened.
    pub fn history(self, column: &Column, at: Place, watch: &Watch, stop: StopReason) -> History {
        let Place {
            case,
            lanes,
            pool,
            lane,
        } = at;
        let upper = column.upper;
        let parts = [
            PartPeaks::new(case, watch, pool, lane, upper),
            PartPeaks::new(case, watch, pool, lane, upper + 1),
        ];
        let landmarks = &case.landmarks;
        let face = case.depth[landmarks.interface[0]];
        let melted = [0, 1].map(|side| parts[side].melt_depth(landmarks.flow_k[side], face));
        let highest = parts
            .iter()
            .map(PartPeaks::highest)
            .fold((0.0, 0.0), |a, b| if a.1 < b.1 { b } else { a });
        let worst = (0..2)
            .filter(|&side| column.bodies[upper + side].damage.is_some())
            .map(|side| {
                let integral: Vec<f64> = watch.harm[side]
                    .integral
                    .iter()
                    .map(|it| it[lane])
                    .collect();
                parts[side].worst(&integral)
            })
            .fold(None, |most: Option<Worst>, it| match most {
                Some(most) if it.integral <= most.integral => Some(most),
                _ => Some(it),
            });
        History {
            interface_peak_upper_k: parts[0].at_back(),
            interface_peak_lower_k: parts[1].at_front(),
            first_flow_s: self.first_flow_s,
            time_above_flow_s: self.above_s,
            upper_melt_depth_m: melted[0].depth_m,
            lower_melt_depth_m: melted[1].depth_m,
            depth_doubt: melted[0].doubt.max(melted[1].doubt),
            upper_probe_peak_k: parts[0].at(landmarks.probes[0].1),
            lower_probe_peak_k: parts[1].at(landmarks.probes[1].1),
            body_peak_k: highest.1,
            body_peak_depth_m: highest.0,
            laser_side_peak_k: parts[0].at_front(),
            damage_integral: worst.map(|it| it.integral),
            damage_depth_m: worst.map_or(highest.0, |it| it.depth),
            damage_peak_k: worst.map_or(highest.1, |it| it.peak),
            melt: self.melt.outcome(),
            film: None,
            range_k: [parts[0].range(), parts[1].range()],
            ledger: Ledger {
                absorbed_j_per_m2: self.absorbed_j_per_m2(column),
                stored_j_per_m2: lanes.energy_j_per_m2(lane) - landmarks.start_j_per_m2,
                lost_j_per_m2: self.lost_j_per_m2,
            },
            counters: self.counters,
            first_run: None,
            end_s: self.time_s,
            stop,
            record: self.record,
        }
    }
}

/// Nodes of all bodies in order; shared nodes twice.
fn rows(layout: crate::heat::layout::Layout) -> impl Iterator<Item = usize> {
    (0..layout.bodies).flat_map(move |b| {
        let (first, last) = layout.nodes_of(b);
        first..=last
    })
}

fn new_record(case: &Case) -> Record {
    Record {
        depth_m: rows(case.layout).map(|i| case.depth[i]).collect(),
        ..Record::default()
    }
}
