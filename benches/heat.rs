//! Heat conduction: solves per second at stated settings, with their error printed beside.

#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput};
use lightseam::heat::{Column, History, Settings, run};
use lightseam::units::celsius;

use joints::{Dice, random_joint, reference_joint};

/// Interface peak, °C, and melt depths, mm, of the reference problem with 20 W/mm²
/// (`tests/published/heat-two-layer.csv`).
const CONVERGED: [f64; 3] = [523.63686, 0.10505655, 0.26705031];

/// Joints like the strong reference case, powers within 20 %.
fn like_the_reference(count: usize) -> Vec<Column> {
    (0..count)
        .map(|i| reference_joint(20e6 * (0.8 + 0.4 * i as f64 / count as f64)))
        .collect()
}

fn solved(columns: &[Column], settings: &Settings) -> Vec<History> {
    run(columns, settings)
        .into_iter()
        .filter_map(Result::ok)
        .collect()
}

fn with(cells_per_e_fold: f64, even_share: f64, tolerance: f64) -> Settings {
    Settings {
        cells_per_e_fold,
        even_share,
        tolerance,
        ..Settings::standard()
    }
}

/// What the settings give on the strong reference case.
#[allow(clippy::print_stdout)]
fn print_error(name: &str, settings: &Settings) {
    for history in solved(&[reference_joint(20e6)], settings) {
        println!(
            "{name}: {:+.2} K, melt depths {:+.2} % and {:+.2} %, {} cells, {} steps and {} thrown away",
            celsius(history.interface_peak_upper_k) - CONVERGED[0],
            100.0 * (1e3 * history.upper_melt_depth_m / CONVERGED[1] - 1.0),
            100.0 * (1e3 * history.lower_melt_depth_m / CONVERGED[2] - 1.0),
            history.counters.cells,
            history.counters.steps,
            history.counters.rejected,
        );
    }
}

/// All benchmarks of this stage.
pub fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("heat");
    group.sample_size(10);
    for (name, settings) in [
        ("standard", Settings::standard()),
        ("coarse", with(3.0, 0.5, 0.01)),
    ] {
        print_error(name, &settings);
        let columns = like_the_reference(1024);
        group.throughput(Throughput::Elements(1024));
        group.bench_function(BenchmarkId::new("like the reference", name), |b| {
            b.iter(|| solved(black_box(&columns), &settings));
        });
    }
    let settings = Settings::standard();
    for count in [1, 8, 64, 512, 4096] {
        let columns = like_the_reference(count);
        group.throughput(Throughput::Elements(count as u64));
        group.bench_function(BenchmarkId::new("batch", count), |b| {
            b.iter(|| solved(black_box(&columns), &settings));
        });
    }
    let mut dice = Dice(12_345);
    let columns: Vec<Column> = (0..200).map(|_| random_joint(&mut dice)).collect();
    group.throughput(Throughput::Elements(200));
    group.bench_function("random joints", |b| {
        b.iter(|| solved(black_box(&columns), &settings));
    });
    group.finish();
}
