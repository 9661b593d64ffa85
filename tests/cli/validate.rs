//! `validate`: every check holds, and one that did not would be seen.

use serde_json::Value;

use crate::support::{lightseam, stdout};

#[test]
fn this_build_computes_what_it_should() {
    let folder = tempfile::tempdir().unwrap();
    let output = lightseam(folder.path(), "validate --json");
    assert_eq!(output.status.code(), Some(0), "{}", stdout(&output));
    let found: Value = serde_json::from_str(&stdout(&output)).unwrap();
    let checks = found["checks"].as_array().unwrap();
    assert!(30 <= checks.len());
    for stage in ["light", "light sideways", "spectra", "heat", "weld"] {
        let own: Vec<&Value> = checks.iter().filter(|it| it["stage"] == stage).collect();
        // Two authorities at least for each stage.
        let mut sources: Vec<&str> = own
            .iter()
            .map(|it| it["source"].as_str().unwrap())
            .collect();
        sources.sort_unstable();
        sources.dedup();
        assert!(2 <= sources.len(), "{stage}: {sources:?}");
        for check in own {
            assert!(0 < check["values"].as_u64().unwrap(), "{check}");
            assert!(check["deviation"].as_f64().unwrap() <= check["limit"].as_f64().unwrap());
        }
    }
    assert!(5 <= found["disagreements"].as_array().unwrap().len());
}
