//! Damaged files: whatever is done to a good file, a reader answers or refuses in words, in time.
//!
//! Seeded, so that a failure can be had again: the seed and the text are in its message.

use std::panic::catch_unwind;
use std::time::{Duration, Instant};

use lightseam::error::Error;
use lightseam::input::{jcamp, joint_file, library, spectrum_file};

use crate::heat::joints::Dice;

/// Damaged copies of every good file.
const COPIES: usize = 400;

/// No file of a few kilobytes may take longer, however it is damaged.
const LONGEST: Duration = Duration::from_secs(2);

const JOINT: &str = r#"
question = "Does it hold?"
upper = { material = "pa6", thickness = "1.5 mm" }
lower = { material = "pa6", thickness = "3 mm", absorber = { kind = "carbon black", content = "0.3 %" } }
contact = { gap = "50 um" }
[beam]
wavelength = "980 nm"
length = "1 mm"
width = "1 mm"
power = "20 W"
[motion]
mode = "contour"
speed = "50 mm/s"
[machine]
power = ["1 W", "40 W"]
speed = ["5 mm/s", "200 mm/s"]
"#;

const TABLE: &str = "instrument; bench 3\ndate; 2024-05-02\nwavelength [nm];T 1,5 mm total [%];\
                     R 1,5 mm [%]\n900;60,0;9,1\n1000;61,0;9,0\n1100;62,0;8,8\n";

const JCAMP: &str = "##TITLE= lid\n##JCAMP-DX= 4.24\n##DATA TYPE= UV/VIS SPECTRUM\n\
                     ##XUNITS= NANOMETERS\n##YUNITS= TRANSMITTANCE\n##FIRSTX= 900\n##LASTX= 909\n\
                     ##DELTAX= 1\n##XFACTOR= 1\n##YFACTOR= 0.001\n##NPOINTS= 10\n##FIRSTY= 0.6\n\
                     ##XYDATA= (X++(Y..Y))\n900F00JA%JU0kT\n905 608 609 610 611 612\n##END=\n";

/// What damage likes to insert: ends of ranges, signs of every format, letters of many bytes.
const PIECES: [&str; 24] = [
    "\"",
    "'",
    "[",
    "]",
    "{",
    "}",
    "=",
    "##",
    "$$",
    "\n",
    "\r",
    "\t",
    ";",
    ",",
    "nan",
    "inf",
    "-1e999",
    "1e-320",
    "99999999999999999999",
    "\u{0}",
    "µm",
    "\u{feff}",
    "%",
    "##END=",
];

fn at(dice: &mut Dice, count: usize) -> usize {
    ((dice.next() * count as f64) as usize).min(count.saturating_sub(1))
}

/// One to six strokes: a byte changed, a stretch removed, doubled or moved, a piece put in.
fn damaged(good: &str, dice: &mut Dice) -> Vec<u8> {
    let mut bytes = good.as_bytes().to_vec();
    for _ in 0..1 + at(dice, 6) {
        let here = at(dice, bytes.len());
        let length = 1 + at(dice, 24);
        let stretch = here..(here + length).min(bytes.len());
        match at(dice, 6) {
            0 if !bytes.is_empty() => bytes[here] = at(dice, 256) as u8,
            1 => drop(bytes.drain(stretch)),
            2 => {
                let copy = bytes[stretch].to_vec();
                bytes.splice(here..here, copy);
            }
            3 => {
                let taken: Vec<u8> = bytes.drain(stretch).collect();
                let there = at(dice, bytes.len() + 1).min(bytes.len());
                bytes.splice(there..there, taken);
            }
            4 => bytes.truncate(here),
            _ => {
                let piece = PIECES[at(dice, PIECES.len())];
                bytes.splice(here..here, piece.bytes());
            }
        }
    }
    bytes
}

/// What a reader says to the bytes of a file.
type Reader = fn(&[u8]) -> Result<(), Error>;

fn all_survive(seed: u64, good: &str, reader: Reader) {
    assert!(reader(good.as_bytes()).is_ok(), "the good file is good");
    let mut dice = Dice(seed);
    let (mut read, mut refused) = (0, 0);
    for copy in 0..COPIES {
        let bytes = damaged(good, &mut dice);
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
    let good = "wavelength [nm],absorption [1/mm]\n900,0.60\n1000,0.61\n1100,0.62\n";
    all_survive(73, good, |bytes| {
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
