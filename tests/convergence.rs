//! Error against cost of the heat stage, and where the standard settings sit: `reports/heat-convergence`.
//!
//! Cost is the number of nodes times steps tried, those of a first run whose answer was in doubt included;
//! it does not depend on the machine. Errors are
//! given over what is allowed: 0.5 K or 0.1 % at the interface, 2 % of a melt depth. The values
//! compared with are converged ones for A1 and B, and those of fine settings for random joints.
//! `.ci/run accept` solves all anew; the plain tests only what the standard settings give.

use std::fmt::Write;
use std::fs;

use lightseam::heat::{Column, History, Settings, run};
use lightseam::report::figure::{Axis, Dash, Figure, Label, Line, Mark, Marker, Rule, Stroke};
use lightseam::report::palette::Role;
use lightseam::report::{png, svg};
use lightseam::units::celsius;

use crate::heat::joints::{Dice, random_joint, reference_joint};
use crate::support::{accepting, project};

/// Random joints compared.
const JOINTS: usize = 200;

/// Irradiance, W/m², and converged peak, °C, and melt depths, m
/// (`tests/published/heat-two-layer.csv`).
const REFERENCE: [(f64, [f64; 3]); 2] = [
    (20e6, [523.63686, 0.10505655e-3, 0.26705031e-3]),
    (8e6, [242.78656, 0.0058912826e-3, 0.12317142e-3]),
];

/// Cells for a factor e, and tolerance, from coarse to fine.
const SETTINGS: [(f64, f64); 9] = [
    (2.5, 0.014),
    (3.0, 0.007),
    (3.5, 0.004),
    (4.0, 0.0027),
    (5.0, 0.002),
    (6.0, 0.0013),
    (8.0, 0.0007),
    (10.0, 0.00033),
    (14.0, 0.00013),
];

fn settings(cells_per_e_fold: f64, tolerance: f64) -> Settings {
    Settings {
        cells_per_e_fold,
        tolerance,
        ..Settings::standard()
    }
}

fn solved(columns: &[Column], settings: &Settings) -> Vec<History> {
    run(columns, settings)
        .into_iter()
        .map(Result::unwrap)
        .collect()
}

/// Nodes times steps tried, on average.
fn cost(all: &[History]) -> f64 {
    let sum: usize = all
        .iter()
        .flat_map(|it| [Some(it.counters), it.first_run])
        .flatten()
        .map(|it| (it.cells + 1) * (it.steps + it.rejected))
        .sum();
    sum as f64 / all.len() as f64
}

fn peak_error(found_k: f64, exact_k: f64) -> f64 {
    (found_k - exact_k).abs() / 0.5_f64.max(1e-3 * celsius(exact_k))
}

fn depth_error(found_m: f64, exact_m: f64) -> f64 {
    (found_m - exact_m).abs() / (0.02 * exact_m)
}

/// The largest error of peak and of depths on A1 and B, over what is allowed.
fn reference_errors(settings: &Settings) -> [f64; 2] {
    let mut worst = [0.0_f64; 2];
    for (irradiance, exact) in REFERENCE {
        let it = solved(&[reference_joint(irradiance)], settings).remove(0);
        let exact_k = exact[0] + 273.15;
        worst[0] = worst[0].max(peak_error(it.interface_peak_upper_k, exact_k));
        worst[1] = worst[1]
            .max(depth_error(it.upper_melt_depth_m, exact[1]))
            .max(depth_error(it.lower_melt_depth_m, exact[2]));
    }
    worst
}

fn percentile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share) as usize]
}

/// Errors of peaks and of melt depths, over what is allowed.
fn errors(found: &[History], fine: &[History]) -> [Vec<f64>; 2] {
    let mut peaks = Vec::new();
    let mut depths = Vec::new();
    for (found, fine) in found.iter().zip(fine) {
        peaks.push(peak_error(
            found.interface_peak_upper_k,
            fine.interface_peak_upper_k,
        ));
        peaks.push(peak_error(
            found.interface_peak_lower_k,
            fine.interface_peak_lower_k,
        ));
        for (a, b) in [
            (found.upper_melt_depth_m, fine.upper_melt_depth_m),
            (found.lower_melt_depth_m, fine.lower_melt_depth_m),
        ] {
            if 0.0 < a || 0.0 < b {
                depths.push(depth_error(a, b));
            }
        }
    }
    [peaks, depths]
}

fn random_joints() -> Vec<Column> {
    let mut dice = Dice(12_345);
    (0..JOINTS).map(|_| random_joint(&mut dice)).collect()
}

fn out(errors: &[f64]) -> usize {
    errors.iter().filter(|it| 1.0 < **it).count()
}

/// One row of the table.
fn row(columns: &[Column], fine: &[History], (cells, tolerance): (f64, f64)) -> [f64; 10] {
    let settings = settings(cells, tolerance);
    let found = solved(columns, &settings);
    // The reference joints once: at the coarsest settings A1 would be solved twice.
    let once = Settings {
        most_doubt: f64::INFINITY,
        ..settings
    };
    let [peak, depth] = reference_errors(&once);
    let [mut peaks, mut depths] = errors(&found, fine);
    [
        cells,
        tolerance,
        cost(&solved(&[reference_joint(REFERENCE[0].0)], &once)),
        peak,
        depth,
        cost(&found),
        out(&peaks) as f64 / peaks.len() as f64,
        out(&depths) as f64 / depths.len() as f64,
        percentile(&mut peaks, 0.9),
        percentile(&mut depths, 0.9),
    ]
}

const HEAD: &str = "cells_per_e_fold,tolerance,a1_node_steps,reference_peak,reference_depth,\
                    random_node_steps,random_peaks_out,random_depths_out,random_peak_90,\
                    random_depth_90";

fn figure(rows: &[[f64; 10]]) -> Figure {
    let mut figure = Figure::new(
        "Error against cost of the heat stage",
        Axis::log("Nodes times steps of one solve", ""),
        Axis::log("Error over what is allowed", ""),
    );
    figure.subtitle = "allowed: 0.5 K or 0.1 % at the interface, 2 % of a melt depth".into();
    for (series, (x, y, words)) in [
        (2, 3, "A1 and B, peak"),
        (2, 4, "A1 and B, melt depths"),
        (5, 8, "200 random joints, 90 % of the peaks"),
        (5, 9, "200 random joints, 90 % of the melt depths"),
    ]
    .into_iter()
    .enumerate()
    {
        let dash = [Dash::Solid, Dash::Dashed, Dash::Long, Dash::DashDot][series];
        let points = rows.iter().map(|it| [it[x], it[y]]).collect();
        let mut line = Line::new(
            points,
            Stroke::dashed(Role::Series(series), dash),
            Label::at(lightseam::report::figure::Place::Legend, words),
        );
        line.marker = Some([Marker::Disc, Marker::Ring, Marker::Square, Marker::Diamond][series]);
        figure.marks.push(Mark::Line(line));
    }
    figure.marks.push(Mark::HLine(Rule {
        at: 1.0,
        label: Label::new("allowed"),
        stroke: Stroke::fine(Role::Ink, Dash::Long),
    }));
    let standard = Settings::standard();
    if let Some(it) = rows.iter().find(|it| it[0] == standard.cells_per_e_fold) {
        figure.marks.push(Mark::VLine(Rule {
            at: it[2],
            label: Label::new("standard, A1"),
            stroke: Stroke::fine(Role::Quiet, Dash::Dotted),
        }));
    }
    figure
}

fn words(rows: &[[f64; 10]]) -> String {
    let mut text = String::from(
        "# How fine must the heat be solved?\n\n\
         Made by `LIGHTSEAM_ACCEPT=1 cargo test --release --test all convergence`; all numbers are \
         in `convergence.csv`.\n\n\
         Cost is nodes times steps tried, the same on every machine; `cargo bench --bench heat_cost` \
         gives the time. Errors are over what is allowed: the larger of 0.5 K and 0.1 % at the \
         interface, 2 % of a melt depth. A1 and B are the reference joints of \
         `tests/published/heat-two-layer.csv`, the random joints those of \
         `tests/heat/joints.rs`, compared with fine settings. The last columns are the share of peaks and of \
         melt depths beyond what is allowed. Cells and tolerance are those for a sharply melting material; others \
         take fewer cells and steps (`Settings::fineness`). The few random joints whose melt depths are in \
         doubt are solved again with 2.8 times these cells (`Settings::finer`), which is in the cost; A1 and B \
         are solved once.\n\n\
         ![Error against cost](convergence.svg)\n\n\
         | cells for a factor e | tolerance | cost, A1 | peak | depth | cost, random | peaks out | depths out |\n\
         |---|---|---|---|---|---|---|---|\n",
    );
    let standard = Settings::standard();
    for it in rows {
        let mark = if it[0] == standard.cells_per_e_fold {
            " (standard)"
        } else {
            ""
        };
        let _ = writeln!(
            text,
            "| {}{mark} | {} | {:.0} | {:.2} | {:.2} | {:.0} | {:.1} % | {:.1} % |",
            it[0],
            it[1],
            it[2],
            it[3],
            it[4],
            it[5],
            100.0 * it[6],
            100.0 * it[7]
        );
    }
    text
}

#[test]
fn of_the_heat_stage() {
    let folder = project("reports/heat-convergence");
    if accepting() {
        let columns = random_joints();
        let fine = solved(&columns, &Settings::fine());
        let rows: Vec<[f64; 10]> = SETTINGS
            .iter()
            .map(|it| row(&columns, &fine, *it))
            .collect();
        let mut table = format!("{HEAD}\n");
        for it in &rows {
            let cells: Vec<String> = it.iter().map(|it| format!("{it:.5}")).collect();
            let _ = writeln!(table, "{}", cells.join(","));
        }
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("convergence.csv"), table).unwrap();
        fs::write(folder.join("convergence.md"), words(&rows)).unwrap();
        let drawn = svg::document(&figure(&rows));
        fs::write(folder.join("convergence.png"), png::encode(&drawn).unwrap()).unwrap();
        fs::write(folder.join("convergence.svg"), drawn).unwrap();
    }
    let table = fs::read_to_string(folder.join("convergence.csv")).unwrap();
    let rows: Vec<Vec<f64>> = table
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|it| it.parse().unwrap()).collect())
        .collect();
    let standard = Settings::standard();
    let kept = rows
        .iter()
        .find(|it| it[0] == standard.cells_per_e_fold && it[1] == standard.tolerance)
        .unwrap();
    let [peak, depth] = reference_errors(&standard);
    assert!(
        (peak - kept[3]).abs() < 0.05,
        "peak {peak}, in the table {}",
        kept[3]
    );
    assert!(
        (depth - kept[4]).abs() < 0.05,
        "depth {depth}, in the table {}",
        kept[4]
    );
    assert!(peak < 1.0 && depth < 1.0, "{peak} {depth}");
    // The errors do fall along the table.
    assert!(rows[rows.len() - 1][8] < 0.3 * rows[0][8]);
    assert!(rows[rows.len() - 1][9] < 0.3 * rows[0][9]);
}

#[test]
fn no_random_joint_is_off_by_more_than_allowed() {
    let columns = random_joints();
    let fine = solved(&columns, &Settings::fine());
    let found = solved(&columns, &Settings::standard());
    let [peaks, depths] = errors(&found, &fine);
    assert_eq!((peaks.len(), depths.len()), (400, 341));
    assert_eq!((out(&peaks), out(&depths)), (0, 0));
}
