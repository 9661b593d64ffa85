//! Many columns at once: sorted by layout, solved in lanes, each lane in its own time.
//!
//! A lane steps with its own step and is refilled when its case has ended. No operation goes
//! across lanes, so a case gives the same bits whatever its neighbours and however many threads.

// Nodes and lanes index many arrays at once.
#![allow(clippy::needless_range_loop)]

use std::cmp::Reverse;
use std::sync::Arc;

use rayon::prelude::*;

use crate::error::Error;
use crate::error::HeatProblem;
use crate::heat::assemble::assemble;
use crate::heat::case::Case;
use crate::heat::closure::FilmCourse;
use crate::heat::closure::FilmOutcome;
use crate::heat::column::Column;
use crate::heat::course::Ending;
use crate::heat::course::Run;
use crate::heat::history::History;
use crate::heat::lanes::Lanes;
use crate::heat::lanes::Place;
use crate::heat::layout::Layout;
use crate::heat::layout::MOST_BODIES;
use crate::heat::library::Library;
use crate::heat::settings::Settings;
use crate::heat::step;
use crate::heat::step::Stepper;
use crate::heat::step::Stride;
use crate::heat::watch;
use crate::heat::watch::Watch;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// Columns of which each thread keeps tables and equations at a time, to bound memory.
const BLOCK: usize = 4096;

/// Most cases one thread takes at a time.
const CHUNK: usize = 512;

type Answer = Result<History, Error>;

/// Follows heat in every column; one answer for each, in their order.
///
/// # Errors
/// Per column: a number without physical meaning, or a run that needs more or shorter steps than
/// allowed.
pub fn run(columns: &[Column], settings: &Settings) -> Vec<Result<History, Error>> {
    // Answers are large: each is written once, to its place.
    let mut answers = unanswered(columns);
    columns
        .par_chunks(BLOCK)
        .zip(answers.par_chunks_mut(BLOCK))
        .for_each(|(columns, answers)| {
            run_block(columns, settings, answers);
            solve_again(columns, settings, answers);
        });
    answers
}

/// A place for the answer of every column.
fn unanswered(columns: &[Column]) -> Vec<Answer> {
    columns
        .par_iter()
        .map(|_| Err(HeatProblem::Unsolved.into()))
        .collect()
}

/// Replaces answers that leave a melt depth in doubt by what finer settings give.
fn solve_again(columns: &[Column], settings: &Settings, answers: &mut [Answer]) {
    let doubtful: Vec<usize> = (0..answers.len())
        .filter(|&i| matches!(&answers[i], Ok(it) if settings.most_doubt < it.depth_doubt))
        .collect();
    if doubtful.is_empty() {
        return;
    }
    let again: Vec<Column> = doubtful.iter().map(|&i| columns[i].clone()).collect();
    let mut finer = unanswered(&again);
    run_block(&again, &settings.finer(), &mut finer);
    for (i, finer) in doubtful.into_iter().zip(finer) {
        // A first answer in doubt is better than none.
        if let (Ok(first), Ok(mut finer)) = (&answers[i], finer) {
            finer.first_run = Some(first.counters);
            answers[i] = Ok(finer);
        }
    }
}

/// Puts an answer for every column into its place.
fn run_block(columns: &[Column], settings: &Settings, answers: &mut [Answer]) {
    let mut library = Library::new(settings.memory.clone());
    let materials: Vec<Result<[usize; MOST_BODIES], Error>> = columns
        .iter()
        .map(|column| {
            let ids = library.add(column)?;
            let mut all = [ids.first().copied().unwrap_or(0); MOST_BODIES];
            for (slot, id) in all.iter_mut().zip(ids) {
                *slot = id;
            }
            Ok(all)
        })
        .collect();
    let library = &library;
    let posed: Vec<(&Column, &Result<[usize; MOST_BODIES], Error>)> =
        columns.iter().zip(&materials).collect();
    // Written once for neighbours that differ in their power alone.
    let alike: Vec<&[_]> = posed
        .chunk_by(|a, b| a.0.differs_in_power_alone(b.0))
        .collect();
    let cases: Vec<Result<Arc<Case>, Error>> = alike
        .into_par_iter()
        .flat_map_iter(|alike| {
            let (column, materials) = alike[0];
            let case = match materials {
                Ok(ids) => assemble(column, ids, library, settings).map(Arc::new),
                Err(error) => Err(error.clone()),
            };
            std::iter::repeat_n(case, alike.len())
        })
        .collect();
    let mut order: Vec<(Layout, usize)> = Vec::with_capacity(columns.len());
    for (index, case) in cases.iter().enumerate() {
        match case {
            Ok(case) => order.push((case.layout, index)),
            Err(error) => answers[index] = Err(error.clone()),
        }
    }
    // The longest runs begin first, and are dealt out, so that no thread waits for the others.
    order.sort_unstable_by_key(|&(layout, index)| {
        let passes = columns[index].exposure.passes;
        (layout, Reverse(passes), index)
    });
    // Small batches are split so that every thread has work; the split changes no result.
    let share = order.len().div_ceil(2 * rayon::current_num_threads());
    let chunk = share.next_multiple_of(LANES).clamp(LANES, CHUNK);
    let pieces: Vec<(Layout, Vec<usize>)> = order
        .chunk_by(|a, b| a.0 == b.0)
        .flat_map(|group| {
            let count = group.len().div_ceil(chunk);
            (0..count).map(move |first| {
                let dealt = group.iter().skip(first).step_by(count);
                (group[0].0, dealt.map(|it| it.1).collect())
            })
        })
        .collect();
    let solved: Vec<Vec<(usize, Answer)>> = pieces
        .par_iter()
        .map(|(layout, piece)| {
            let queue = Queue {
                layout: *layout,
                piece,
                columns,
                cases: &cases,
                library,
                settings,
            };
            queue.solve()
        })
        .collect();
    for (index, answer) in solved.into_iter().flatten() {
        answers[index] = answer;
    }
}

/// Cases of one layout waiting for a lane.
struct Queue<'a> {
    layout: Layout,
    piece: &'a [usize],
    columns: &'a [Column],
    cases: &'a [Result<Arc<Case>, Error>],
    library: &'a Library,
    settings: &'a Settings,
}

/// What one thread works with.
struct Bench {
    lanes: Lanes,
    stepper: Stepper,
    watch: Watch,
    /// The case whose equations a lane holds.
    loaded: [Option<usize>; LANES],
    runs: Vec<Option<Run>>,
    films: Vec<Option<FilmCourse>>,
}

impl Queue<'_> {
    fn solve(&self) -> Vec<(usize, Answer)> {
        let layout = self.layout;
        let pool = &self.library.pool.intervals;
        let lanes = Lanes::new(layout);
        let mut bench = Bench {
            stepper: Stepper::new(&lanes),
            lanes,
            watch: Watch::new(layout),
            loaded: [None; LANES],
            runs: vec![None; LANES],
            films: vec![None; LANES],
        };
        let mut waiting = self.piece.iter().copied();
        let mut done = Vec::with_capacity(self.piece.len());
        let first = self.piece[0];
        for lane in 0..LANES {
            match waiting.next() {
                Some(index) => self.load(&mut bench, lane, index),
                // A lane without a case repeats the first one, unwatched.
                None => {
                    self.load(&mut bench, lane, first);
                    bench.runs[lane] = None;
                    bench.films[lane] = None;
                }
            }
        }
        while bench.runs.iter().any(Option::is_some) {
            let stride = stride(&mut bench);
            self.set_films(&mut bench, &stride);
            step::advance(&bench.lanes, &mut bench.stepper, pool, &stride);
            let kept = self.judge(&mut bench);
            watch::commit(
                &mut bench.watch,
                &mut bench.lanes,
                &bench.stepper,
                pool,
                &stride,
                &kept,
            );
            self.note(&mut bench, &kept);
            self.harvest(&mut bench, &mut waiting, &mut done);
        }
        done
    }

    /// One for every lane whose step is kept because its error is allowed, zero for others.
    fn judge(&self, bench: &mut Bench) -> Lane {
        let mut kept = [0.0; LANES];
        for lane in 0..LANES {
            if let Some(run) = &mut bench.runs[lane]
                && let Ok(case) = &self.cases[run.index]
            {
                kept[lane] = f64::from(u8::from(run.judge(case, &bench.stepper, lane)));
            }
        }
        kept
    }

    /// Sets the conductance of every film for the next step, and the light that it lets through.
    fn set_films(&self, bench: &mut Bench, stride: &Stride) {
        let node = bench.lanes.layout.interface().0;
        for lane in 0..LANES {
            if let Some(film) = &mut bench.films[lane]
                && let Some(run) = &mut bench.runs[lane]
                && let Ok(case) = &self.cases[run.index]
            {
                let conductance = film.conductance_w_per_m2_k(stride.step_s[lane]);
                bench.lanes.nodes[node].link[lane] = conductance;
                if let (Some(wetted), Some(share)) = (&case.wetted, run.wetted_share()) {
                    bench.lanes.light(lane, &case.light.towards(wetted, share));
                }
            }
        }
    }

    /// Notes what happened in the steps that are kept.
    fn note(&self, bench: &mut Bench, kept: &Lane) {
        let pool = &self.library.pool;
        for lane in (0..LANES).filter(|&lane| 0.0 < kept[lane]) {
            let Some(run) = &mut bench.runs[lane] else {
                continue;
            };
            let Ok(case) = &self.cases[run.index] else {
                continue;
            };
            run.note(case, &bench.watch, pool, lane);
            let at = self.place(case, &bench.lanes, lane);
            let touching = (bench.films[lane].as_ref()).is_none_or(FilmCourse::touching);
            run.keep(at, touching);
            if let Some(film) = &mut bench.films[lane] {
                film.look(at, run.time_s(), run.abrupt());
                run.hold_step(film.longest_step_s());
                if let (Some(at_s), Some(_)) = (film.wetted_s(), &case.wetted) {
                    run.wet(at_s);
                }
            }
        }
    }

    fn place<'b>(&'b self, case: &'b Case, lanes: &'b Lanes, lane: usize) -> Place<'b> {
        Place {
            case,
            lanes,
            pool: &self.library.pool,
            lane,
        }
    }

    fn load(&self, bench: &mut Bench, lane: usize, index: usize) {
        let Ok(case) = &self.cases[index] else { return };
        let column = &self.columns[index];
        let pool = &self.library.pool;
        // Cases that differ in their power alone have one and the same equations; a film changes those
        // of its lane.
        let same = bench.loaded[lane].is_some_and(|before| {
            self.columns[before].film.is_none()
                && matches!(&self.cases[before], Ok(before) if Arc::ptr_eq(before, case))
        });
        if !same {
            bench.lanes.load(lane, case);
        }
        bench.lanes.start(lane, case);
        bench.loaded[lane] = Some(index);
        let damage = [0, 1].map(|part| column.bodies[column.upper + part].damage.as_deref());
        bench.watch.load(lane, damage, case, &bench.lanes, pool);
        let mut run = Run::new(index, column, case, self.settings);
        let at = self.place(case, &bench.lanes, lane);
        run.keep(at, column.film.is_none());
        bench.runs[lane] = Some(run);
        bench.films[lane] = column.film.as_ref().map(|film| {
            let flow_k = [0, 1].map(|part| {
                let body = &column.bodies[column.upper + part];
                body.thermal.flow_temperature_k.value
            });
            FilmCourse::new(film, flow_k, column.exposure.dwell_s, self.settings, at)
        });
    }

    /// Takes ended cases out of their lanes and puts waiting ones in.
    fn harvest(
        &self,
        bench: &mut Bench,
        waiting: &mut impl Iterator<Item = usize>,
        done: &mut Vec<(usize, Answer)>,
    ) {
        for lane in 0..LANES {
            let ended = bench.runs[lane].as_ref().and_then(|run| {
                let case = self.cases[run.index].as_ref().ok()?;
                run.ending(case, &bench.watch, &self.library.pool, lane)
            });
            let Some(ending) = ended else { continue };
            let Some(run) = bench.runs[lane].take() else {
                continue;
            };
            let index = run.index;
            let film = bench.films[lane].take().map(FilmCourse::end);
            let result = match (ending, &self.cases[index]) {
                (Ending::Answered(stop), Ok(case)) => {
                    let at = self.place(case, &bench.lanes, lane);
                    Ok(run.history(&self.columns[index], at, &bench.watch, stop))
                }
                (Ending::Failed(problem), _) => Err(problem.into()),
                (_, Err(error)) => Err(error.clone()),
            };
            done.push((index, result.map(|it| with_film(it, film))));
            if let Some(next) = waiting.next() {
                self.load(bench, lane, next);
            }
        }
    }
}

/// A history with what became of the film of air.
fn with_film(mut history: History, film: Option<(FilmOutcome, Vec<f64>)>) -> History {
    if let Some((outcome, left_m)) = film {
        history.film = Some(outcome);
        if let Some(record) = &mut history.record {
            record.gap_m = left_m;
        }
    }
    history
}

/// The next step of every lane.
fn stride(bench: &mut Bench) -> Stride {
    let mut stride = Stride {
        step_s: [1.0; LANES],
        irradiance: [0.0; LANES],
        irradiance_slope: [0.0; LANES],
        abrupt: [1.0; LANES],
    };
    for lane in 0..LANES {
        if let Some(run) = &mut bench.runs[lane] {
            let (step_s, light) = run.next_step();
            stride.step_s[lane] = step_s;
            stride.irradiance[lane] = light.irradiance;
            stride.irradiance_slope[lane] = light.slope;
            stride.abrupt[lane] = f64::from(u8::from(run.abrupt()));
        }
    }
    stride
}
