//! The two-layer reference problem with melting, at the standard settings.

use lightseam::heat::{History, Settings, run};
use lightseam::units::celsius;

use crate::heat::joints::reference_joint;

#[test]
fn explore() {
    for (name, top) in [("A1", 20e6), ("B", 8e6)] {
        for (c, e, tol) in [
            (4.5, 0.5, 1.0),
            (4.5, 0.5, 0.1),
            (4.5, 0.5, 0.01),
            (9.0, 0.5, 0.01),
            (18.0, 0.5, 0.01),
            (36., 0.5, 0.01),
            (36., 0.5, 0.001),
        ] {
            let mut s = Settings::standard();
            s.cells_per_e_fold = c;
            s.even_share = e;
            s.tolerance_k = tol;
            let r = run(&[reference_joint(top)], &s);
            let h = r[0].as_ref().unwrap();
            println!(
                "{name} {c} {e} {tol}: T {:.4} {:.4} first {:.7} above {:.6} up {:.5} lo {:.5} laser {:.3} end {} n {} steps {} rej {} ledger {:.2e}",
                celsius(h.interface_peak_upper_k),
                celsius(h.body_peak_k),
                h.first_flow_s.unwrap_or(0.),
                h.time_above_flow_s,
                1e3 * h.upper_melt_depth_m,
                1e3 * h.lower_melt_depth_m,
                celsius(h.laser_side_peak_k),
                h.end_s,
                h.counters.cells,
                h.counters.steps,
                h.counters.rejected,
                h.ledger.relative_residual()
            );
        }
    }
}
