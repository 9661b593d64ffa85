//! Manners of the program: completions, manual, quiet, threads, colours, and interrupts.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use crate::support::{lightseam, stderr, stdout};

/// Every file of a folder with its content.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|it| it.unwrap().path());
    entries
        .map(|it| {
            let name = it.file_name().unwrap().to_str().unwrap().to_string();
            (name, fs::read(&it).unwrap_or_default())
        })
        .collect()
}

#[test]
fn completions_name_every_command() {
    let folder = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = stdout(&lightseam(folder.path(), &format!("completions {shell}")));
        for command in ["weld", "window", "report", "validate", "--threads"] {
            let word = if shell == "fish" {
                command.trim_start_matches("--")
            } else {
                command
            };
            assert!(script.contains(word), "{shell} does not know {command}");
        }
    }
}

/// The script that bash would read is one that bash accepts.
#[cfg(unix)]
#[test]
fn bash_reads_its_completions() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("lightseam.bash");
    fs::write(&script, lightseam(folder.path(), "completions bash").stdout).unwrap();
    let read = Command::new("bash")
        .arg("-n")
        .arg(&script)
        .output()
        .unwrap();
    assert!(read.status.success(), "{}", stderr(&read));
}

#[test]
fn manual_has_a_page_for_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let all = stdout(&lightseam(folder.path(), "manual"));
    assert!(all.contains(".TH lightseam 1"));
    assert!(all.contains("Exit codes"));
    let one = stdout(&lightseam(folder.path(), "manual survey"));
    assert!(one.contains("Cells along x and y"));
    lightseam(folder.path(), "manual --out man");
    let pages = contents(&folder.path().join("man"));
    for page in ["lightseam.1", "lightseam-weld.1", "lightseam-report.1"] {
        assert!(pages.contains_key(page), "{page} of {:?}", pages.keys());
    }
    assert_eq!(
        one.trim_end(),
        String::from_utf8_lossy(&pages["lightseam-survey.1"]).trim_end()
    );
    let unknown = lightseam(folder.path(), "manual wled");
    assert_eq!(unknown.status.code(), Some(2));
    assert!(stderr(&unknown).contains("weld"));
}

#[test]
fn quiet_prints_results_and_errors_only() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    lightseam(at, "new joint");
    let loud = lightseam(at, "weld joint/joint.toml");
    assert!(stderr(&loud).contains("warning:"));
    let quiet = lightseam(at, "weld joint/joint.toml --quiet");
    assert_eq!(stderr(&quiet), "");
    assert_eq!(stdout(&quiet), stdout(&loud));
    let error = lightseam(at, "weld nowhere.toml --quiet");
    assert!(stderr(&error).starts_with("error:"));
}

/// `NO_COLOR` outdoes a request for colours; without it the request is heard, so the test can fail.
#[test]
fn no_color_is_honoured() {
    let run = |no_color: bool| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lightseam"));
        command.arg("wled").env("CLICOLOR_FORCE", "1");
        command.env_remove("NO_COLOR");
        if no_color {
            command.env("NO_COLOR", "1");
        }
        command.output().unwrap().stderr
    };
    assert!(!run(true).contains(&0x1b));
    assert!(run(false).contains(&0x1b));
}

#[test]
fn any_number_of_threads_writes_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    lightseam(at, "new joint");
    let one = lightseam(at, "report joint/joint.toml --json --out one --threads 1");
    let two = lightseam(at, "report joint/joint.toml --json --out two --threads 2");
    assert_eq!(one.stdout, two.stdout);
    let (a, b) = (contents(&at.join("one")), contents(&at.join("two")));
    assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>());
    for (name, bytes) in &a {
        assert!(bytes == &b[name], "{name}");
    }
    let none = lightseam(at, "weld joint/joint.toml --threads 0");
    assert_eq!(none.status.code(), Some(2));
}

/// An interrupt at any time leaves the old page whole, or the new one, and nothing beside it.
#[cfg(unix)]
#[test]
fn an_interrupt_leaves_one_whole_page() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    lightseam(at, "new joint");
    let text = fs::read_to_string(at.join("joint/joint.toml")).unwrap();
    // The other page has the same files, each with other content.
    let other = text.replace("thickness = \"1.5 mm\"", "thickness = \"1.8 mm\"");
    fs::write(at.join("joint/other.toml"), other).unwrap();
    lightseam(at, "weld joint/joint.toml --out page");
    lightseam(at, "weld joint/other.toml --out new");
    let (old, new) = (contents(&at.join("page")), contents(&at.join("new")));
    assert!(5 < old.len() && old["index.html"] != new["index.html"]);

    let mut stopped = 0;
    for delay_ms in [3, 20, 60, 120, 200, 300, 450, 700] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lightseam"))
            .args(["weld", "joint/other.toml", "--out", "page", "--quiet"])
            .current_dir(at)
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(delay_ms));
        let signal = Command::new("kill")
            .args(["-INT", &child.id().to_string()])
            .output()
            .unwrap();
        let status = child.wait().unwrap();
        let now = contents(&at.join("page"));
        assert!(
            now == old || now == new,
            "after {delay_ms} ms: {:?}",
            now.keys()
        );
        if signal.status.success() && !matches!(status.code(), Some(0 | 1)) {
            stopped += 1;
        }
        lightseam(at, "weld joint/joint.toml --out page");
        assert!(contents(&at.join("page")) == old);
    }
    assert!(0 < stopped, "no run was interrupted");
}

/// Work that would take minutes, interrupted: nothing was written where nothing stood.
#[cfg(unix)]
#[test]
fn an_interrupt_of_long_work_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    lightseam(at, "new joint");
    let mut child = Command::new(env!("CARGO_BIN_EXE_lightseam"))
        .args([
            "survey",
            "joint/joint.toml",
            "--cells",
            "400x400",
            "--out",
            "maps",
        ])
        .current_dir(at)
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(400));
    let signal = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(signal.success());
    assert_eq!(child.wait().unwrap().code(), Some(130));
    assert!(!at.join("maps").exists());
}
