//! Each worked question in `reports/` is rebuilt: tutorial, report and test at once.
//!
//! A `report.md` has `console` blocks: a command after `$`, then what it printed. The command runs
//! in a copy of the folder without its `answer…` folders; text must be the same and numbers within
//! [`RELATIVE`]. The tables it writes there are compared in the same way with those that stand in
//! the project; figures and pages must be there.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use crate::support::{accepting, copy_folder, difference, lightseam, project, stdout};

/// Printed numbers have three or four digits; another processor may round the last one elsewhere.
const RELATIVE: f64 = 6e-3;

#[test]
fn every_worked_question_still_has_its_answer() {
    let folders = worked_questions();
    assert!(2 <= folders.len(), "two worked questions at least");
    for folder in folders {
        let temporary = tempfile::tempdir().unwrap();
        let copy = temporary.path().join("question");
        copy_folder(&folder, &copy);
        forget_answers(&copy);
        let page = fs::read_to_string(folder.join("report.md")).unwrap();
        let rebuilt = rebuild(&page, &copy);
        if accepting() {
            fs::write(copy.join("report.md"), &rebuilt).unwrap();
            copy_folder(&copy, &folder);
            continue;
        }
        let name = folder.file_name().unwrap().to_str().unwrap();
        if let Some(difference) = difference(&page, &rebuilt, RELATIVE) {
            panic!("reports/{name}/report.md, {difference}");
        }
        compare_tables(name, &folder, &copy);
    }
}

fn worked_questions() -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = fs::read_dir(project("reports"))
        .unwrap()
        .map(|it| it.unwrap().path())
        .filter(|it| it.join("report.md").is_file())
        .collect();
    folders.sort();
    folders
}

/// Removes what the commands are to write anew.
fn forget_answers(folder: &Path) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        if path.is_dir() && name.starts_with("answer") {
            fs::remove_dir_all(&path).unwrap();
        }
    }
}

/// The page with the output of every command as it is now.
fn rebuild(page: &str, folder: &Path) -> String {
    let mut rebuilt = String::new();
    let mut lines = page.lines();
    let mut commands = 0;
    while let Some(line) = lines.next() {
        writeln!(rebuilt, "{line}").unwrap();
        if line.trim() != "```console" {
            continue;
        }
        for line in lines.by_ref() {
            if line.trim() == "```" {
                writeln!(rebuilt, "{line}").unwrap();
                break;
            }
            let Some(command) = line.strip_prefix("$ lightseam ") else {
                continue;
            };
            let output = lightseam(folder, command);
            let code = output.status.code().unwrap();
            assert!(
                code < 2,
                "`{command}` in {}: {}",
                folder.display(),
                String::from_utf8_lossy(&output.stderr)
            );
            writeln!(rebuilt, "{line}\n{}", stdout(&output).trim_end()).unwrap();
            commands += 1;
        }
    }
    assert!(0 < commands, "a worked question runs at least one command");
    rebuilt
}

/// Every table and figure that stands in the folder is written anew with the same content.
fn compare_tables(name: &str, folder: &Path, copy: &Path) {
    let mut folders = vec![folder.to_path_buf()];
    let mut compared = 0;
    while let Some(at) = folders.pop() {
        for entry in fs::read_dir(&at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let inside = path.strip_prefix(folder).unwrap();
            let again = copy.join(inside);
            assert!(
                again.is_file(),
                "reports/{name}/{} is gone",
                inside.display()
            );
            if path.extension().is_some_and(|it| it == "csv") {
                let (a, b) = (
                    fs::read_to_string(&path).unwrap(),
                    fs::read_to_string(&again).unwrap(),
                );
                if let Some(difference) = difference(&a, &b, RELATIVE) {
                    panic!("reports/{name}/{}, {difference}", inside.display());
                }
                compared += 1;
            }
        }
    }
    assert!(0 < compared, "a worked question has tables");
}
