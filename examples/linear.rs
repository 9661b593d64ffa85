#![allow(missing_docs, clippy::all)]
#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;
use joints::*;
use lightseam::heat::*;
use lightseam::units::celsius;
use std::sync::Arc;
fn main() {
    for kind in 0..3 {
        let mut th = reference_material();
        if kind == 0 {
            th = plain(1130., 2500., 0.25);
        }
        if kind == 1 {
            th.latent_heat = None;
        }
        let th = Arc::new(th);
        for (c, e, tol) in [
            (40., 0.5, 0.003),
            (4.5, 0.5, 0.003),
            (4.5, 1., 0.003),
            (4.5, 2., 0.003),
            (3.0, 0.5, 0.003),
            (3.0, 0.25, 0.003),
            (6.0, 2.0, 0.003),
        ] {
            let mut j = reference_joint(20e6);
            for b in &mut j.bodies {
                b.thermal = Arc::clone(&th);
            }
            let mut s = Settings::standard();
            s.cells_per_e_fold = c;
            s.even_share = e;
            s.tolerance = tol;
            let h = run(&[j], &s);
            let h = h[0].as_ref().unwrap();
            println!(
                "kind {kind} {c} {e} n {} steps {}: T {:.3} body {:.3} up {:.5} lo {:.5} above {:.5}",
                h.counters.cells,
                h.counters.steps,
                celsius(h.interface_peak_upper_k),
                celsius(h.body_peak_k),
                h.upper_melt_depth_m * 1e3,
                h.lower_melt_depth_m * 1e3,
                h.time_above_flow_s
            );
        }
    }
}
