//! Figures of results: who passes, levels of maps, what lies beyond a figure and what it smooths.

use lightseam::heat;
use lightseam::input::pair_table;
use lightseam::report::figure::{Figure, Mark, Marker, Place, Points};
use lightseam::report::number;
use lightseam::report::rank_figure::rank_figure;
use lightseam::report::rank_report::Ranking;
use lightseam::report::survey_figure::margin_levels;
use lightseam::report::weld_figures::time_figure;
use lightseam::study::Silent;
use lightseam::study::ranking::{Graded, rank};
use lightseam::weld::{Joint, Settings, simulate};

use crate::support::joints;

fn points(figure: &Figure) -> Vec<&Points> {
    let marks = figure.marks.iter();
    marks
        .filter_map(|it| match it {
            Mark::Points(it) => Some(it),
            _ => None,
        })
        .collect()
}

fn ranking(grades: Vec<(String, Joint)>) -> Ranking {
    let (ranked, failed) = rank(grades, &Settings::standard(), &Silent);
    let of = |it: Graded| {
        let (upper, lower) = (&it.joint.upper.material, &it.joint.lower.material);
        let pair = pair_table::of(upper, lower).unwrap();
        (it, pair)
    };
    Ranking {
        grades: ranked.into_iter().map(of).collect(),
        failed,
    }
}

#[test]
fn ranked_grades_say_who_passes_without_colour() {
    let grade = |name: &str, power_w: f64, thickness_m: f64| {
        let mut joint = joints::clear_on_black();
        joint.beam.power_w = power_w;
        joint.upper.thickness_m = thickness_m;
        (format!("grades/{name}.csv"), joint)
    };
    let mut shut = grade("shut", 9.0, 1.5e-3);
    if let Some(machine) = &mut shut.1.machine {
        machine.power_w = (0.5, 0.6);
    }
    let it = ranking(vec![
        grade("cold", 1.0, 1.5e-3),
        grade("good", 9.0, 2e-3),
        grade("better", 9.0, 1e-3),
        grade("hot", 59.0, 1.2e-3),
        shut,
    ]);
    let figure = rank_figure(&it);
    let of = |marker: Marker| -> Vec<[f64; 2]> {
        let all = points(&figure);
        let same = all.into_iter().filter(|it| it.marker == marker);
        same.flat_map(|it| it.points.clone()).collect()
    };
    let sound = it.grades.iter().filter(|it| it.0.is_sound()).count();
    let (passing, cold, hot) = (of(Marker::Disc), of(Marker::Ring), of(Marker::Diamond));
    // The shut one is sound at the setpoint of its file, but its laser does not reach it.
    assert_eq!((sound, passing.len(), cold.len(), hot.len()), (3, 2, 1, 1));
    // The words of a kind stand in the legend once.
    let mut words: Vec<&str> = points(&figure)
        .iter()
        .map(|it| {
            assert_eq!(it.label.place, Place::Legend);
            it.label.text.as_str()
        })
        .collect();
    assert!(words[0].starts_with("passes: sound"), "{words:?}");
    let count = words.len();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), count);
    // The axis is that of the drifts; what has none stands at its end.
    let [first, last] = figure.x.range.unwrap();
    let drifts: Vec<f64> = it
        .grades
        .iter()
        .filter_map(|it| it.0.drift())
        .map(|it| 100.0 * it)
        .collect();
    assert_eq!(drifts.len(), 4);
    let (low, high) = (
        drifts.iter().copied().fold(f64::INFINITY, f64::min),
        drifts.iter().copied().fold(0.0, f64::max),
    );
    assert!(first < low && high < last);
    let room = (0.3 * (high - low)).max(0.05 * high);
    assert!(low - first <= room && last - high <= room, "{first} {last}");
    assert_eq!(of(Marker::Saltire), [[first, 3.0]]);
    assert!(figure.note.contains("left edge"));
    // A row a grade, in their order, told by name and transmittance.
    let ticks = figure.y.ticks.as_ref().unwrap();
    let names: Vec<&str> = ticks
        .iter()
        .map(|it| it.label.split(", T ").next().unwrap())
        .collect();
    assert_eq!(names.len(), 5);
    assert!(names[..2].contains(&"good") && names[..2].contains(&"better"));
    assert_eq!(names[2], "shut");
    assert!(ticks.is_sorted_by(|a, b| b.at < a.at));
}

#[test]
fn both_sides_of_the_limit_are_resolved_on_a_map_of_margins() {
    for low in [-0.03, -0.4, -1.0, -2.2, -9.8, -70.0, -1e4] {
        for high in [0.02, 0.12, 0.47, 0.9, 3.0] {
            let levels = margin_levels([0.3 * high, low, f64::NAN, high].into_iter());
            assert!(levels.is_sorted_by(|a, b| a < b), "{levels:?}");
            assert!(levels.contains(&0.0));
            let inside = |it: &&f64| low < **it && **it < high;
            let within: Vec<f64> = levels.iter().filter(inside).copied().collect();
            let above = within.iter().filter(|it| 0.0 < **it).count();
            let below = within.iter().filter(|it| **it < 0.0).count();
            assert!((2..=8).contains(&above), "{low} to {high}: {levels:?}");
            assert!(below <= 8, "{low} to {high}: {levels:?}");
            // A side less deep than a step of the other needs no line of its own.
            let step = levels.iter().copied().find(|it| 0.0 < *it).unwrap();
            assert!(2 <= below || -low <= 2.0 * step, "{levels:?}");
            // Deep sides leave no more than two thirds of themselves in one band.
            let deepest = within.first().copied().unwrap();
            assert!(-low <= 5.0 * step || 3.0 * (deepest - low) <= -2.0 * low);
        }
    }
    // Maps without a sound or without an unsound weld.
    assert!(3 <= margin_levels([-0.9, -0.2].into_iter()).len());
    assert!(3 <= margin_levels([0.1, 0.4].into_iter()).len());
    assert_eq!(margin_levels([f64::NAN].into_iter()), [0.0]);
}

fn many_passes(thickness: &str, passes: u32) -> (f64, Figure) {
    let joint = joints::from_text(&format!(
        r#"
upper = {{ material = "pmma", thickness = "{thickness}" }}
lower = {{ material = "pmma", thickness = "2 mm", absorber = {{ kind = "carbon black", content = "0.4 %" }} }}
beam = {{ wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "36 W" }}
motion = {{ mode = "quasi-simultaneous", path_length = "180 mm", speed = "3 m/s", passes = {passes} }}
"#
    ));
    let outcome = simulate(
        std::slice::from_ref(&joint),
        &Settings::standard().recording(),
    )
    .remove(0)
    .unwrap();
    let figure = time_figure(&joint, &outcome).unwrap();
    let record = outcome.history.record.unwrap();
    let hottest = (0..record.time_s.len())
        .max_by(|&a, &b| record.laser_side_k[a].total_cmp(&record.laser_side_k[b]))
        .unwrap();
    (record.time_s[hottest], figure)
}

#[test]
fn a_peak_that_comes_late_is_shown_or_told() {
    // Heat needs seconds through 1.5 mm, against 1.14 s of light; two thirds of the way take half as long.
    let (peak_s, far) = many_passes("1.5 mm", 20);
    let shown_s = far.x.range.unwrap()[1];
    assert!(2.0 * shown_s < peak_s, "{shown_s} {peak_s}");
    let told = format!("is hottest at {}", number::duration(peak_s, 2));
    assert!(far.note.contains(&told), "{told}: {}", far.note);
    // Curves run to the end of what is shown, in one point beyond it.
    for mark in &far.marks {
        if let Mark::Line(it) = mark {
            let beyond = it.points.iter().filter(|it| shown_s < it[0]).count();
            assert_eq!(beyond, 1, "{}", it.label.text);
        }
    }
    let (peak_s, near) = many_passes("1 mm", 20);
    let shown_s = near.x.range.unwrap()[1];
    assert!(
        2.5 * 1.14 < peak_s && peak_s < shown_s,
        "{peak_s} {shown_s}"
    );
    assert!(!near.note.contains("Later than shown"), "{}", near.note);
}

#[test]
fn passes_that_are_not_followed_one_by_one_are_named() {
    let resolved = heat::Settings::standard().most_resolved_passes;
    let note = |passes: u32| many_passes("1.5 mm", passes).1.note;
    let last = 20 - resolved;
    assert!(note(20).starts_with(&format!("Passes 2 to {last} are spread evenly")));
    assert!(note(resolved + 2).starts_with("Pass 2 is spread evenly"));
    assert!(!note(resolved + 1).contains("spread"));
}
