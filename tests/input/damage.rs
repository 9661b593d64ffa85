//! Good files and what may be done to them: damage, other numbers, pieces of another file.
//!
//! Shared by the seeded tests beside it and the fuzz target `benches/fuzz`.

use crate::heat::joints::Dice;

/// A joint file.
pub const JOINT: &str = r#"
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

/// Plaques as an instrument exports them.
pub const TABLE: &str = "instrument; bench 3\ndate; 2024-05-02\nwavelength [nm];T 1,5 mm total [%];\
                     R 1,5 mm [%]\n900;60,0;9,1\n1000;61,0;9,0\n1100;62,0;8,8\n";

/// A JCAMP-DX file, its first line compressed.
pub const JCAMP: &str = "##TITLE= lid\n##JCAMP-DX= 4.24\n##DATA TYPE= UV/VIS SPECTRUM\n\
                     ##XUNITS= NANOMETERS\n##YUNITS= TRANSMITTANCE\n##FIRSTX= 900\n##LASTX= 909\n\
                     ##DELTAX= 1\n##XFACTOR= 1\n##YFACTOR= 0.001\n##NPOINTS= 10\n##FIRSTY= 0.6\n\
                     ##XYDATA= (X++(Y..Y))\n900F00JA%JU0kT\n905 608 609 610 611 612\n##END=\n";

/// Coefficients of absorption.
pub const COEFFICIENTS: &str =
    "wavelength [nm],absorption [1/mm]\n900,0.60\n1000,0.61\n1100,0.62\n";

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

/// One of `count` places.
pub fn at(dice: &mut Dice, count: usize) -> usize {
    ((dice.next() * count as f64) as usize).min(count.saturating_sub(1))
}

/// One to six strokes: a byte changed, a stretch removed, doubled or moved, a piece put in.
pub fn damaged(good: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = good.to_vec();
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

/// Ends of ranges, and what is no number of this kind.
const NUMBERS: [&str; 12] = [
    "0", "-1", "1e-9", "1e-3", "0.5", "1", "30", "100", "1e3", "1e6", "1e300", "0.999999",
];

/// One to three numbers changed: to an end of a range, or by a factor of up to a thousand either way.
/// What was understood before often still is, and says something else.
pub fn renumbered(good: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = good.to_vec();
    for _ in 0..1 + at(dice, 3) {
        let digit = |it: &u8| it.is_ascii_digit() || *it == b'.';
        let starts: Vec<usize> = (0..bytes.len())
            .filter(|&i| digit(&bytes[i]) && (i == 0 || !digit(&bytes[i - 1])))
            .collect();
        if starts.is_empty() {
            return bytes;
        }
        let start = starts[at(dice, starts.len())];
        let length = bytes[start..].iter().take_while(|it| digit(it)).count();
        let old = String::from_utf8_lossy(&bytes[start..start + length]).parse::<f64>();
        let new = match old {
            Ok(old) if dice.next() < 0.7 => format!("{:.4}", old * dice.log_between(1e-3, 1e3)),
            _ => NUMBERS[at(dice, NUMBERS.len())].into(),
        };
        bytes.splice(start..start + length, new.bytes());
    }
    bytes
}

/// Lines of one file in another: the end of it, one line put in, or one line in place of another.
pub fn spliced(first: &[u8], second: &[u8], dice: &mut Dice) -> Vec<u8> {
    let lines = |it: &[u8]| -> Vec<Vec<u8>> { it.split(|&b| b == b'\n').map(Vec::from).collect() };
    let (mut own, other) = (lines(first), lines(second));
    let (here, there) = (at(dice, own.len()), at(dice, other.len()));
    match at(dice, 3) {
        0 => {
            own.truncate(here);
            own.extend_from_slice(&other[there..]);
        }
        1 => own.insert(here, other[there].clone()),
        _ => own[here] = other[there].clone(),
    }
    own.join(&b'\n')
}
