//! What somebody else wrote into a folder is never replaced.

use std::fs;

use crate::support::{lightseam, starter, stderr, stdout};

#[test]
fn results_of_trials_outlive_a_second_plan() {
    let folder = starter();
    let words = "trials s/joint.toml --out t";
    let form = folder.path().join("t/trials.csv");
    assert_eq!(lightseam(folder.path(), words).status.code(), Some(0));
    let blank = fs::read_to_string(&form).unwrap();
    // A blank plan is made anew.
    let again = lightseam(folder.path(), words);
    assert_eq!(again.status.code(), Some(0), "{}", stderr(&again));

    for (blank_part, written) in [
        (",,,,,,", ",yes,25,80,no,no,"),
        (",,,,,,", ",,,,,,smoke"),
        // The power that was measured.
        ("1,1,3.01,", "1,1,3.1,"),
        ("Run,", "Our run,"),
    ] {
        let edited = blank.replacen(blank_part, written, 1);
        assert_ne!(edited, blank, "{blank_part} in {blank}");
        fs::write(&form, &edited).unwrap();
        let refused = lightseam(folder.path(), words);
        assert_eq!(refused.status.code(), Some(2), "{}", stdout(&refused));
        for word in ["trials.csv is filled in or another plan", "another folder"] {
            assert!(stderr(&refused).contains(word), "{}", stderr(&refused));
        }
        assert_eq!(fs::read_to_string(&form).unwrap(), edited);
    }
}

#[test]
fn a_page_or_table_of_somebody_else_stays() {
    let folder = starter();
    let own = folder.path().join("own");
    fs::create_dir(&own).unwrap();
    for (name, words) in [
        ("index.html", "weld s/joint.toml --out own"),
        ("index.html", "validate --out own"),
        ("temperature-depth.csv", "weld s/joint.toml --out own"),
    ] {
        let file = own.join(name);
        // The weld of the starter writes that table.
        let text = "<p>of somebody else</p>\n";
        fs::write(&file, text).unwrap();
        let refused = lightseam(folder.path(), words);
        assert_eq!(
            refused.status.code(),
            Some(2),
            "{name}: {}",
            stdout(&refused)
        );
        let message = stderr(&refused);
        assert!(
            message.contains("was not written by lightseam"),
            "{message}"
        );
        assert!(message.contains(name), "{message}");
        assert_eq!(fs::read_to_string(&file).unwrap(), text);
        let left: Vec<_> = fs::read_dir(&own).unwrap().collect();
        assert_eq!(left.len(), 1, "{left:?}");
        fs::remove_file(&file).unwrap();
    }
}

#[test]
fn a_report_is_written_over_an_earlier_one() {
    let folder = starter();
    for words in ["weld s/joint.toml --out r", "window s/joint.toml --out r"] {
        let output = lightseam(folder.path(), words);
        assert!(output.status.code() < Some(2), "{}", stderr(&output));
    }
    let page = fs::read_to_string(folder.path().join("r/index.html")).unwrap();
    assert!(page.contains("it welds"));
}
