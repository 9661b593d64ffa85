//! Names short enough to stand side by side in a figure, still told apart.
//!
//! Names of files often begin alike and differ at their end. What all have in common is left out;
//! names that are too long even so are cut in the middle; where that would make two alike, numbers
//! stand for all of them. A note says what was done.
//!
//! Checked in: `tests/report/side_by_side.rs`.

use crate::report::font::Weight;
use crate::report::font::width_px;

/// Fewest letters a name keeps when it is cut in the middle.
const LEAST_LETTERS: usize = 6;

/// Fewest letters in common that are worth leaving out.
const LEAST_COMMON: usize = 3;

/// Names as they stand in a figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// One for each name given, in order.
    pub short: Vec<String>,
    /// What was done to them, in a sentence; empty where nothing was.
    pub note: String,
}

/// Room for names in a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Size of the letters, px.
    pub size_px: f64,
    /// Width for one name, px.
    pub width_px: f64,
}

impl Room {
    fn holds(&self, name: &str) -> bool {
        width_px(name, self.size_px, Weight::Regular) <= self.width_px
    }
}

/// `names` for places of the given room; those that fit as they are stay as they are.
///
/// ```
/// use lightseam::report::side_by_side::{Room, names_within};
///
/// let room = Room { size_px: 12.0, width_px: 60.0 };
/// let names = names_within(&["black-masterbatch-lot-01", "black-masterbatch-lot-02"], room);
/// assert_eq!(names.short, ["…lot-01", "…lot-02"]);
/// assert_eq!(names.note, "All names begin with “black-masterbatch-”, left out here.");
/// ```
pub fn names_within(names: &[&str], room: Room) -> Names {
    let whole: Vec<String> = names.iter().map(|it| (*it).to_string()).collect();
    if whole.iter().all(|it| room.holds(it)) && are_different(&whole) {
        return Names {
            short: whole,
            note: String::new(),
        };
    }
    let letters: Vec<Vec<char>> = names.iter().map(|it| it.chars().collect()).collect();
    let options = common_parts(&letters);
    let fitting = options.iter().map(|it| bared(&letters, *it)).find(|it| {
        let (short, _) = it;
        short.iter().all(|it| room.holds(it)) && are_different(short)
    });
    if let Some((short, note)) = fitting {
        return Names { short, note };
    }
    let most = options.last().copied().unwrap_or([0, 0]);
    let (rest, common) = bared(&letters, most);
    let cut: Option<Vec<String>> = rest.iter().map(|it| cut_in_the_middle(it, room)).collect();
    if let Some(short) = cut.filter(|it| are_different(it)) {
        let note = format!("{common} Names too long for their place are cut in the middle.");
        return Names {
            short,
            note: note.trim_start().into(),
        };
    }
    Names {
        short: (1..=names.len()).map(|it| it.to_string()).collect(),
        note: "Numbers stand for the names, in the order of the table.".into(),
    }
}

fn are_different(names: &[String]) -> bool {
    let mut sorted: Vec<&String> = names.iter().collect();
    sorted.sort();
    sorted.windows(2).all(|it| it[0] != it[1])
}

/// How many letters may be left out at the beginning and the end of all names, the fewest first.
fn common_parts(names: &[Vec<char>]) -> Vec<[usize; 2]> {
    let heads = common_heads(names);
    let most = heads.last().copied().unwrap_or(0);
    let rests: Vec<Vec<char>> = names
        .iter()
        .map(|it| it[most..].iter().rev().copied().collect())
        .collect();
    let tail = common_heads(&rests).last().copied();
    let mut all: Vec<[usize; 2]> = heads.iter().map(|it| [*it, 0]).collect();
    if let Some(tail) = tail {
        all.push([0, tail]);
        all.extend(heads.iter().map(|it| [*it, tail]));
    }
    all
}

/// Lengths of what all names begin with, up to every sign that parts words; every name keeps some.
fn common_heads(names: &[Vec<char>]) -> Vec<usize> {
    let [first, others @ ..] = names else {
        return Vec::new();
    };
    if others.is_empty() {
        return Vec::new();
    }
    let shortest = names.iter().map(Vec::len).min().unwrap_or(0);
    let same = (0..shortest.saturating_sub(1))
        .take_while(|&i| others.iter().all(|it| it[i] == first[i]))
        .count();
    let mut heads: Vec<usize> = (0..same)
        .filter(|&i| !first[i].is_alphanumeric())
        .map(|i| i + 1)
        .collect();
    if heads.is_empty() {
        // One word: digits that count the names stay together.
        let word = first[..same].iter().rposition(|it| !it.is_ascii_digit());
        heads.extend(word.map(|it| it + 1));
    }
    heads.retain(|it| LEAST_COMMON <= *it);
    heads
}

/// Names without so many letters at either end, and a sentence that says so.
fn bared(names: &[Vec<char>], [head, tail]: [usize; 2]) -> (Vec<String>, String) {
    let mark = |length: usize| if 0 < length { "…" } else { "" };
    let short = names
        .iter()
        .map(|it| {
            let middle: String = it[head..it.len() - tail].iter().collect();
            format!("{}{middle}{}", mark(head), mark(tail))
        })
        .collect();
    let first: &[char] = names.first().map_or(&[], Vec::as_slice);
    let begin: String = first[..head.min(first.len())].iter().collect();
    let end: String = first[first.len() - tail.min(first.len())..]
        .iter()
        .collect();
    let note = match (begin.is_empty(), end.is_empty()) {
        (true, true) => String::new(),
        (false, true) => format!("All names begin with “{begin}”, left out here."),
        (true, false) => format!("All names end with “{end}”, left out here."),
        (false, false) => {
            format!("All names begin with “{begin}” and end with “{end}”, left out here.")
        }
    };
    (short, note)
}

/// A name with its middle left out; none where too little of it would be left.
fn cut_in_the_middle(name: &str, room: Room) -> Option<String> {
    if room.holds(name) {
        return Some(name.into());
    }
    let letters: Vec<char> = name.chars().collect();
    (LEAST_LETTERS..letters.len()).rev().find_map(|kept| {
        // Names differ at their end more often than at their beginning.
        let head = kept / 3;
        let tail = kept - head;
        let begin: String = letters[..head].iter().collect();
        let end: String = letters[letters.len() - tail..].iter().collect();
        let cut = format!("{begin}…{}", end.trim_start_matches('…'));
        room.holds(&cut).then_some(cut)
    })
}
