//! Products, inverses and systems against their definitions.

use lightseam::numerics::small_matrix::Matrix;

fn scrambled(size: usize) -> Matrix {
    Matrix::from_fn(size, size, |i, j| {
        ((7 * i * i + 13 * j * j * j + 5 * i * j + 3) as f64 * 0.618_033_988_75).fract() - 0.3
    })
}

#[test]
fn product_by_definition() {
    let a = Matrix::from_fn(3, 2, |i, j| (i * 2 + j) as f64);
    let b = Matrix::from_fn(2, 4, |i, j| (10 * i + j) as f64 + 0.5);
    let product = a.times(&b);
    for i in 0..3 {
        for j in 0..4 {
            let sum: f64 = (0..2).map(|k| a.row(i)[k] * b.row(k)[j]).sum();
            assert_eq!(product.row(i)[j], sum);
        }
    }
    assert_eq!(a.times_vector(&[1.0, -1.0]), vec![-1.0, -1.0, -1.0]);
}

#[test]
fn inverse_and_systems() {
    for size in [1, 2, 5, 17, 40] {
        // A zero in the first place makes an exchange of rows necessary.
        let mut a = scrambled(size);
        if 1 < size {
            a.row_mut(0)[0] = 0.0;
        }
        let unit = a.times(&a.clone().inverse());
        let x: Vec<f64> = (0..size).map(|i| 1.1 - 0.3 * i as f64).collect();
        let solved = a.clone().factored().solve_vector(&a.times_vector(&x));
        for i in 0..size {
            assert!(
                (solved[i] - x[i]).abs() < 1e-9,
                "size {size}: {} {}",
                solved[i],
                x[i]
            );
            for j in 0..size {
                let expected = if i == j { 1.0 } else { 0.0 };
                assert!((unit.row(i)[j] - expected).abs() < 1e-10, "size {size}");
            }
        }
    }
}

#[test]
fn symmetric_part_is_the_mean_with_the_transpose() {
    let a = scrambled(4);
    let mean = a.clone().symmetric_part(2.0);
    for i in 0..4 {
        for j in 0..4 {
            assert!((mean.row(i)[j] - (a.row(i)[j] + a.row(j)[i])).abs() < 1e-15);
        }
    }
}
