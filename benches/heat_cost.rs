//! Heat conduction: solves per second, error beside it, and cost against the number of cases.
//!
//! `cargo bench --bench heat_cost` takes half a minute; with `-- cases=10000000` it goes on to that
//! many cases, with `-- random` it compares 200 random joints with fine settings, with
//! `-- peer` it prints one line for `benches/method_of_lines.py`. Settings can be changed:
//! `cells=4 even=0.25 tolerance=0.01`.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;

use std::time::Instant;

use joints::{Dice, random_joint, reference_joint};
use lightseam::heat::{Column, Settings, run};
use lightseam::units::celsius;

/// Interface peak, °C, and melt depths, mm, of the reference problem with 20 and 8 W/mm²
/// (`tests/published/heat-two-layer.csv`).
const CONVERGED: [(&str, f64, [f64; 3]); 2] = [
    ("A1", 20e6, [523.63686, 0.10505655, 0.26705031]),
    ("B", 8e6, [242.78656, 0.0058912826, 0.12317142]),
];

/// Columns solved at a time, to bound the memory of the inputs.
const BLOCK: usize = 100_000;

/// Joints like the strong reference case, powers within 20 %.
fn like_the_reference(from: usize, count: usize, of: usize) -> Vec<Column> {
    let joint = reference_joint(20e6);
    (from..from + count)
        .map(|i| {
            let mut joint = joint.clone();
            joint.exposure.irradiance_w_per_m2 *= 0.8 + 0.4 * i as f64 / of as f64;
            joint
        })
        .collect()
}

/// Seconds for `count` cases.
fn time(count: usize, settings: &Settings) -> f64 {
    let mut seconds = 0.0;
    let mut from = 0;
    while from < count {
        let columns = like_the_reference(from, BLOCK.min(count - from), count);
        let start = Instant::now();
        let solved = run(&columns, settings);
        seconds += start.elapsed().as_secs_f64();
        assert!(solved.iter().all(Result::is_ok));
        from += columns.len();
    }
    seconds
}

fn print_errors(settings: &Settings) {
    for (name, irradiance, exact) in CONVERGED {
        let history = run(&[reference_joint(irradiance)], settings)
            .remove(0)
            .unwrap();
        println!(
            "{name}: peak {:+.3} K, melt depths {:+.2} % and {:+.2} %; {} cells, {} steps and {} thrown away",
            celsius(history.interface_peak_upper_k) - exact[0],
            100.0 * (1e3 * history.upper_melt_depth_m / exact[1] - 1.0),
            100.0 * (1e3 * history.lower_melt_depth_m / exact[2] - 1.0),
            history.counters.cells,
            history.counters.steps,
            history.counters.rejected,
        );
    }
}

/// How many of 200 random joints are off by more than is asked for, against fine settings.
fn print_random(settings: &Settings) {
    let mut dice = Dice(12_345);
    let columns: Vec<Column> = (0..200).map(|_| random_joint(&mut dice)).collect();
    let fine = run(&columns, &Settings::fine());
    let found = run(&columns, settings);
    let (mut peaks, mut depths, mut melted, mut twice) = (0, 0, 0, 0);
    for (found, fine) in found.iter().zip(&fine) {
        let (found, fine) = (found.as_ref().unwrap(), fine.as_ref().unwrap());
        twice += usize::from(found.first_run.is_some());
        for (a, b) in [
            (found.interface_peak_upper_k, fine.interface_peak_upper_k),
            (found.interface_peak_lower_k, fine.interface_peak_lower_k),
        ] {
            peaks += usize::from(0.5_f64.max(1e-3 * celsius(b)) < (a - b).abs());
        }
        for (a, b) in [
            (found.upper_melt_depth_m, fine.upper_melt_depth_m),
            (found.lower_melt_depth_m, fine.lower_melt_depth_m),
        ] {
            if 0.0 < a || 0.0 < b {
                melted += 1;
                depths += usize::from(0.02 * b < (a - b).abs());
            }
        }
    }
    println!(
        "random joints: {peaks} of 400 peaks off by more than 0.5 K and 0.1 %, {depths} of {melted} melt depths by more than 2 %; {twice} of 200 solved twice"
    );
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, usual: f64| {
        let given = words
            .iter()
            .find_map(|it| it.strip_prefix(name)?.strip_prefix('='));
        given.map_or(usual, |it| it.parse().unwrap())
    };
    let standard = Settings::standard();
    let settings = Settings {
        cells_per_e_fold: number("cells", standard.cells_per_e_fold),
        even_share: number("even", standard.even_share),
        tolerance: number("tolerance", standard.tolerance),
        reach: number("reach", standard.reach),
        ..standard
    };
    if words.iter().any(|it| it == "peer") {
        let joint = [reference_joint(20e6)];
        let history = run(&joint, &settings).remove(0).unwrap();
        let start = Instant::now();
        for _ in 0..200 {
            run(&joint, &settings);
        }
        let single = start.elapsed().as_secs_f64() / 200.0;
        println!(
            "peer {} {} {}",
            celsius(history.interface_peak_upper_k),
            single,
            time(4096, &settings) / 4096.0
        );
        return;
    }
    print_errors(&settings);
    if words.iter().any(|it| it == "random") {
        print_random(&settings);
    }
    let most = number("cases", 1e5);
    let threads = rayon::current_num_threads();
    println!("cases      seconds     solves/s on {threads} threads   µs per solve");
    let mut count = 1000;
    while count as f64 <= most {
        let seconds = time(count, &settings);
        let rate = count as f64 / seconds;
        println!("{count:<10} {seconds:<11.3} {rate:<28.0} {:.2}", 1e6 / rate);
        count *= 10;
    }
}
