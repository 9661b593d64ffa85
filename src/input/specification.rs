//! Limits as people write them, `"T >= 30 %"` or `"L <= 26"`, to limits of characteristics.

use crate::error::{ColourProblem, Error};
use crate::input::document::nearest_or_list;
use crate::input::quantity::{Dimension, Field};
use crate::study::specification::{Characteristic, Specified};

/// What a limit of a characteristic is checked against.
fn field(characteristic: Characteristic) -> Field {
    let of = |what, dimension, least, most, example| Field {
        what,
        dimension,
        least,
        most,
        example,
    };
    let (number, share) = (Dimension::Number, Dimension::Fraction);
    match characteristic {
        Characteristic::Lightness => of("L*", number, "0", "200", "26"),
        Characteristic::RedGreen => of("a*", number, "-300", "300", "0.5"),
        Characteristic::YellowBlue => of("b*", number, "-300", "300", "-0.5"),
        Characteristic::Difference => of("dE00", number, "0", "200", "1"),
        Characteristic::Opacity => of("opacity", share, "0 %", "200 %", "98 %"),
        Characteristic::Transmittance => of("T", share, "0 %", "100 %", "30 %"),
        Characteristic::Retained => of("retained transmission", share, "0 %", "200 %", "70 %"),
        Characteristic::Extinction => of(
            "extinction",
            Dimension::PerLength,
            "0 /mm",
            "1000 /mm",
            "0.5 /mm",
        ),
        Characteristic::Latitude => of("latitude", number, "0", "1000", "1.3"),
    }
}

/// Reads limits; two limits of one characteristic become one with both ends.
///
/// ```
/// use lightseam::input::specification::parse;
///
/// let found = parse(&["T >= 30 %", "L <= 26", "L >= 20"])?;
/// assert_eq!(found[0].limits.least, Some(0.3));
/// assert_eq!((found[1].limits.least, found[1].limits.most), (Some(20.0), Some(26.0)));
/// # Ok::<(), lightseam::error::Error>(())
/// ```
///
/// # Errors
/// No sign, an unknown name, a bad value, the same limit twice, or a least above a greatest value.
pub fn parse<T: AsRef<str>>(texts: &[T]) -> Result<Vec<Specified>, Error> {
    let mut found: Vec<Specified> = Vec::new();
    for text in texts {
        let text = text.as_ref();
        let (name, least, value) = split(text)?;
        let keys: Vec<&str> = Characteristic::ALL.iter().map(|it| it.key()).collect();
        let characteristic = Characteristic::ALL
            .into_iter()
            .find(|it| it.key().eq_ignore_ascii_case(name))
            .ok_or_else(|| {
                Error::new(ColourProblem::UnknownLimit {
                    limit: text.trim().into(),
                    name: name.into(),
                })
                .cure(nearest_or_list(name, &keys))
            })?;
        let value = field(characteristic).parse(value)?;
        let at = found
            .iter()
            .position(|it| it.characteristic == characteristic)
            .unwrap_or_else(|| {
                found.push(Specified {
                    characteristic,
                    limits: Default::default(),
                });
                found.len() - 1
            });
        let limits = &mut found[at].limits;
        let end = if least {
            &mut limits.least
        } else {
            &mut limits.most
        };
        if end.replace(value).is_some() {
            return Err(Error::new(ColourProblem::LimitTwice {
                limit: text.trim().into(),
                name: characteristic.key().into(),
                sign: if least { ">=" } else { "<=" },
            })
            .cure("keep one of the two"));
        }
        let crossed = limits
            .least
            .zip(limits.most)
            .is_some_and(|(least, most)| most < least);
        if crossed {
            return Err(Error::new(ColourProblem::LimitsDisagree {
                limit: text.trim().into(),
            })
            .cure("give a least value (>=) below the greatest (<=)"));
        }
    }
    Ok(found)
}

/// Name, whether the limit is a least value, and the value.
fn split(text: &str) -> Result<(&str, bool, &str), Error> {
    [(">=", true), ("≥", true), ("<=", false), ("≤", false)]
        .into_iter()
        .find_map(|(sign, least)| {
            let (name, value) = text.split_once(sign)?;
            Some((name.trim(), least, value.trim()))
        })
        .ok_or_else(|| {
            Error::new(ColourProblem::LimitWithoutSign {
                limit: text.trim().into(),
            })
            .cure("write a name, >= or <=, and a value, such as \"T >= 30 %\" or \"dE00 <= 1\"")
        })
}
