//! Cholesky's factor and eigenvectors: they give the matrix back, known spectra are met.

use lightseam::numerics::small_matrix::Matrix;
use lightseam::numerics::symmetric::{cholesky, eigen, solve_transposed};

/// A full symmetric positive definite matrix whose entries grow by `ratio` a row.
fn graded(size: usize, ratio: f64) -> Matrix {
    Matrix::from_fn(size, size, |i, j| {
        let near = 1.0 / (1.0 + (i as f64 - j as f64).powi(2));
        near * ratio.powf(0.5 * (i + j) as f64)
    })
}

fn largest(matrix: &Matrix) -> f64 {
    (0..matrix.rows())
        .flat_map(|i| matrix.row(i).to_vec())
        .fold(0.0, |most, it| most.max(it.abs()))
}

#[test]
fn the_factor_and_the_vectors_give_the_matrix_back() {
    for size in [1, 2, 3, 7, 18, 31] {
        for ratio in [1.0, 2.5] {
            let matrix = graded(size, ratio);
            let scale = largest(&matrix);
            let lower = cholesky(&matrix).unwrap();
            let again = lower.times(&lower.transposed());
            assert!(largest(&again.blend(1.0, &matrix, -1.0)) < 1e-14 * scale);
            let solved = solve_transposed(&lower, &lower.transposed());
            let miss = solved.plus_identity(-1.0);
            assert!(largest(&miss) < 1e-12, "{size} {ratio}");

            let found = eigen(&matrix).unwrap();
            let scaled = found.vectors.clone().scaled_rows(&found.values);
            let again = found.vectors.transposed().times(&scaled);
            assert!(largest(&again.blend(1.0, &matrix, -1.0)) < 1e-13 * scale);
            let length = found.vectors.times(&found.vectors.transposed());
            assert!(largest(&length.plus_identity(-1.0)) < 1e-13);
        }
    }
}

/// Second differences between fixed ends: 2 − 2 cos(π k / (n + 1)), G. H. Golub and C. F. Van Loan,
/// *Matrix Computations*, sec. 4.8 (section from memory).
#[test]
fn second_differences_have_their_known_eigenvalues() {
    let size = 18;
    let matrix = Matrix::from_fn(size, size, |i, j| match i.abs_diff(j) {
        0 => 2.0,
        1 => -1.0,
        _ => 0.0,
    });
    let mut values = eigen(&matrix).unwrap().values;
    values.sort_by(f64::total_cmp);
    for (k, value) in values.iter().enumerate() {
        let angle = std::f64::consts::PI * (k + 1) as f64 / (size + 1) as f64;
        assert!((value - (2.0 - 2.0 * angle.cos())).abs() < 1e-14, "{k}");
    }
}

#[test]
fn small_eigenvalues_of_a_graded_matrix_are_kept() {
    // Twelve decades between the first and the last row; the determinant is the product of the
    // squares of Cholesky's diagonal, which is exact to rounding.
    let size = 7;
    let matrix = graded(size, 100.0);
    let lower = cholesky(&matrix).unwrap();
    let by_factor: f64 = (0..size).map(|i| 2.0 * lower.row(i)[i].ln()).sum();
    let by_values: f64 = eigen(&matrix)
        .unwrap()
        .values
        .iter()
        .map(|it| it.ln())
        .sum();
    assert!(
        (by_factor - by_values).abs() < 1e-9,
        "{by_factor} {by_values}"
    );
}

#[test]
fn what_has_no_factor_is_refused() {
    let indefinite = Matrix::from_fn(2, 2, |i, j| if i == j { 1.0 } else { 2.0 });
    assert_eq!(cholesky(&indefinite), None);
    assert_eq!(cholesky(&Matrix::zero(3, 3)), None);
    let values = eigen(&indefinite).unwrap().values;
    assert!((values.iter().sum::<f64>() - 2.0).abs() < 1e-15);
    assert_eq!(eigen(&Matrix::from_fn(3, 3, |_, _| f64::NAN)), None);
}
