//! Sobol points against another library, and what a scramble must keep.

use lightseam::numerics::sobol::{DIMENSIONS, Scramble, Sobol};

/// Points of scipy.stats.qmc.Sobol, 32 dimensions.
#[test]
fn plain_points_are_those_of_another_library() {
    let table = include_str!("../published/sobol-points.csv");
    let sobol = Sobol::plain(DIMENSIONS);
    let mut rows = 0;
    for line in table.lines().filter(|it| !it.starts_with(['#', 'i'])) {
        let mut cells = line.split(',');
        let index: u32 = cells.next().unwrap().parse().unwrap();
        for (bits, cell) in sobol.bits(index).zip(cells) {
            let expected: f64 = cell.parse().unwrap();
            assert_eq!(f64::from(bits) / 4_294_967_296.0, expected, "point {index}");
        }
        rows += 1;
    }
    assert_eq!(rows, 9);
}

/// Every interval of a net of 2^m points holds exactly one point, before and after scrambling.
#[test]
fn a_scrambled_net_stays_a_net() {
    for sobol in [Sobol::plain(16), Sobol::scrambled(16, 7, 3)] {
        let points: Vec<Vec<u32>> = (0..256).map(|i| sobol.bits(i).collect()).collect();
        for d in 0..16 {
            let mut cells: Vec<u32> = points.iter().map(|it| it[d] >> 24).collect();
            cells.sort_unstable();
            assert_eq!(cells, (0..256).collect::<Vec<u32>>(), "dimension {d}");
        }
        // The first two dimensions are a (0, 8, 2)-net: 16 × 16 boxes hold one point each.
        let mut boxes: Vec<u32> = points
            .iter()
            .map(|it| (it[0] >> 28) * 16 + (it[1] >> 28))
            .collect();
        boxes.sort_unstable();
        assert_eq!(boxes, (0..256).collect::<Vec<u32>>());
    }
}

#[test]
fn a_scramble_is_a_matrix_and_a_shift() {
    // By hand in the highest two bits: L = [[1, 0], [1, 1]], shift 01.
    let mut scramble = Scramble::none();
    scramble.rows[1] |= 1 << 31;
    scramble.shift = 1 << 30;
    let plain: Vec<u32> = (0..4)
        .flat_map(|i| Sobol::plain(1).bits(i).collect::<Vec<_>>())
        .collect();
    let scrambled: Vec<u32> = (0..4)
        .flat_map(|i| Sobol::with(&[scramble]).bits(i).collect::<Vec<_>>())
        .collect();
    for (x, y) in plain.iter().zip(&scrambled) {
        let (a, b) = (x >> 31, x >> 30 & 1);
        assert_eq!((y >> 31, y >> 30 & 1), (a, (a ^ b) ^ 1));
    }
    assert_eq!(Sobol::with(&[Scramble::none()]), Sobol::plain(1));
}

/// ∏ (1 + 0.3 (x_d − 1/2)) over five variables has the integral 1.
#[test]
fn scrambled_points_integrate_much_better_than_random_ones() {
    let error = |points: u32| {
        let squares: f64 = (0..16)
            .map(|replicate| {
                let sobol = Sobol::scrambled(5, 11, replicate);
                let sum: f64 = (0..points)
                    .map(|i| {
                        sobol
                            .point(i)
                            .iter()
                            .map(|x| 1.0 + 0.3 * (x - 0.5))
                            .product::<f64>()
                    })
                    .sum();
                (sum / f64::from(points) - 1.0).powi(2)
            })
            .sum();
        (squares / 16.0).sqrt()
    };
    // Random points: standard deviation 0.195 over √1024 is 6e-3.
    assert!(error(1024) < 2e-4, "{}", error(1024));
    assert!(error(1024) < error(64) / 16.0);
}

#[test]
fn replicates_and_seeds_differ_and_repeat() {
    let first = Sobol::scrambled(4, 1, 0);
    assert_eq!(first, Sobol::scrambled(4, 1, 0));
    assert_ne!(first, Sobol::scrambled(4, 1, 1));
    assert_ne!(first, Sobol::scrambled(4, 2, 0));
    for i in 0..64 {
        assert!(first.point(i).iter().all(|it| 0.0 < *it && *it < 1.0));
    }
}
