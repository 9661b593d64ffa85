#![allow(missing_docs, clippy::all)]
#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;
use joints::*;
use lightseam::heat::*;
use lightseam::units::celsius;
use std::time::Instant;

fn rate(s: &Settings, n: usize) -> f64 {
    let base = reference_joint(20e6);
    let cols: Vec<Column> = (0..n)
        .map(|i| {
            let mut c = base.clone();
            c.exposure.irradiance_w_per_m2 = 20e6 * (0.8 + 0.4 * (i as f64) / (n as f64));
            c
        })
        .collect();
    let mut best = f64::INFINITY;
    for _ in 0..3 {
        let t = Instant::now();
        let c0 = cpu();
        let r = run(&cols, s);
        assert!(r.iter().all(|x| x.is_ok()));
        let _ = t;
        best = best.min((cpu() - c0) / 2.0);
    }
    n as f64 / best
}

fn cpu() -> f64 {
    // all threads
    let mut t = 0.0;
    for d in std::fs::read_dir("/proc/self/task").unwrap() {
        let s = std::fs::read_to_string(d.unwrap().path().join("schedstat")).unwrap();
        t += s.split(' ').next().unwrap().parse::<f64>().unwrap();
    }
    t * 1e-9
}
fn main() {
    if std::env::args().nth(1).as_deref() == Some("prof") {
        let s = Settings::standard();
        for _ in 0..5 {
            rate(&s, 4096);
        }
        return;
    }
    let args: Vec<f64> = std::env::args()
        .skip(1)
        .map(|x| x.parse().unwrap())
        .collect();
    let refs = [
        (
            20e6,
            523.63686,
            709.94817,
            0.0062640683,
            0.49354804,
            0.10505655,
            0.26705031,
        ),
        (
            8e6,
            242.78656,
            318.27622,
            0.017275038,
            0.01549086,
            0.0058912826,
            0.12317142,
        ),
    ];
    let list: Vec<[f64; 3]> = if args.len() >= 3 {
        args.chunks(3).map(|x| [x[0], x[1], x[2]]).collect()
    } else {
        vec![
            [8., 0.5, 0.3],
            [4.5, 0.5, 0.3],
            [4.5, 0.5, 1.0],
            [4.5, 0.5, 3.0],
        ]
    };
    for [c, e, tol] in list {
        let mut s = Settings::standard();
        s.cells_per_e_fold = c;
        s.even_share = e;
        s.tolerance = tol;
        for r in refs {
            let h = run(&[reference_joint(r.0)], &s);
            let h = h[0].as_ref().unwrap();
            println!(
                "{c} {e} {tol} n {} steps {}+{}: dT {:+.3} K body {:+.3} K first {:+.3}% above {:+.3}% up {:+.2}% lo {:+.2}% laser {:.3} end {:.2}",
                h.counters.cells,
                h.counters.steps,
                h.counters.rejected,
                celsius(h.interface_peak_upper_k) - r.1,
                celsius(h.body_peak_k) - r.2,
                100. * (h.first_flow_s.unwrap_or(0.) / r.3 - 1.),
                100. * (h.time_above_flow_s / r.4 - 1.),
                100. * (h.upper_melt_depth_m * 1e3 / r.5 - 1.),
                100. * (h.lower_melt_depth_m * 1e3 / r.6 - 1.),
                celsius(h.laser_side_peak_k),
                h.end_s
            );
        }
        if args.is_empty() {
        } else {
            continue;
        }
        println!("   {:.0} solves/s", rate(&s, 4096));
    }
}
