//! The only reading and writing of files.
//!
//! A file is written beside its place and moved over it when complete, so that nothing half-written
//! ever stands where a good file stood.

use std::fs;
use std::path::{Path, PathBuf};

use crate::error::{Error, FileProblem};

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
    let problem = |reason: std::io::Error| {
        Error::new(FileProblem::Write {
            path: path.display().to_string(),
            reason: plain(&reason),
        })
        .cure("check that the folder exists and may be written to")
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(problem)?;
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = path.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let written = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path));
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    written.map_err(problem)
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

/// Files of a folder whose names end in one of `endings`, by name.
///
/// # Errors
/// The folder cannot be read.
pub fn in_folder(dir: &Path, endings: &[&str]) -> Result<Vec<PathBuf>, Error> {
    let problem = |reason: std::io::Error| {
        Error::new(FileProblem::Read {
            path: dir.display().to_string(),
            reason: plain(&reason),
        })
        .cure("name a folder that exists")
    };
    let mut paths = Vec::new();
    for entry in fs::read_dir(dir).map_err(problem)? {
        let path = entry.map_err(problem)?.path();
        let ending = path.extension().unwrap_or_default().to_string_lossy();
        if path.is_file() && endings.contains(&ending.to_lowercase().as_str()) {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}
