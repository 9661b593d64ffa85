//! Shared by the tests: the program, committed tables, and comparison of texts with numbers.

pub mod joints;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A file or folder of the project.
pub fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// True where golden files are to be rewritten (`.ci/run accept`).
pub fn accepting() -> bool {
    std::env::var_os("LIGHTSEAM_ACCEPT").is_some()
}

/// Runs the program in a folder with words as a shell would split them (quotes kept together).
pub fn lightseam(folder: &Path, words: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_lightseam"))
        .args(split(words))
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .env("COLUMNS", "100")
        .output()
        .unwrap()
}

/// A folder with the starter in `s/`.
pub fn starter() -> tempfile::TempDir {
    made("new s")
}

/// The same with its colours and batches.
pub fn starter_with_colours() -> tempfile::TempDir {
    made("new s --colour")
}

fn made(words: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let output = lightseam(folder.path(), words);
    assert!(output.status.success(), "{}", stderr(&output));
    folder
}

fn split(words: &str) -> Vec<String> {
    let mut all = Vec::new();
    let (mut word, mut quoted, mut any) = (String::new(), false, false);
    for c in words.chars() {
        match c {
            '"' => {
                quoted = !quoted;
                any = true;
            }
            ' ' if !quoted => {
                if any {
                    all.push(std::mem::take(&mut word));
                }
                any = false;
            }
            c => {
                word.push(c);
                any = true;
            }
        }
    }
    if any {
        all.push(word);
    }
    all
}

/// Standard error as text.
pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// Standard output as text.
pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// Where two texts differ: letters must be the same, numbers only within a relative tolerance.
pub fn difference(expected: &str, found: &str, relative: f64) -> Option<String> {
    for (number, (a, b)) in (1..).zip(expected.lines().zip(found.lines())) {
        let (words_a, numbers_a) = parts(a);
        let (words_b, numbers_b) = parts(b);
        let far = numbers_a.iter().zip(&numbers_b).any(|(a, b)| {
            let scale = a.abs().max(b.abs());
            relative * scale + 1e-12 < (a - b).abs()
        });
        if words_a != words_b || numbers_a.len() != numbers_b.len() || far {
            return Some(format!("line {number}\n  expected: {a}\n  found:    {b}"));
        }
    }
    let (a, b) = (expected.lines().count(), found.lines().count());
    (a != b).then(|| format!("{a} lines expected, {b} found"))
}

/// A line without its numbers, and its numbers.
fn parts(line: &str) -> (String, Vec<f64>) {
    let mut words = String::new();
    let mut numbers = Vec::new();
    let bytes: Vec<char> = line.chars().collect();
    let mut i = 0;
    while i < bytes.len() {
        if bytes[i].is_ascii_digit() {
            let start = i;
            while i < bytes.len() && (bytes[i].is_ascii_digit() || bytes[i] == '.') {
                i += 1;
            }
            // An exponent, as in 1.2e-5.
            let exponent = i + 1 < bytes.len()
                && bytes[i] == 'e'
                && (bytes[i + 1].is_ascii_digit()
                    || (bytes[i + 1] == '-' && bytes.get(i + 2).is_some_and(char::is_ascii_digit)));
            if exponent {
                i += 2;
                while i < bytes.len() && bytes[i].is_ascii_digit() {
                    i += 1;
                }
            }
            let text: String = bytes[start..i].iter().collect();
            match text.trim_end_matches('.').parse() {
                Ok(number) => numbers.push(number),
                Err(_) => words.push_str(&text),
            }
            words.push('#');
        } else {
            // Columns of a table move with the width of their numbers.
            let blank = bytes[i].is_whitespace() && words.ends_with(char::is_whitespace);
            if !blank {
                words.push(bytes[i]);
            }
            i += 1;
        }
    }
    (words, numbers)
}

/// Copies a folder with all that is in it.
pub fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy_folder(&path, &target);
        } else {
            fs::copy(&path, &target).unwrap();
        }
    }
}
