//! The only reading and writing of files.
//!
//! Files that belong together are first all written into a hidden folder beside their places, then
//! moved over them one after the other, so that nothing half-written ever stands where a good file
//! stood, and a page stands with its own figures. An interrupt before the moves leaves everything as
//! it was; one during the moves waits for them.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, RwLock};

use crate::error::input::SpectrumProblem;
use crate::error::{Error, FileProblem, InputProblem, Problem};

/// Exit code of a run that was interrupted, as shells count it.
const INTERRUPTED: i32 = 130;

/// Hidden folders in use. A file is written while the lock is held for reading, files are moved while
/// it is held for writing; an interrupt takes it for good, so that nothing is written after what is
/// not complete was removed.
static STAGED: RwLock<Vec<Staged>> = RwLock::new(Vec::new());

/// Tells apart the hidden folders of one run.
static COUNT: AtomicUsize = AtomicUsize::new(0);

struct Staged {
    folder: PathBuf,
    /// The folder it is for, where this run has made it.
    made: Option<PathBuf>,
}

impl Staged {
    fn remove(&self) {
        let _ = fs::remove_dir_all(&self.folder);
        if let Some(made) = &self.made {
            // Only an empty folder goes.
            let _ = fs::remove_dir(made);
        }
    }
}

/// On an interrupt removes what is not complete and ends the run.
pub fn abandon_when_interrupted() {
    // Without a handler an interrupt ends the run at once: good files still stand.
    let _ = ctrlc::set_handler(|| {
        let staged = STAGED.write();
        if let Ok(all) = &staged {
            all.iter().for_each(Staged::remove);
        }
        std::process::exit(INTERRUPTED);
    });
}

/// Files that appear in a folder together, or not at all.
pub struct Batch {
    dir: PathBuf,
    staging: PathBuf,
    names: Mutex<Vec<String>>,
}

impl Batch {
    /// A batch for a folder, which is made if need be.
    ///
    /// # Errors
    /// The folder cannot be made.
    pub fn new(dir: &Path) -> Result<Self, Error> {
        let number = COUNT.fetch_add(1, Ordering::Relaxed);
        let staging = dir.join(format!(".lightseam-{}-{number}.part", std::process::id()));
        let made = (!dir.as_os_str().is_empty() && !dir.exists()).then(|| dir.to_path_buf());
        let batch = Batch {
            dir: dir.to_path_buf(),
            staging: staging.clone(),
            names: Mutex::new(Vec::new()),
        };
        let mut staged = STAGED.write();
        if let Ok(all) = &mut staged {
            all.push(Staged {
                folder: staging,
                made,
            });
        }
        let ready = fs::create_dir_all(&batch.staging);
        drop(staged);
        ready.map_err(|it| not_written(dir, &it))?;
        Ok(batch)
    }

    /// Puts a file aside, by its path below the folder.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn add(&self, name: &str, bytes: &[u8]) -> Result<(), Error> {
        let place = self.staging.join(name);
        let held = STAGED.read();
        let made = match place.parent() {
            Some(folder) => fs::create_dir_all(folder),
            None => Ok(()),
        };
        made.and_then(|()| fs::write(&place, bytes))
            .map_err(|it| not_written(&self.dir.join(name), &it))?;
        drop(held);
        if let Ok(mut names) = self.names.lock() {
            names.push(name.to_string());
        }
        Ok(())
    }

    /// The paths put aside, below the folder.
    pub fn names(&self) -> Vec<String> {
        match self.names.lock() {
            Ok(names) => names.clone(),
            Err(poisoned) => poisoned.into_inner().clone(),
        }
    }

    /// Moves all files to their places, the page itself last.
    ///
    /// # Errors
    /// A file cannot be moved.
    pub fn commit(self) -> Result<(), Error> {
        let mut names = self.names();
        names.sort_by_key(|it| (it == PAGE, it.clone()));
        // What can fail for one file alone is done before the first is moved.
        for name in &names {
            let place = self.dir.join(name);
            if place.is_dir() {
                return Err(not_written(
                    &place,
                    &std::io::ErrorKind::IsADirectory.into(),
                ));
            }
            if let Some(folder) = place.parent() {
                fs::create_dir_all(folder).map_err(|it| not_written(&place, &it))?;
            }
        }
        let held = STAGED.write();
        for name in &names {
            let place = self.dir.join(name);
            fs::rename(self.staging.join(name), &place).map_err(|it| not_written(&place, &it))?;
        }
        drop(held);
        Ok(())
    }
}

impl Drop for Batch {
    fn drop(&mut self) {
        if let Ok(mut staged) = STAGED.write()
            && let Some(at) = staged.iter().position(|it| it.folder == self.staging)
        {
            staged.remove(at).remove();
        }
    }
}

/// Name of the page among the files of a report.
pub const PAGE: &str = "index.html";

fn not_written(path: &Path, reason: &std::io::Error) -> Error {
    Error::new(FileProblem::Write {
        path: path.display().to_string(),
        reason: plain(reason),
    })
    .cure("check that the folder exists and may be written to")
}

/// Reads a whole file.
///
/// # Errors
/// The file cannot be read.
pub fn read(path: &Path) -> Result<Vec<u8>, Error> {
    fs::read(path).map_err(|reason| {
        Error::new(FileProblem::Read {
            path: path.display().to_string(),
            reason: plain(&reason),
        })
        .cure("check the path; it is taken from the folder you are in, or from the joint file's")
    })
}

/// Reads a whole file as text.
///
/// # Errors
/// The file cannot be read or is not UTF-8.
pub fn read_text(path: &Path) -> Result<String, Error> {
    String::from_utf8(read(path)?).map_err(|_| {
        Error::new(FileProblem::Read {
            path: path.display().to_string(),
            reason: "it is not UTF-8 text".into(),
        })
        .cure("save the file as UTF-8")
    })
}

/// A reader of files named relative to the folder of another file.
pub fn beside(file: &Path) -> impl Fn(&str) -> Result<Vec<u8>, Error> + use<> {
    let folder = file.parent().map(Path::to_path_buf).unwrap_or_default();
    move |name: &str| read(&folder.join(name))
}

/// Writes a file so that it is there whole or not at all.
///
/// # Errors
/// The folder cannot be made or the file cannot be written.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let batch = Batch::new(folder)?;
    batch.add(
        &path.file_name().unwrap_or_default().to_string_lossy(),
        bytes,
    )?;
    batch.commit()
}

/// Files of a folder whose names end in one of `endings`, in the order of their names; figures in a
/// name count as numbers, so that batch 10 follows batch 9.
///
/// # Errors
/// The folder cannot be read.
pub fn list(dir: &Path, endings: &[&str]) -> Result<Vec<PathBuf>, Error> {
    let problem = |reason: std::io::Error| {
        Error::new(FileProblem::Read {
            path: dir.display().to_string(),
            reason: plain(&reason),
        })
        .cure("check the path of the folder")
    };
    let mut found = Vec::new();
    for entry in fs::read_dir(dir).map_err(problem)? {
        let path = entry.map_err(problem)?.path();
        let ending = path
            .extension()
            .map(|it| it.to_string_lossy().to_lowercase());
        let hidden = path
            .file_name()
            .is_some_and(|it| it.to_string_lossy().starts_with('.'));
        if path.is_file() && !hidden && ending.is_some_and(|it| endings.contains(&it.as_str())) {
            found.push(path);
        }
    }
    found.sort_by_cached_key(|it| {
        let name = it.file_name().unwrap_or_default().to_string_lossy();
        (numbered(&name), name.into_owned())
    });
    Ok(found)
}

/// A name as letters and numbers, which sort as a reader counts.
fn numbered(name: &str) -> Vec<(String, u64)> {
    let mut parts = vec![(String::new(), 0u64)];
    let mut in_number = false;
    for c in name.to_lowercase().chars() {
        let figure = c.to_digit(10);
        if figure.is_none() && in_number {
            parts.push((String::new(), 0));
        }
        in_number = figure.is_some();
        if let Some(part) = parts.last_mut() {
            match figure {
                Some(figure) => part.1 = part.1.saturating_mul(10).saturating_add(figure.into()),
                None => part.0.push(c),
            }
        }
    }
    parts
}

/// True where two paths lead to one file.
pub fn same_file(first: &Path, second: &Path) -> bool {
    match (fs::canonicalize(first), fs::canonicalize(second)) {
        (Ok(first), Ok(second)) => first == second,
        _ => first == second,
    }
}

/// What a page written here has in it, and what it had before it named its generator.
const MARKS: [&str; 2] = [
    "<meta name=\"generator\" content=\"lightseam\">",
    "<p class=\"kicker\">",
];

fn is_own_page(text: &[u8]) -> bool {
    let text = String::from_utf8_lossy(text);
    MARKS.iter().any(|it| text.contains(it))
}

/// Refuses a folder whose page is somebody else's, or that has no page and one of the files `names`.
///
/// # Errors
/// Such a file stands there, or the page cannot be read.
pub fn must_be_own(dir: &Path, names: &[String]) -> Result<(), Error> {
    let page = dir.join(PAGE);
    let foreign = if page.exists() {
        let text = read(&page)?;
        (!is_own_page(&text)).then_some(page)
    } else {
        names.iter().map(|it| dir.join(it)).find(|it| it.exists())
    };
    match foreign {
        None => Ok(()),
        Some(file) => Err(Error::new(FileProblem::Foreign {
            path: file.display().to_string(),
        })
        .cure("name a folder of its own after --out")),
    }
}

/// True for a table that a report left in its folder, by the error it is not read for: the folder has a
/// page of ours, and the table is that of a figure beside it or holds no spectrum.
pub fn is_table_of_report(path: &Path, unread: Option<&Error>) -> bool {
    let table = path.extension().is_some_and(|it| it == "csv");
    let spectrum = !unread.is_some_and(|it| {
        matches!(
            it.problem(),
            Problem::Input(InputProblem::Spectrum(SpectrumProblem::NoTable))
        )
    });
    table
        && (!spectrum || path.with_extension("svg").exists())
        && read(&path.with_file_name(PAGE)).is_ok_and(|it| is_own_page(&it))
}

/// One sentence for the tables of reports that are left aside; none where there are none.
pub fn tables_aside(tables: &[PathBuf]) -> Option<String> {
    let names: Vec<String> = tables.iter().map(|it| it.display().to_string()).collect();
    let (last, others) = names.split_last()?;
    Some(if others.is_empty() {
        format!("{last} is a table of a report and no file of plaques: it is skipped")
    } else {
        format!(
            "{} and {last} are tables of a report and no files of plaques: they are skipped",
            others.join(", ")
        )
    })
}

/// Where nothing but tables of reports is named.
pub fn only_tables(path: &Path) -> Error {
    Error::new(FileProblem::Read {
        path: path.display().to_string(),
        reason: "it is a table of a report, not a file of plaques".into(),
    })
    .cure("name the files that the spectrometer wrote")
}

/// A folder itself, or the folder that a file lies in; none where there is neither.
fn folder_of(path: &Path) -> Option<PathBuf> {
    if path.is_dir() {
        return Some(path.to_path_buf());
    }
    let folder = path.is_file().then(|| path.parent())??;
    Some(if folder.as_os_str().is_empty() {
        PathBuf::from(".")
    } else {
        folder.to_path_buf()
    })
}

/// Refuses a folder for the report that is one of the folders read, or that a file read lies in: its
/// tables would be read as files of plaques the next time, by the folder or by all its names.
///
/// # Errors
/// It is one of them.
pub fn must_not_be_read(dir: Option<&Path>, read: &[PathBuf]) -> Result<(), Error> {
    match dir {
        Some(dir)
            if read
                .iter()
                .any(|it| folder_of(it).is_some_and(|it| same_file(&it, dir))) =>
        {
            Err(Error::new(FileProblem::OutIsRead {
                path: dir.display().to_string(),
            })
            .cure(format!(
                "name a folder of its own after --out, such as {}",
                dir.join("answer").display()
            )))
        }
        _ => Ok(()),
    }
}

/// Refuses a folder that has something in it.
///
/// # Errors
/// The folder exists and is not empty, or is a file.
pub fn must_be_free(dir: &Path) -> Result<(), Error> {
    let taken = match fs::read_dir(dir) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => dir.exists(),
    };
    if taken {
        return Err(Error::new(FileProblem::AlreadyExists {
            path: dir.display().to_string(),
        })
        .cure("name a folder that does not exist yet"));
    }
    Ok(())
}

/// The operating system's reason without its number.
fn plain(reason: &std::io::Error) -> String {
    let text = reason.to_string();
    match text.split_once(" (os error") {
        Some((plain, _)) => plain.to_lowercase(),
        None => text,
    }
}
