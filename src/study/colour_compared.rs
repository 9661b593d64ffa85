//! By which of their colours batches are compared: one that all have, or most.
//!
//! | reflectances of the batches (of kinds the standard has, where there is one) | compared by |
//! |---|---|
//! | all have one kind | the first such; a remark where most have one before it |
//! | more than half have one kind, or half of them and the standard | that; the others are left out |
//! | fewer than half have any, and more than half a transmittance | transmittance; the others are left out |
//! | else | refused |
//!
//! Light that comes through a black is next to none, so that all blacks look alike in it: it never
//! takes the place of a reflectance because one file has no other.
//!
//! Checked in: `tests/study/colours.rs`, `tests/cli/batches.rs`.

use crate::error::{ColourProblem, Error};
use crate::study::colours::{Colour, Sample, Seen};

/// Colours reflected, in the order of preference.
const REFLECTED: [Seen; 3] = [Seen::OverBlack, Seen::Alone, Seen::OverWhite];

/// What batches are compared by.
pub(crate) struct Compared {
    pub seen: Seen,
    /// Where it is not what most of them would be compared by.
    pub remark: Option<String>,
    /// Files without it.
    pub left_out: Vec<(String, Error)>,
}

/// True where a colour is among those of a sample.
pub(crate) fn has(colours: &[Colour], seen: Seen) -> bool {
    colours.iter().any(|it| it.seen == seen)
}

/// The colour that all batches have, or most of them.
///
/// # Errors
/// None stands for most of them, or the standard has none of theirs.
pub(crate) fn common(
    samples: &[&Sample],
    all: &[Vec<Colour>],
    standard: Option<&(&Sample, Vec<Colour>)>,
) -> Result<Compared, Error> {
    let in_standard = |seen: Seen| standard.is_none_or(|it| has(&it.1, seen));
    let count = |seen: Seen| all.iter().filter(|it| has(it, seen)).count();
    let most = |count: usize| all.len() < 2 * count;
    let reflected: Vec<Seen> = REFLECTED
        .into_iter()
        .filter(|it| in_standard(*it))
        .collect();
    let first =
        |fits: &dyn Fn(usize) -> bool| reflected.iter().copied().find(|it| fits(count(*it)));
    let of_most = first(&most);
    let of_all = first(&|it| it == all.len());
    let with_standard = || first(&|it| standard.is_some() && all.len() == 2 * it);
    let transmitted = || {
        let any = |it: &&Vec<Colour>| reflected.iter().any(|seen| has(it, *seen));
        let few = 2 * all.iter().filter(any).count() < all.len();
        (few && in_standard(Seen::Transmitted) && most(count(Seen::Transmitted)))
            .then_some(Seen::Transmitted)
    };
    let seen = of_all
        .or(of_most)
        .or_else(with_standard)
        .or_else(transmitted)
        .ok_or_else(|| unlike(samples, all, standard))?;
    let without = |seen: Seen| {
        let of = samples.iter().zip(all);
        of.filter(move |it| !has(it.1, seen))
    };
    let remark = of_most.filter(|it| *it < seen).map(|usual| {
        let files: Vec<&str> = without(usual).map(|it| it.0.file.as_str()).collect();
        let more = match files.len() - 1 {
            0 => String::new(),
            more => format!(" (and {more} more)"),
        };
        format!(
            "colours are compared by {}, which all files have; {}{more} has no {}",
            seen.words(),
            files[0],
            usual.words()
        )
    });
    let left_out = without(seen)
        .map(|(sample, colours)| {
            let error = Error::new(ColourProblem::NotCompared {
                file: sample.file.clone(),
                missing: seen.words().into(),
                found: words(colours),
            });
            let error = error.at(sample.place()).cure(
                "measure it as the others, or name files that were measured alike in a call of their own",
            );
            (sample.file.clone(), error)
        })
        .collect();
    Ok(Compared {
        seen,
        remark,
        left_out,
    })
}

fn words(colours: &[Colour]) -> String {
    let words: Vec<&str> = colours.iter().map(|it| it.seen.words()).collect();
    words.join(", ")
}

/// Two files that cannot be compared.
fn unlike(
    samples: &[&Sample],
    all: &[Vec<Colour>],
    standard: Option<&(&Sample, Vec<Colour>)>,
) -> Error {
    let lists: Vec<(&Sample, &Vec<Colour>)> = samples
        .iter()
        .copied()
        .zip(all)
        .chain(standard.map(|(sample, colours)| (*sample, colours)))
        .collect();
    let (first, of_first) = lists[0];
    let nothing_alike =
        |it: &&(&Sample, &Vec<Colour>)| !of_first.iter().any(|own| has(it.1, own.seen));
    let (other, of_other) = lists
        .iter()
        .find(nothing_alike)
        .or_else(|| lists.iter().find(|it| words(it.1) != words(of_first)))
        .copied()
        .unwrap_or(lists[lists.len() - 1]);
    Error::new(ColourProblem::MeasuredOtherwise {
        file: other.file.clone(),
        found: words(of_other),
        first_file: first.file.clone(),
        first: words(of_first),
    })
    .at(other.place())
    .cure("measure all plaques, and the standard, in the same way")
}
