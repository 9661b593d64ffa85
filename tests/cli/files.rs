//! Files that belong together appear together, or not at all.

use std::fs;

use lightseam::cli::files::Batch;

fn names(folder: &std::path::Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|it| it.unwrap().file_name().to_str().unwrap().to_string())
        .collect();
    names.sort();
    names
}

#[test]
fn a_batch_given_up_leaves_what_stood() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("index.html"), "old").unwrap();
    let batch = Batch::new(folder.path()).unwrap();
    batch.add("index.html", b"new").unwrap();
    batch.add("window.svg", b"new").unwrap();
    drop(batch);
    assert_eq!(names(folder.path()), ["index.html"]);
    let page = fs::read_to_string(folder.path().join("index.html")).unwrap();
    assert_eq!(page, "old");
}

#[test]
fn a_batch_for_a_new_folder_given_up_leaves_no_folder() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("page");
    let batch = Batch::new(&dir).unwrap();
    batch.add("index.html", b"new").unwrap();
    drop(batch);
    assert!(!dir.exists());
}

#[test]
fn a_file_that_cannot_be_placed_holds_back_all() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.csv"), "old").unwrap();
    fs::create_dir(folder.path().join("index.html")).unwrap();
    let batch = Batch::new(folder.path()).unwrap();
    batch.add("a.csv", b"new").unwrap();
    batch.add("index.html", b"new").unwrap();
    let error = batch.commit().unwrap_err().to_string();
    assert!(error.contains("index.html"), "{error}");
    let table = fs::read_to_string(folder.path().join("a.csv")).unwrap();
    assert_eq!(table, "old");
    assert_eq!(names(folder.path()), ["a.csv", "index.html"]);
}

#[test]
fn a_committed_batch_is_all_there_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let batch = Batch::new(folder.path()).unwrap();
    batch.add("cards/lid.toml", b"1").unwrap();
    batch.add("index.html", b"2").unwrap();
    batch.commit().unwrap();
    assert_eq!(names(folder.path()), ["cards", "index.html"]);
    let card = fs::read_to_string(folder.path().join("cards/lid.toml")).unwrap();
    assert_eq!(card, "1");
}
