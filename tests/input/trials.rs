//! Tables of weld trials as people hand them back: separators, line ends, words, and refusals.

use lightseam::input::trials::parse;
use lightseam::study::calibration::trial::Trial;
use lightseam::weld::setpoint::Lever;

fn read(text: &str) -> Vec<Trial> {
    parse(text.as_bytes(), "trials.csv", Lever::Speed)
        .unwrap()
        .trials
}

fn refused(text: &str) -> String {
    parse(text.as_bytes(), "trials.csv", Lever::Speed)
        .unwrap_err()
        .to_string()
}

const HEADING: &str = "Run,Power (W),Feed rate (mm/s),Fused (yes or no),\"Melt depth, upper part (µm)\",\"Melt depth, lower part (µm)\",Surface marked (yes or no),Burnt (yes or no),Note";

#[test]
fn a_table_filled_in_and_saved_in_any_way_is_the_same_table() {
    let plain = format!("{HEADING}\n1,20,50,yes,35.5,80,no,no,\n2,12,50,No,,,,,cold\n");
    let trials = read(&plain);
    assert_eq!(trials.len(), 2);
    assert_eq!(trials[0].name, "1");
    assert_eq!(trials[0].power_w, 20.0);
    assert!((trials[0].setting - 0.05).abs() < 1e-15);
    assert!((trials[0].seen.upper_melt_depth_m.unwrap() - 35.5e-6).abs() < 1e-18);
    assert_eq!(trials[0].seen.marked, Some(false));
    assert_eq!(trials[1].seen.fused, Some(false));
    assert_eq!(trials[1].seen.count(), 1);

    let windows = plain.replace('\n', "\r\n");
    let old = plain.replace('\n', "\r");
    let semicolons = "My trials;;\nRun;Power (W);Speed (m/min);Fused;Depth upper (mm);Depth lower (µm);Marked;Burnt;Note\n\
                      1;20;3;Y;0,0355;80;n;0;\n2;12;3;no;;;;;cold\n";
    for text in [windows.as_str(), old.as_str(), semicolons] {
        let other = read(text);
        assert_eq!(other.len(), 2, "{text}");
        for (a, b) in trials.iter().zip(&other) {
            assert_eq!((&a.name, a.power_w), (&b.name, b.power_w));
            assert!((a.setting / b.setting - 1.0).abs() < 1e-12);
            assert_eq!(a.seen.fused, b.seen.fused);
            assert_eq!(a.seen.count(), b.seen.count());
            let depth = |it: &Trial| it.seen.upper_melt_depth_m.unwrap_or(0.0);
            assert!((depth(a) - depth(b)).abs() < 1e-15);
        }
    }
    // As a spreadsheet in Windows-1252 saves it.
    let bytes: Vec<u8> = plain
        .chars()
        .map(|it| if it == 'µ' { 0xb5 } else { it as u8 })
        .collect();
    assert_eq!(parse(&bytes, "t.csv", Lever::Speed).unwrap().trials, trials);
}

#[test]
fn a_run_not_filled_in_is_remarked_and_kept() {
    let read = parse(
        format!("{HEADING}\n1,20,50,,,,,,\n").as_bytes(),
        "t.csv",
        Lever::Speed,
    )
    .unwrap();
    assert_eq!(read.trials.len(), 1);
    assert!(read.notes[0].to_string().contains("run 1 is not filled in"));
}

#[test]
fn refusals_name_line_column_value_and_cure() {
    let cases = [
        (
            "Run,Power\n1,2\n",
            "no line names a column",
            "keep the line of names",
        ),
        (
            "Power (W),Speed (rpm)\n2,5\n",
            "\"Speed (rpm)\" is in a unit",
            "mm/s",
        ),
        (
            "Power (W),Speed (mm/s),Power 2\n2,5,3\n",
            "two columns are named \"Power 2\"",
            "keep one",
        ),
        (
            "Power (W),Speed (mm/s),Fused\n2,5,yes\n2,5,maybe\n",
            "\"maybe\" in column \"Fused\" is neither",
            "line 3",
        ),
        (
            "Power (W),Speed (mm/s),Fused\n2,5 mm,yes\n",
            "\"5 mm\" in column \"Speed (mm/s)\" is not a number",
            "line 2",
        ),
        (
            "Power (W),Speed (mm/s),Fused\n2,,yes\n",
            "this run has no speed",
            "line 2",
        ),
        (
            "Power (W),Speed (mm/s),Fused\n-2,5,yes\n",
            "-2 in column \"Power (W)\" is outside 0 to 100000",
            "unit",
        ),
        (
            "Power (W),Speed (mm/s),Fused\n2,5,yes\n2,nan,yes\n",
            "outside",
            "line 3",
        ),
        (
            "Power (W),Speed (mm/s),\"Melt depth, upper part (µm)\"\n2,5,0.08\n3,5,0.12\n4,5,0\n",
            "\"Melt depth, upper part (µm)\" is 0.12 µm, less than a microscope shows",
            "write (mm)",
        ),
        (
            "Power (W),Speed (mm/s),\"Melt depth, upper part (mm)\"\n2,5,80\n",
            "is outside 0 to 50",
            "unit",
        ),
        (
            "Power (W),Speed (mm/s),Fused\n",
            "names columns but no run",
            "one line a run",
        ),
        ("", "no line names a column", "line 1"),
    ];
    for (text, problem, more) in cases {
        let message = refused(text);
        assert!(message.contains(problem), "{text}: {message}");
        assert!(message.contains(more), "{text}: {message}");
    }
}

/// Parts that did not hold, with a depth read in them: read as before, and said to be odd.
#[test]
fn a_depth_of_a_weld_that_does_not_hold_is_remarked() {
    let said = |row: &str| {
        let text = format!("{HEADING}\n{row}\n");
        let read = parse(text.as_bytes(), "t.csv", Lever::Speed).unwrap();
        read.notes
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    let both = said("1,12,50,no,30,80,,,");
    assert_eq!(both.len(), 1);
    assert!(
        both[0].contains("run 1 is not fused and has melt depths in both parts")
            && both[0].contains("in that case write yes")
            && both[0].ends_with("(t.csv, line 2)"),
        "{both:?}"
    );
    let lower = said("7,12,50,no,,80,,,");
    assert!(
        lower[0].contains("run 7 is not fused and has a melt depth"),
        "{lower:?}"
    );
    // Nothing molten, nothing read, or a weld that holds.
    for row in [
        "1,12,50,no,0,0,,,",
        "1,12,50,no,,,no,no,",
        "1,20,50,yes,30,80,,,",
    ] {
        assert!(said(row).is_empty(), "{row}");
    }
}
