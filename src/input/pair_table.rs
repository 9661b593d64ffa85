//! The tables of `spectra/pairs/` that come with the program.

use std::sync::LazyLock;

use crate::error::{Error, InputProblem, Place};
use crate::material::compatibility::{Compatibility, PairRow, Pairs};
use crate::material::{Material, Status};

/// Names and contents.
const WELDING: (&str, &str) = (
    "spectra/pairs/fusion-welding.csv",
    include_str!("../../spectra/pairs/fusion-welding.csv"),
);
const SOLUBILITY: (&str, &str) = (
    "spectra/pairs/solubility.csv",
    include_str!("../../spectra/pairs/solubility.csv"),
);

/// Two materials side by side, by the tables that come with the program: the one place where a pair
/// is looked up.
///
/// # Errors
/// A table that comes with the program cannot be read: a fault of the program.
pub fn of(upper: &Material, lower: &Material) -> Result<Compatibility, Error> {
    Ok(Compatibility::of(upper, lower, pairs()?))
}

/// Published pairs and solubility parameters, read once.
fn pairs() -> Result<&'static Pairs, Error> {
    static PAIRS: LazyLock<Result<Pairs, Error>> = LazyLock::new(tables);
    PAIRS.as_ref().map_err(Clone::clone)
}

fn tables() -> Result<Pairs, Error> {
    let mut pairs = Pairs {
        solubility_source: SOLUBILITY_SOURCE.into(),
        ..Pairs::default()
    };
    for (place, row) in rows(WELDING)? {
        let [first, second, word, source, status] = &row[..] else {
            return Err(broken("five columns", &row).at(place));
        };
        let status = Status::WORDS
            .iter()
            .find_map(|(it, word)| (word == status).then_some(*it))
            .ok_or_else(|| broken("a status", &row).at(place))?;
        pairs.rows.push(PairRow {
            pair: [first.clone(), second.clone()],
            word: word.clone(),
            source: source.clone(),
            status,
        });
    }
    for (place, row) in rows(SOLUBILITY)? {
        let numbers: Vec<f64> = row
            .iter()
            .skip(1)
            .filter_map(|it| it.parse().ok())
            .collect();
        let (Some(name), [least, most]) = (row.first(), &numbers[..]) else {
            return Err(broken("a polymer and two numbers", &row).at(place));
        };
        pairs.solubility.push((name.clone(), *least, *most));
    }
    Ok(pairs)
}

/// Source of the solubility parameters, as reports print it.
const SOLUBILITY_SOURCE: &str =
    "D. W. van Krevelen and K. te Nijenhuis, Properties of Polymers (2009), ch. 7 (from memory)";

/// A row and where it stands.
type Row = (Place, Vec<String>);

fn rows((file, text): (&str, &str)) -> Result<Vec<Row>, Error> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|it| broken(&it.to_string(), &[]))?;
        let line = record.position().map(|it| it.line() as usize);
        let place = Place {
            file: file.into(),
            line,
            column: None,
        };
        rows.push((place, record.iter().map(str::to_string).collect()));
    }
    Ok(rows)
}

fn broken(needed: &str, row: &[String]) -> Error {
    Error::new(InputProblem::WrongType {
        key: "a row".into(),
        found: row.join(","),
        needed: needed.into(),
    })
}
