#![allow(missing_docs, clippy::all)]
#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;
use joints::*;
use lightseam::heat::*;
fn q(v: &mut Vec<f64>) -> String {
    v.sort_by(f64::total_cmp);
    let n = v.len();
    format!(
        "50% {:.4} 75% {:.4} 90% {:.4} 99% {:.4} max {:.4}",
        v[n / 2],
        v[n * 3 / 4],
        v[n * 9 / 10],
        v[n * 99 / 100],
        v[n - 1]
    )
}
fn main() {
    let args: Vec<f64> = std::env::args()
        .skip(1)
        .map(|x| x.parse().unwrap())
        .collect();
    let mut dice = Dice(12345);
    let cols: Vec<Column> = (0..200).map(|_| random_joint(&mut dice)).collect();
    let fine: Vec<_> = run(&cols, &Settings::fine())
        .into_iter()
        .map(|x| x.unwrap())
        .collect();
    for a in args.chunks(3) {
        let mut s = Settings::standard();
        s.cells_per_e_fold = a[0];
        s.even_share = a[1];
        s.tolerance = a[2];
        let r: Vec<_> = run(&cols, &s).into_iter().map(|x| x.unwrap()).collect();
        let mut dt = vec![];
        let mut body = vec![];
        let mut up = vec![];
        let mut lo = vec![];
        let mut cost = vec![];
        let mut laser = vec![];
        let mut above = vec![];
        let mut bad = vec![];
        for (i, (a, b)) in r.iter().zip(&fine).enumerate() {
            let rise = b.interface_peak_upper_k.max(b.interface_peak_lower_k) - 296.15;
            let lim = 0.5f64.max(1e-3 * (rise + 296.15));
            let e = ((a.interface_peak_upper_k - b.interface_peak_upper_k).abs())
                .max((a.interface_peak_lower_k - b.interface_peak_lower_k).abs());
            dt.push(e / lim);
            if e / lim > 1.0 {
                bad.push((i, e, rise, a.counters, cols[i].exposure.dwell_s))
            }
            body.push((a.body_peak_k - b.body_peak_k).abs());
            laser.push((a.laser_side_peak_k - b.laser_side_peak_k).abs());
            if b.upper_melt_depth_m > 5e-6
                && b.upper_melt_depth_m < cols[i].bodies[0].thickness_m * 0.99
            {
                up.push((a.upper_melt_depth_m / b.upper_melt_depth_m - 1.).abs() * 100.);
            }
            if b.lower_melt_depth_m > 5e-6
                && b.lower_melt_depth_m < cols[i].bodies[1].thickness_m * 0.99
            {
                lo.push((a.lower_melt_depth_m / b.lower_melt_depth_m - 1.).abs() * 100.);
            }
            if b.time_above_flow_s > 0. {
                above.push((a.time_above_flow_s / b.time_above_flow_s - 1.).abs() * 100.);
            }
            cost.push((a.counters.cells * (a.counters.steps + a.counters.rejected)) as f64);
        }
        println!(
            "{a:?} bad T {} up {} lo {} above1% {} body {} laser {} cost {:.0}",
            dt.iter().filter(|x| **x > 1.).count(),
            up.iter().filter(|x| **x > 2.).count(),
            lo.iter().filter(|x| **x > 2.).count(),
            above.iter().filter(|x| **x > 1.).count(),
            body.iter().filter(|x| **x > 0.5).count(),
            laser.iter().filter(|x| **x > 0.5).count(),
            cost.iter().sum::<f64>() / 200.
        );
        if std::env::var("V").is_ok() {
            println!(
                "== {a:?}\n T/lim {}\n body {}\n laser {}\n up% {} ({})\n lo% {} ({})\n above% {} ({})\n cost {} mean {:.0}\n {:?}",
                q(&mut dt),
                q(&mut body),
                q(&mut laser),
                {
                    let n = up.len();
                    let _ = n;
                    q(&mut up)
                },
                up.len(),
                q(&mut lo),
                lo.len(),
                q(&mut above),
                above.len(),
                {
                    let m = cost.iter().sum::<f64>() / 200.;
                    let s = q(&mut cost);
                    format!("{s} mean {m:.0}")
                },
                0.0,
                bad.iter().take(4).collect::<Vec<_>>()
            );
        }
    }
}
