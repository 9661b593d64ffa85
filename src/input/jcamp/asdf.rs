//! Ordinates of `(X++(Y..Y))`: plain numbers and the standard's shorter forms.
//!
//! | form | first character of a number | meaning |
//! |---|---|---|
//! | AFFN, PAC | digit, sign or point | the number itself |
//! | SQZ | `@ A`…`I a`…`i` | 0, +1…+9, −1…−9, then more digits |
//! | DIF | `% J`…`R j`…`r` | the same, as difference from the ordinate before |
//! | DUP | `S`…`Z s` | the number before stands 1…9 times in all |
//!
//! A line that follows one which ended in a difference begins with the last ordinate of that line
//! once more, as a check.
//!
//! Source: R. S. McDonald and P. A. Wilks, Appl. Spectrosc. 42 (1988) 151, sections 5.2 to 5.10 and
//! Table VII.

/// Most points a spectrum may have, so that a damaged repeat count cannot fill the memory.
pub const MOST_POINTS: usize = 10_000_000;

/// Where a line's first ordinate belongs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineStart {
    /// Line, counted from 1.
    pub line: usize,
    /// Abscissa as written.
    pub x: f64,
    /// Smallest step the abscissa is written with.
    pub x_digit: f64,
    /// Ordinates before the line.
    pub before: usize,
    /// True where the line begins with a repeated ordinate, which its abscissa belongs to.
    pub repeats: bool,
}

/// Decoded ordinates; none where the file marks one as missing by `?`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ordinates {
    /// The ordinates, not scaled.
    pub values: Vec<Option<f64>>,
    /// Starts of the lines, to be checked against the abscissa.
    pub starts: Vec<LineStart>,
    /// The last line repeats an ordinate of 0 in place of the one reached, as some writers do when
    /// they have nothing left to check.
    pub ends_unchecked: bool,
}

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// Text that is not what must stand there.
    Bad {
        /// The text.
        found: String,
        /// What must stand there.
        must: &'static str,
    },
    /// The repeated ordinate differs.
    Check {
        /// Ordinate written.
        found: f64,
        /// Ordinate reached.
        expected: f64,
    },
}

/// One step of decoding.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Token {
    Value(f64),
    Difference(f64),
    Repeat(f64),
    Missing,
}

/// What the last number was, for a repeat that may follow.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Last {
    Nothing,
    Value(f64),
    Difference(f64),
    Missing,
}

/// Decodes numbered lines.
///
/// # Errors
/// The line at fault, and what is wrong with it.
pub fn decode(lines: &[(usize, &str)]) -> Result<Ordinates, (usize, Fault)> {
    let mut found = Ordinates::default();
    let mut last = Last::Nothing;
    for (index, &(line, text)) in lines.iter().enumerate() {
        let mut rest = Rest {
            text: text.trim_start(),
        };
        let (x, x_digit) = rest.abscissa().map_err(|fault| (line, fault))?;
        let repeats = matches!(last, Last::Difference(_));
        if repeats && index + 1 == lines.len() && rest.text.trim() == "@" {
            found.ends_unchecked = found.values.last() != Some(&Some(0.0));
            break;
        }
        found.starts.push(LineStart {
            line,
            x,
            x_digit,
            before: found.values.len(),
            repeats,
        });
        last = found
            .decode_line(&mut rest, repeats)
            .map_err(|fault| (line, fault))?;
    }
    Ok(found)
}

impl Ordinates {
    /// Decodes the ordinates of one line; the first only repeats the last one where `repeats`.
    fn decode_line(&mut self, rest: &mut Rest, repeats: bool) -> Result<Last, Fault> {
        let mut last = Last::Nothing;
        let mut first = repeats;
        while let Some((token, text)) = rest.token()? {
            let bad = |must| Fault::Bad {
                found: text.to_owned(),
                must,
            };
            match token {
                Token::Value(value) if first => {
                    let expected = self.values.last().copied().flatten().unwrap_or(value);
                    if value != expected {
                        return Err(Fault::Check {
                            found: value,
                            expected,
                        });
                    }
                    last = Last::Value(value);
                }
                Token::Value(value) => {
                    self.values.push(Some(value));
                    last = Last::Value(value);
                }
                Token::Missing => {
                    self.values.push(None);
                    last = Last::Missing;
                }
                Token::Difference(step) => {
                    let before = match last {
                        Last::Value(_) | Last::Difference(_) => {
                            self.values.last().copied().flatten()
                        }
                        Last::Nothing | Last::Missing => None,
                    };
                    let before = before.ok_or_else(|| bad("an ordinate a line can begin with"))?;
                    self.values.push(Some(before + step));
                    last = Last::Difference(step);
                }
                Token::Repeat(times) => {
                    if times < 1.0 || (MOST_POINTS - self.values.len()) as f64 <= times {
                        return Err(bad("a possible number of repeats"));
                    }
                    for _ in 1..times as usize {
                        let next = match last {
                            Last::Nothing => {
                                return Err(bad("an ordinate that could be repeated"));
                            }
                            Last::Value(value) => Some(value),
                            Last::Missing => None,
                            Last::Difference(step) => {
                                let before = self.values.last().copied().flatten();
                                before.map(|before| before + step)
                            }
                        };
                        self.values.push(next);
                    }
                }
            }
            first = false;
            if MOST_POINTS <= self.values.len() {
                return Err(bad("within ten million points"));
            }
        }
        Ok(last)
    }
}

/// What is left of a line.
struct Rest<'a> {
    text: &'a str,
}

impl<'a> Rest<'a> {
    /// The abscissa at the start of a line and the smallest step it is written with.
    fn abscissa(&mut self) -> Result<(f64, f64), Fault> {
        let length = plain_number(self.text);
        let number = self.take(length);
        let digits = number.split(['E', 'e']).next().unwrap_or("");
        let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
        let power = number
            .split_once(['E', 'e'])
            .and_then(|(_, power)| power.parse::<i32>().ok())
            .unwrap_or(0);
        let value = number.parse::<f64>().ok().filter(|it| it.is_finite());
        let digit = 10f64.powi(power.saturating_sub(i32::try_from(decimals).unwrap_or(i32::MAX)));
        value.map(|value| (value, digit)).ok_or_else(|| Fault::Bad {
            found: self.start_of(number),
            must: "the abscissa a line begins with",
        })
    }

    /// The next number or repeat and its text; none at the end of the line.
    fn token(&mut self) -> Result<Option<(Token, &'a str)>, Fault> {
        self.text = self
            .text
            .trim_start_matches(|c: char| c.is_whitespace() || c == ',' || c == ';');
        let Some(first) = self.text.chars().next() else {
            return Ok(None);
        };
        if first == '?' {
            return Ok(Some((Token::Missing, self.take(1))));
        }
        if first.is_ascii_digit() || matches!(first, '+' | '-' | '.') {
            let length = plain_number(self.text);
            let number = self.take(length.max(1));
            let value = number.parse::<f64>().ok().filter(|it| it.is_finite());
            return match value {
                Some(value) => Ok(Some((Token::Value(value), number))),
                None => Err(self.no_ordinate(number)),
            };
        }
        let Some((kind, sign, digit)) = pseudo_digit(first) else {
            let found = self.take(first.len_utf8());
            return Err(self.no_ordinate(found));
        };
        let more = self.text[1..]
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .map_or(self.text.len(), |end| end + 1);
        let text = self.take(more);
        let magnitude = format!("{digit}{}", &text[1..]).parse::<f64>().ok();
        match magnitude.filter(|it| it.is_finite()) {
            Some(magnitude) => Ok(Some((kind(sign * magnitude), text))),
            None => Err(self.no_ordinate(text)),
        }
    }

    fn take(&mut self, length: usize) -> &'a str {
        let (taken, rest) = self.text.split_at(length);
        self.text = rest;
        taken
    }

    fn no_ordinate(&self, found: &str) -> Fault {
        Fault::Bad {
            found: self.start_of(found),
            must: "an ordinate",
        }
    }

    /// The text in question and a little of what follows it.
    fn start_of(&self, found: &str) -> String {
        found.chars().chain(self.text.chars()).take(12).collect()
    }
}

/// Length of the number at the start of `text` in free format: sign, digits and point, and a power
/// of ten only where E is followed by a sign and digits, since E alone is a squeezed 5.
fn plain_number(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits_from = |start: usize, point: bool| {
        let more = bytes[start.min(bytes.len())..]
            .iter()
            .take_while(|it| it.is_ascii_digit() || (point && **it == b'.'))
            .count();
        start + more
    };
    let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let end = digits_from(sign, true);
    if end == sign {
        return 0;
    }
    let is_power = matches!(bytes.get(end), Some(b'E' | b'e'))
        && matches!(bytes.get(end + 1), Some(b'+' | b'-'))
        && bytes.get(end + 2).is_some_and(u8::is_ascii_digit);
    if is_power {
        digits_from(end + 2, false)
    } else {
        end
    }
}

/// Makes a token of its number.
type Kind = fn(f64) -> Token;

/// Kind, sign and value of a character that stands for a first digit.
fn pseudo_digit(character: char) -> Option<(Kind, f64, u8)> {
    let (value, difference, repeat): (Kind, Kind, Kind) =
        (Token::Value, Token::Difference, Token::Repeat);
    let byte = u8::try_from(character).ok()?;
    Some(match byte {
        b'@' => (value, 1.0, 0),
        b'A'..=b'I' => (value, 1.0, byte - b'A' + 1),
        b'a'..=b'i' => (value, -1.0, byte - b'a' + 1),
        b'%' => (difference, 1.0, 0),
        b'J'..=b'R' => (difference, 1.0, byte - b'J' + 1),
        b'j'..=b'r' => (difference, -1.0, byte - b'j' + 1),
        b'S'..=b'Z' => (repeat, 1.0, byte - b'S' + 1),
        b's' => (repeat, 1.0, 9),
        _ => return None,
    })
}
