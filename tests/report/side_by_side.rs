//! Names side by side: short enough for their place, told apart, and honest about what was left out.

use lightseam::report::font::{Weight, width_px};
use lightseam::report::side_by_side::{Names, Room, names_within};

fn within(names: &[&str], width_px: f64) -> Names {
    let room = Room {
        size_px: 12.0,
        width_px,
    };
    names_within(names, room)
}

#[test]
fn names_that_fit_stay_as_they_are() {
    let names = within(&["lot-01", "lot-02", "natural"], 60.0);
    assert_eq!(names.short, ["lot-01", "lot-02", "natural"]);
    assert_eq!(names.note, "");
    assert_eq!(within(&[], 60.0).short.len(), 0);
}

#[test]
fn as_little_as_needed_of_what_all_share_is_left_out() {
    let all = [
        "long-black-masterbatch-lot-01",
        "long-black-masterbatch-lot-02",
    ];
    let names = within(&all, 130.0);
    assert_eq!(names.short, ["…masterbatch-lot-01", "…masterbatch-lot-02"]);
    assert_eq!(
        names.note,
        "All names begin with “long-black-”, left out here."
    );
    assert_eq!(within(&all, 45.0).short, ["…lot-01", "…lot-02"]);
    assert_eq!(within(&all, 30.0).short, ["…01", "…02"]);
    // Digits that count stay whole, without a sign to part words too.
    let joined = within(&["AVeryLongGradeName11", "AVeryLongGradeName12"], 40.0);
    assert_eq!(joined.short, ["…11", "…12"]);
    let ended = within(&["a-of-a-measured-lid", "b-of-a-measured-lid"], 40.0);
    assert_eq!(ended.short, ["a…", "b…"]);
    assert_eq!(
        ended.note,
        "All names end with “-of-a-measured-lid”, left out here."
    );
}

#[test]
fn a_name_that_all_others_begin_with_keeps_something() {
    let names = within(&["long-grade-name", "long-grade-name-two"], 80.0);
    assert_eq!(names.short, ["…name", "…name-two"]);
}

#[test]
fn what_cannot_be_told_apart_when_cut_is_numbered() {
    let cut = within(
        &["polypropylene-of-one-source", "nylon-of-quite-another-make"],
        90.0,
    );
    assert!(cut.note.contains("cut in the middle"), "{cut:?}");
    assert!(cut.short[0].starts_with("poly") && cut.short[0].ends_with("source"));
    let alike = within(
        &[
            "first-1-and-the-same-end-of-a-name",
            "first-2-and-the-same-end-of-a-name",
            "other",
        ],
        40.0,
    );
    assert_eq!(alike.short, ["1", "2", "3"]);
    assert!(alike.note.contains("Numbers stand for the names"));
    // Two of one name are no two names.
    assert_eq!(within(&["lid", "lid"], 60.0).short, ["1", "2"]);
}

#[test]
fn names_of_any_shape_fit_and_differ() {
    let signs = ["lot", "-", "é", " ", "pp", "0", "1", "9", "_", "µ", "grade"];
    let mut state = 7u64;
    let mut draw = |below: usize| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    for _ in 0..2000 {
        let begin: String = (0..draw(8)).map(|_| signs[draw(signs.len())]).collect();
        let end: String = (0..draw(4)).map(|_| signs[draw(signs.len())]).collect();
        let mut all: Vec<String> = (0..1 + draw(6))
            .map(|_| {
                let middle: String = (0..draw(5)).map(|_| signs[draw(signs.len())]).collect();
                format!("{begin}{middle}{end}")
            })
            .collect();
        all.sort();
        all.dedup();
        let given: Vec<&str> = all.iter().map(String::as_str).collect();
        let room = 20.0 + draw(150) as f64;
        let names = within(&given, room);
        assert_eq!(names.short.len(), given.len());
        for name in &names.short {
            let width = width_px(name, 12.0, Weight::Regular);
            assert!(width <= room, "{name} of {given:?} needs {width} of {room}");
        }
        let mut different = names.short.clone();
        different.sort();
        different.dedup();
        assert_eq!(different.len(), given.len(), "{given:?}: {:?}", names.short);
        assert_eq!(names.note.is_empty(), names.short == all, "{names:?}");
    }
}
