#![allow(missing_docs, clippy::all)]
#[path = "../tests/heat/joints.rs"]
#[allow(dead_code)]
mod joints;
use joints::*;
use lightseam::heat::*;
use lightseam::material::thermal::LatentHeat;
use std::sync::Arc;
fn main() {
    for (lat, width, wallk) in [
        (0.0, 1.0, 1e5),
        (1.1e5, 1.0, 1e5),
        (1.1e5, 20.0, 1e5),
        (1.1e5, 1.0, 1e3),
    ] {
        let wall = Arc::new(plain(wallk, wallk, wallk));
        let mut th = plain(1050., 2300., 0.22);
        if lat > 0.0 {
            th.latent_heat = Some(sourced(LatentHeat {
                heat_j_per_kg: lat,
                from_k: 490. - width / 2.,
                to_k: 490. + width / 2.,
            }));
        }
        th.flow_temperature_k = sourced(490.0);
        let th = Arc::new(th);
        let mut c = two_layers(
            [body(&wall, 5e-3, 0), body(&th, 6e-3, 1)],
            beer_lambert([10.0, 10.0], [5e-3, 6e-3]),
            pulse(0.0, 0.025),
        );
        c.bodies[0].initial_k = 600.0;
        c.bodies[1].initial_k = 490. - width / 2.;
        c.laser_side.coefficient_w_per_m2_k = 0.0;
        c.far_side.coefficient_w_per_m2_k = 0.0;
        let mut s = Settings::standard();
        s.record = true;
        s.longest_s = 2.475;
        s.cells_per_e_fold = 20.0;
        let h = run(&[c], &s).remove(0).unwrap();
        let r = h.record.unwrap();
        println!(
            "{lat} {width} {wallk} depth {} {:?} {:?} end {}",
            h.lower_melt_depth_m, h.ledger, h.counters, h.end_s
        );
        let row = r.temperature_k.last().unwrap();
        for (z, t) in r
            .depth_m
            .iter()
            .zip(row)
            .filter(|(z, _)| **z > 4.9999e-3 && **z < 6.3e-3)
            .step_by(6)
        {
            let x = (z - 5e-3) / (2.0 * (0.22f64 / 1050. / 2300. * 2.5).sqrt());
            print!(
                "({:.1} {:.2} erfc {:.2}) ",
                (z - 5e-3) * 1e6,
                t,
                if lat == 0.0 {
                    489.5 + 110.5 * libm::erfc(x)
                } else {
                    600. - 110. * libm::erf(x) / libm::erf(0.8354)
                }
            );
        }
        println!();
    }
}
