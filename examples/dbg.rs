#![allow(missing_docs, clippy::all)]
#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;
use joints::*;
use lightseam::heat::*;
use std::sync::Arc;
fn main() {
    let thermal = Arc::new(plain(1130.0, 1900.0, 0.27));
    for mu in [1e4, 1e5, 1e6, 1e7, 1e8] {
        let mut column = two_layers(
            [body(&thermal, 6e-3, 0), body(&thermal, 5e-3, 1)],
            beer_lambert([mu, mu], [6e-3, 5e-3]),
            pulse(3.1e4, 0.7),
        );
        column.laser_side.coefficient_w_per_m2_k = 0.0;
        column.far_side.coefficient_w_per_m2_k = 0.0;
        let mut s = Settings::standard();
        s.record = true;
        let h = run(&[column], &s).remove(0).unwrap();
        let r = h.record.unwrap();
        println!(
            "{mu} {} {:?} {:?} steps {:?}",
            h.laser_side_peak_k - 296.15,
            h.ledger,
            h.counters,
            r.time_s.len()
        );
        let i = r.time_s.iter().position(|&t| t >= 0.7).unwrap();
        println!("{:?}", &r.depth_m[..5]);
        println!("{:?}", &r.temperature_k[i][..8]);
        for j in 1..5 {
            println!("  t {:.3e} {:.3}", r.time_s[j], r.laser_side_k[j]);
        }
    }
}
