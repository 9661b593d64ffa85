//! `rank`: each grade of a folder as the upper part of one joint, the most forgiving first.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use crate::cli::args::{self, Manner};
use crate::cli::repeated::named_once;
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, files, load};
use crate::error::{Error, FileProblem, Place};
use crate::input::document::nearest_or_list;
use crate::input::joint_file::Grade;
use crate::input::repeated::{Firsts, alike};
use crate::input::{library, pair_table};
use crate::report::rank_report::{self, Ranking, rank_report};
use crate::study::ranking::rank;
use crate::weld::{Joint, Settings};

/// Endings of files that may be grades.
const ENDINGS: [&str; 8] = ["csv", "txt", "tsv", "dat", "jdx", "dx", "jcm", "toml"];

/// Reads the joint and every grade, ranks, reports; a grade that cannot be read is listed.
///
/// # Errors
/// The joint cannot be read, there is no grade at all, or the report would go among the grades.
pub fn run(it: &args::Rank, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    files::must_not_be_read(manner.out.as_deref(), &it.grades)?;
    let (joint, _) = load::joint(&it.file)?;
    let mut grades = Vec::new();
    let mut failed = Vec::new();
    let mut remarks: Vec<String> = Vec::new();
    let (paths, mut twice) = named_once(paths(&it.grades)?);
    let mut contents = Firsts::default();
    let mut tables = Vec::new();
    for path in paths {
        let name = path.display().to_string();
        let found = Source::of(&path).and_then(|source| {
            let first = contents.of(&name, source.bytes().to_vec());
            let same = "have the same content";
            twice.extend(first.map(|it| alike(it, &name, same, "both are listed")));
            graded(&it.file, &path, &source)
        });
        match found {
            _ if files::is_table_of_report(&path, found.as_ref().err()) => tables.push(path),
            Ok((graded, notes)) => {
                grades.push((name, graded));
                remarks.extend(notes);
            }
            Err(error) => failed.push((name, error)),
        }
    }
    if grades.is_empty()
        && failed.is_empty()
        && let Some(path) = tables.first()
    {
        return Err(files::only_tables(path));
    }
    twice.extend(files::tables_aside(&tables));
    let settings = Settings::standard();
    let (ranked, unfollowed) = rank(grades, &settings, &terminal.progress("ranking grades"));
    failed.extend(unfollowed);
    let mut grades = ranked
        .into_iter()
        .map(|it| {
            let pair = pair_table::of(&it.joint.upper.material, &it.joint.lower.material)?;
            Ok((it, pair))
        })
        .collect::<Result<Vec<_>, Error>>()?;
    grades.sort_by_key(|it| it.1.is_spoken_against());
    let ranking = Ranking { grades, failed };
    for (grade, pair) in &ranking.grades {
        remarks.extend(load::remarks(&[], &grade.joint, &grade.outcome));
        remarks.extend(pair.warning());
    }
    once(&mut remarks);
    remarks.splice(0..0, twice);
    if manner.json {
        deliver::json(terminal, &rank_report::json(&joint, &ranking, &remarks));
    } else {
        let mut text = format!(
            "{}\n{}\n\n{}\n",
            joint.question,
            rank_report::headline(&joint, &ranking),
            rank_report::short_table(&ranking).terminal(terminal.width())
        );
        if !ranking.failed.is_empty() {
            let table = rank_report::failures(&ranking).terminal(terminal.width());
            text.push_str(&format!("\nnot ranked\n{table}\n"));
        }
        terminal.result(&text);
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &rank_report(&joint, &ranking, &remarks))?;
    }
    Ok(if !ranking.failed.is_empty() {
        Answer::Partly
    } else if ranking.grades.iter().any(|it| it.0.drift().is_some()) {
        Answer::Yes
    } else {
        Answer::No
    })
}

/// Files as named, and those of folders.
fn paths(named: &[PathBuf]) -> Result<Vec<PathBuf>, Error> {
    let mut paths = Vec::new();
    for path in named {
        if path.is_dir() {
            let found = files::list(path, &ENDINGS)?;
            if found.is_empty() {
                return Err(Error::new(FileProblem::Read {
                    path: path.display().to_string(),
                    reason: "no file of spectra and no card is in it".into(),
                })
                .cure(format!(
                    "name a folder with files that end in {}",
                    ENDINGS.join(", ")
                )));
            }
            paths.extend(found);
        } else {
            paths.push(path.clone());
        }
    }
    Ok(paths)
}

/// What a grade is read from.
enum Source {
    File(Vec<u8>),
    /// A card that comes with the program: its short name and its text.
    Card(String, &'static str),
}

impl Source {
    /// The file of a path or, where there is none, the built-in card of that name.
    fn of(path: &Path) -> Result<Self, Error> {
        let name = path.to_string_lossy();
        match library::card_text(&name) {
            Some(text) if !path.exists() => Ok(Source::Card(name.into_owned(), text)),
            _ => files::read(path).map(Source::File).map_err(|error| {
                // A word without ending and folder may have been meant for the name of a card.
                let word = path.extension().is_none() && path.components().count() == 1;
                if word && !path.exists() {
                    let names: Vec<&str> = library::ids().collect();
                    return Error::new(FileProblem::Read {
                        path: name.clone().into_owned(),
                        reason: "there is no such file, folder or built-in card".into(),
                    })
                    .cure(format!(
                        "check the path; a built-in card goes by its short name: {}",
                        nearest_or_list(&name, &names)
                    ));
                }
                error
            }),
        }
    }

    fn bytes(&self) -> &[u8] {
        match self {
            Source::File(bytes) => bytes,
            Source::Card(_, text) => text.as_bytes(),
        }
    }
}

/// The joint with the grade of a file, or of a built-in card.
fn graded(
    file: &args::JointFile,
    path: &Path,
    source: &Source,
) -> Result<(Joint, Vec<String>), Error> {
    let name = match source {
        Source::File(_) => path.display().to_string(),
        Source::Card(id, _) => format!("{id}.toml"),
    };
    let place = || Place {
        file: name.clone(),
        line: None,
        column: None,
    };
    let beside = |it: &str| files::read(Path::new(it));
    let built_in = |it: &str| match source {
        Source::Card(id, _) => library::data_file(id, &format!("spectra/{id}/{it}")),
        Source::File(_) => library::no_files(it),
    };
    let grade = Grade {
        file: &name,
        bytes: source.bytes(),
        read: match source {
            Source::File(_) => &beside,
            Source::Card(..) => &built_in,
        },
    };
    let (joint, notes) = load::graded(file, &grade).map_err(|it| it.at(place()))?;
    // Remarks of the joint file come with the joint itself; here only those of the grade.
    let own = notes
        .iter()
        .filter(|it| it.place.as_ref().is_some_and(|it| it.file == name))
        .map(ToString::to_string);
    Ok((joint, own.collect()))
}

/// Keeps the first of remarks that differ in numbers and places only, and says how many more there
/// are: files of a folder mostly have the same things to be said of them.
fn once(remarks: &mut Vec<String>) {
    let kind = |text: &String| -> String {
        let words = text.rsplit_once(" (").map_or(text.as_str(), |it| it.0);
        words.chars().filter(|it| !it.is_ascii_digit()).collect()
    };
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for it in remarks.iter() {
        *counts.entry(kind(it)).or_default() += 1;
    }
    let mut seen = BTreeSet::new();
    remarks.retain(|it| seen.insert(kind(it)));
    for it in remarks {
        let more = counts.get(&kind(it)).map_or(0, |it| it - 1);
        if 0 < more {
            *it = format!("{it}; and {more} more like it");
        }
    }
}
