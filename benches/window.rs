//! One weld and one window, from a posed joint to the answer: light, heat and verdict included.

use std::hint::black_box;

use criterion::Criterion;
use lightseam::input::{joint_file, library};
use lightseam::study::Silent;
use lightseam::study::window::window;
use lightseam::weld::{Settings, simulate};

const JOINT: &str = r#"
upper = { material = "pp", thickness = "1.5 mm" }
lower = { material = "pp", thickness = "2 mm", absorber = { kind = "carbon black", content = "0.4 %" } }
beam = { wavelength = "980 nm", length = "1.5 mm", width = "1.5 mm", power = "7 W" }
motion = { mode = "contour", speed = "40 mm/s" }
machine = { power = ["1 W", "40 W"], speed = ["5 mm/s", "200 mm/s"] }
"#;

/// One weld with its light remembered, and one window that follows its light anew.
pub fn bench(criterion: &mut Criterion) {
    let Ok((joint, _)) = joint_file::parse(JOINT, "joint.toml", &library::no_files) else {
        return;
    };
    let mut group = criterion.benchmark_group("weld");
    group.sample_size(10);
    let settings = Settings::standard();
    group.bench_function("one solve", |b| {
        b.iter(|| simulate(black_box(std::slice::from_ref(&joint)), &settings));
    });
    group.bench_function("one window", |b| {
        b.iter(|| window(black_box(&joint), &Settings::standard(), &Silent));
    });
    group.finish();
}
