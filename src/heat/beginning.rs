//! Rates of the enthalpy at the very beginning, which later steps hand on.

use crate::heat::case::Case;
use crate::heat::properties::Curves;
use crate::numerics::tridiagonal::Excess;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::factor;
use crate::numerics::tridiagonal::solve;

/// Writes how fast enthalpies rise by conduction, and in unit light, at the temperatures of the
/// start; `curves` are those of the bodies.
pub fn set_rates(case: &mut Case, curves: &[&Curves]) {
    let n = case.volume.len();
    let layout = case.layout;
    // Conduction in the first lane, light in the next ones.
    let mut rates = vec![[0.0; LANES]; n];
    let lights = std::iter::once(&case.light).chain(&case.wetted);
    for (lane, light) in (1..).zip(lights) {
        for (rates, share) in rates.iter_mut().zip(&light.share) {
            rates[lane] = *share;
        }
    }
    let mut exchange = |i: usize, heat: f64| {
        rates[i][0] -= heat;
        rates[i + 1][0] += heat;
    };
    for (b, curves) in curves.iter().enumerate() {
        let (first, last) = layout.nodes_of(b);
        for i in first..last {
            let [here, next] = [i, i + 1].map(|i| case.start_k[i]);
            if here != next {
                let [here, next] = [here, next].map(|t| curves.potential_w_per_m(t));
                exchange(i, case.link[i] * (here - next));
            }
        }
        if b + 1 < layout.bodies && !layout.merged[b] {
            exchange(
                last,
                case.link[last] * (case.start_k[last] - case.start_k[last + 1]),
            );
        }
    }
    for (side, i) in [(0, 0), (1, n - 1)] {
        let face = &case.faces[side];
        case.loss_w_per_m2[side] = face.coefficient_w_per_m2_k * (case.start_k[i] - face.ambient_k);
        rates[i][0] -= case.loss_w_per_m2[side];
    }
    let lanes = |all: &[f64], sign: f64| -> Vec<[f64; LANES]> {
        all.iter().map(|it| [sign * it; LANES]).collect()
    };
    let excess = lanes(&case.volume, 1.0);
    let left = lanes(&case.mass_left, -1.0);
    let right = lanes(&case.mass_right, -1.0);
    let matrix = Excess {
        excess: &excess,
        left: &left,
        right: &right,
    };
    let mut pivot = vec![[0.0; LANES]; n];
    factor(matrix, &mut pivot);
    solve(matrix, &pivot, &mut rates);
    let lane = |lane: usize| rates.iter().map(|it| it[lane]).collect();
    case.conducted = lane(0);
    case.light.heating = lane(1);
    if let Some(wetted) = &mut case.wetted {
        wetted.heating = lane(2);
    }
}
