//! The fast approximation against the exact method, and its exact limits.

use lightseam::material::optical::OpticalConstants;
use lightseam::optics::absorbed::Absorbed;
use lightseam::optics::{self, Method, Slab, Stack};

use super::published::{number, rows, slab};

fn follow(stack: &Stack, method: Method) -> Absorbed {
    optics::absorb(stack, method).unwrap()
}

/// The welding stacks of `tests/support`, per mm: scattering lids on black bodies.
fn welding_stacks() -> Vec<Stack> {
    let mut all = Vec::new();
    for mu_s in [2.0, 5.0, 10.0, 20.0, 40.0] {
        for mu_a in [0.01, 0.05, 0.2] {
            for (thickness_mm, lower) in [(1.0, 5.0), (2.0, 10.0), (3.0, 25.0)] {
                all.push(Stack::contact(
                    slab(1.5, thickness_mm, [mu_a, mu_s, 0.9]),
                    slab(1.5, 2.0, [lower, 0.0, 0.0]),
                ));
            }
        }
    }
    all
}

#[test]
fn print_the_errors() {
    for stack in welding_stacks() {
        let (fast, exact) = (
            follow(&stack, Method::TwoFlux),
            follow(&stack, Method::AddingDoubling),
        );
        let left = |it: &Absorbed, z_mm: f64| {
            1.0 - it.layers[1].cumulative(z_mm * 1e-3) / it.delivered_to_interface()
        };
        let worst = (1..40)
            .map(|i| 0.01 * f64::from(i))
            .map(|z| left(&fast, z) - left(&exact, z))
            .fold(0.0f64, |a, b| if a.abs() < b.abs() { b } else { a });
        println!(
            "{:?} {:.4} {:.4} ratio {:.4} left {:.4}",
            stack.slabs[0].constants,
            fast.delivered_to_interface(),
            exact.delivered_to_interface(),
            fast.delivered_to_interface() / exact.delivered_to_interface(),
            worst
        );
    }
}

#[test]
fn print_slab_totals() {
    for row in rows("light-slab-totals.csv").iter().take(3) {
        let _ = number(row("UR1"));
    }
    let _ = OpticalConstants {
        n: 1.0,
        mu_a_per_m: 0.0,
        mu_s_per_m: 0.0,
        g: 0.0,
    };
    let _: Option<Slab> = None;
}
