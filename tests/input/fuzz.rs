//! Damaged files: whatever is done to a good file, a reader answers or refuses in words, in time.
//!
//! Seeded, so that a failure can be had again: the seed and the text are in its message. With a new
//! seed each time, and on to the weld: `cargo bench --bench fuzz`.

use std::panic::catch_unwind;
use std::time::{Duration, Instant};

use lightseam::error::Error;
use lightseam::input::{jcamp, joint_file, library, spectrum_file};

use super::damage::{COEFFICIENTS, JCAMP, JOINT, TABLE, damaged, renumbered, spliced};
use crate::heat::joints::Dice;

/// Changed copies of every good file, a third of each kind.
const COPIES: usize = 1_200;

/// No file of a few kilobytes may take longer, however it is damaged.
const LONGEST: Duration = Duration::from_secs(2);

/// What a reader says to the bytes of a file.
type Reader = fn(&[u8]) -> Result<(), Error>;

fn all_survive(seed: u64, good: &str, reader: Reader) {
    assert!(reader(good.as_bytes()).is_ok(), "the good file is good");
    let mut dice = Dice(seed);
    let (mut read, mut refused) = (0, 0);
    for copy in 0..COPIES {
        let good = good.as_bytes();
        let bytes = match copy % 3 {
            0 => damaged(good, &mut dice),
            1 => renumbered(good, &mut dice),
            _ => spliced(good, good, &mut dice),
        };
        let shown = String::from_utf8_lossy(&bytes).into_owned();
        let start = Instant::now();
        let answer = catch_unwind(|| reader(&bytes))
            .unwrap_or_else(|_| panic!("panic at copy {copy} of seed {seed}:\n{shown:?}"));
        assert!(start.elapsed() < LONGEST, "slow on {shown:?}");
        match answer {
            Ok(()) => read += 1,
            Err(error) => {
                refused += 1;
                assert!(3 < error.to_string().len(), "{shown:?}");
            }
        }
    }
    // Damage that never hurts, or always, would test nothing.
    assert!(
        0 < read && COPIES / 10 < refused,
        "{read} read, {refused} refused"
    );
}

#[test]
fn joint_files() {
    all_survive(71, JOINT, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        joint_file::parse(&text, "joint.toml", &library::no_files).map(drop)
    });
}

#[test]
fn tables_of_plaques() {
    all_survive(72, TABLE, |bytes| {
        spectrum_file::parse_plaques(bytes, "lid.csv").map(drop)
    });
}

#[test]
fn tables_of_coefficients() {
    all_survive(73, COEFFICIENTS, |bytes| {
        spectrum_file::parse_absorption(bytes, "lid.csv").map(drop)
    });
}

#[test]
fn jcamp_files() {
    let good = JCAMP.replace("900F00JA%JU0kT", "900 600 602 603 604 606");
    all_survive(74, &good, |bytes| {
        jcamp::read(&String::from_utf8_lossy(bytes), "lid.jdx").map(drop)
    });
}
