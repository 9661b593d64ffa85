//! The fuzz target: damaged, renumbered and spliced files through every reader, and what is accepted
//! on to the weld, for a stated time and with a new seed each time.
//!
//! `cargo bench --bench fuzz -- seconds=20` draws its seed from the clock and prints it;
//! `seed=123` gives the same inputs again, in the same order; `most=5000` ends after so many.
//! `target=joint file=bad.toml` sends one file.
//!
//! Each input must be answered or refused in words, in time, without a number that is none. The first
//! that is not is printed, escaped, with the seed, and ends the run with code 1. A stack that runs
//! over ends it too, without the text: the seed is printed first for that.
//!
//! No instrument looks into the program. An input is kept, to be changed further, where what was said
//! about it is new: the kind of the problem and its cure without quotations and numbers, or of an
//! accepted file how it would be welded, its remarks, the verdict and the warnings.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

#[path = "../../tests/heat"]
#[allow(dead_code)]
mod heat {
    pub mod joints;
}

#[path = "../../tests/input"]
mod input {
    pub mod damage;
}

#[path = "../../tests/weld"]
mod weld {
    pub mod sensible;
}

mod targets;

use std::collections::HashSet;
use std::panic::{self, AssertUnwindSafe};
use std::process::exit;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use heat::joints::Dice;
use input::damage::{at, damaged, renumbered, spliced};
use targets::{Said, TARGETS, Target, Weld};

/// No file of a few kilobytes may take longer to read, and no weld to be followed: far above what
/// any takes on a busy machine.
const LONGEST: Duration = Duration::from_secs(60);

/// Longer inputs are cut: growth without end finds nothing.
const MOST_BYTES: usize = 16_384;

/// Kept inputs of one target; beyond it a new one takes the place of an old one.
const MOST_KEPT: usize = 1_000;

/// Share of inputs that goes to the first target, the joint file; the rest is dealt evenly.
const FIRST: f64 = 0.3;

/// Of accepted joints these shares are welded, without scattering and with it, to leave time for
/// reading.
const WELDED: [f64; 2] = [0.2, 0.002];

/// What is running: since when, and the words to repeat it by.
type Running = Arc<Mutex<Option<(Instant, String)>>>;

/// The inputs of one target: the good files first, then what said something new.
struct Corpus {
    target: &'static Target,
    inputs: Vec<Vec<u8>>,
    beginning: usize,
    /// Places of those that were accepted.
    good: Vec<usize>,
    said: HashSet<String>,
    sent: usize,
    accepted: usize,
    welded: usize,
}

impl Corpus {
    fn new(target: &'static Target) -> Self {
        let inputs = (target.begin)();
        Corpus {
            target,
            beginning: inputs.len(),
            inputs,
            good: Vec::new(),
            said: HashSet::new(),
            sent: 0,
            accepted: 0,
            welded: 0,
        }
    }

    /// One to three changes to one of the inputs, mostly to one that was understood and such that it
    /// still is.
    fn next(&self, dice: &mut Dice) -> Vec<u8> {
        let any = at(dice, self.inputs.len());
        let place = if self.good.is_empty() || dice.next() < 0.2 {
            any
        } else {
            self.good[at(dice, self.good.len())]
        };
        let mut bytes = self.inputs[place].clone();
        for _ in 0..1 + at(dice, 6).saturating_sub(3) {
            bytes = match at(dice, 5) {
                0 => damaged(&bytes, dice),
                1 => {
                    let other = &self.inputs[at(dice, self.inputs.len())];
                    spliced(&bytes, other, dice)
                }
                _ => renumbered(&bytes, dice),
            };
        }
        bytes.truncate(MOST_BYTES);
        bytes
    }

    /// Counts what was said, and keeps the input where that is new. `place` is that of a file of the
    /// beginning.
    fn heard(&mut self, said: Said, bytes: Vec<u8>, place: Option<usize>, dice: &mut Dice) {
        self.sent += 1;
        self.accepted += usize::from(said.accepted);
        self.welded += usize::from(said.welded);
        let new = self.said.insert(said.words);
        let place = match place {
            Some(place) => place,
            None if !new => return,
            None if self.inputs.len() < MOST_KEPT => {
                self.inputs.push(bytes);
                self.inputs.len() - 1
            }
            None => {
                let place = at(dice, MOST_KEPT);
                self.inputs[place] = bytes;
                self.good.retain(|it| *it != place);
                place
            }
        };
        if said.accepted {
            self.good.push(place);
        }
    }
}

/// Sends an input and returns what was said, or what is wrong with the answer.
fn send(
    target: &Target,
    bytes: &[u8],
    weld: Weld,
    words: String,
    running: &Running,
) -> Result<Said, String> {
    let lock = || running.lock().unwrap_or_else(PoisonError::into_inner);
    *lock() = Some((Instant::now(), words));
    let answer = panic::catch_unwind(AssertUnwindSafe(|| target.send(bytes, weld)));
    *lock() = None;
    answer.unwrap_or_else(|_| Err("panic".into()))
}

/// Ends the program where one input takes too long.
fn watch(running: Running) {
    thread::spawn(move || {
        loop {
            thread::sleep(Duration::from_millis(200));
            let now = running.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some((since, words)) = now.as_ref()
                && LONGEST < since.elapsed()
            {
                println!("FAILED: longer than {LONGEST:?}\n{words}");
                exit(1);
            }
        }
    });
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let given = |name: &str| {
        let find = |it: &String| Some(it.strip_prefix(name)?.strip_prefix('=')?.to_string());
        words.iter().find_map(find)
    };
    let number = |name: &str| given(name).map(|it| it.parse::<u64>().unwrap());
    let only = given("target");
    let targets = TARGETS
        .iter()
        .filter(|it| only.as_ref().is_none_or(|only| only == it.name));
    let running = Running::default();
    watch(Arc::clone(&running));
    if let Some(file) = given("file") {
        let bytes = std::fs::read(&file).unwrap();
        for target in targets {
            let said = send(target, &bytes, Weld::Followed, file.clone(), &running);
            println!("{}: {said:#?}", target.name);
            if said.is_err() {
                exit(1);
            }
        }
        return;
    }
    let clock = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    let seed = number("seed").unwrap_or(clock.as_nanos() as u64);
    let time = Duration::from_secs(number("seconds").unwrap_or(20));
    let most = number("most").map_or(usize::MAX, |it| it as usize);
    println!("seed={seed}, {} s", time.as_secs());
    // The generator wants a state between 1 and 2³¹ − 2.
    let mut dice = Dice(1 + seed % 2_147_483_645);
    let mut corpora: Vec<Corpus> = targets.map(Corpus::new).collect();
    let start = Instant::now();
    let mut slowest = (Duration::ZERO, String::new());
    let mut sent = 0;
    while start.elapsed() < time && sent < most {
        sent += 1;
        let which = if dice.next() < FIRST {
            0
        } else {
            at(&mut dice, corpora.len())
        };
        let corpus = &mut corpora[which];
        // The files of the beginning first, as they are.
        let place = Some(corpus.sent).filter(|it| *it < corpus.beginning);
        let bytes = match place {
            Some(place) => corpus.inputs[place].clone(),
            None => corpus.next(&mut dice),
        };
        let weld = match dice.next() {
            it if it < WELDED[1] => Weld::Followed,
            it if it < WELDED[0] => Weld::Clear,
            _ => Weld::Posed,
        };
        let words = format!(
            "seed={seed}, input {sent}, target={}, {weld:?}:\nb\"{}\"",
            corpus.target.name,
            bytes.escape_ascii()
        );
        let since = Instant::now();
        let said = send(corpus.target, &bytes, weld, words.clone(), &running);
        if slowest.0 < since.elapsed() {
            slowest = (since.elapsed(), words.clone());
        }
        match said {
            Err(what) => {
                println!("FAILED: {what}\n{words}");
                exit(1);
            }
            Ok(said) => corpus.heard(said, bytes, place, &mut dice),
        }
    }
    for it in &corpora {
        println!(
            "{:<13} {:>7} inputs, {:>6} accepted, {:>5} welded, {:>4} different answers",
            it.target.name,
            it.sent,
            it.accepted,
            it.welded,
            it.said.len()
        );
    }
    let place = slowest.1.lines().next().unwrap_or_default();
    println!("slowest: {:.1?}, {place}", slowest.0);
    // Damage that never hurts, or always, would test nothing.
    for it in corpora.iter().filter(|it| 2_000 < it.sent) {
        assert!(
            0 < it.accepted && it.accepted < it.sent,
            "{}",
            it.target.name
        );
    }
}
