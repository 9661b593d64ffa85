//! Symmetric matrices: Cholesky's factor, and eigenvalues with their vectors.
//!
//! ```text
//! A = L Lᵀ                      L lower triangular, where A is positive definite
//! A = Σ λ_i v_i v_iᵀ            Householder's reduction to three diagonals, then implicit QL
//! ```
//!
//! The reduction starts from the last row, so that a matrix whose entries grow towards the last row
//! keeps its small eigenvalues. Loops run over whole rows, as in `small_matrix`.
//!
//! Source: J. H. Wilkinson and C. Reinsch, *Linear Algebra* (1971), contributions I/1, II/2 and II/4
//! (from memory). Checked in: `tests/numerics/symmetric.rs`.

use multiversion::multiversion;

use crate::numerics::small_matrix::{Matrix, dot};

/// Eigenvalues and eigenvectors of a symmetric matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Eigen {
    /// Eigenvalues, in no order.
    pub values: Vec<f64>,
    /// Eigenvectors of length one, one a row.
    pub vectors: Matrix,
}

/// Steps of QL allowed for one eigenvalue; two are usual.
const MOST_STEPS: usize = 60;

/// The lower triangle L with L Lᵀ = `matrix`; none where that is not positive definite.
pub fn cholesky(matrix: &Matrix) -> Option<Matrix> {
    let size = matrix.rows();
    let mut lower = Matrix::zero(size, size);
    for i in 0..size {
        for j in 0..=i {
            let known = dot(&lower.row(i)[..j], &lower.row(j)[..j]);
            let left = matrix.row(i)[j] - known;
            lower.row_mut(i)[j] = if i == j {
                if left.is_nan() || left <= 0.0 || left.is_infinite() {
                    return None;
                }
                left.sqrt()
            } else {
                left / lower.row(j)[j]
            };
        }
    }
    Some(lower)
}

/// The X with Lᵀ X = `right`, L a lower triangle.
pub fn solve_transposed(lower: &Matrix, right: &Matrix) -> Matrix {
    let size = lower.rows();
    let columns = right.columns();
    let mut x: Vec<f64> = (0..size).flat_map(|i| right.row(i)).copied().collect();
    for i in (0..size).rev() {
        let (rest, done) = x.split_at_mut((i + 1) * columns);
        let row = &mut rest[i * columns..];
        for (known, j) in done.chunks_exact(columns).zip(i + 1..) {
            let factor = lower.row(j)[i];
            for (it, value) in row.iter_mut().zip(known) {
                *it -= factor * value;
            }
        }
        let scale = 1.0 / lower.row(i)[i];
        row.iter_mut().for_each(|it| *it *= scale);
    }
    Matrix::from_fn(size, columns, |i, j| x[i * columns + j])
}

/// Eigenvalues and eigenvectors of a symmetric matrix; none where the steps do not end, which
/// happens only where an entry is not finite.
pub fn eigen(matrix: &Matrix) -> Option<Eigen> {
    let size = matrix.rows();
    // Rows the other way round: the reduction begins at the first.
    let mut a = Vec::with_capacity(size * size);
    for i in (0..size).rev() {
        a.extend(matrix.row(i).iter().rev());
    }
    let mut vectors = vec![0.0; size * size];
    let mut diagonal = vec![0.0; size];
    let mut beside = vec![0.0; size];
    let found = decompose(&mut a, &mut vectors, &mut diagonal, &mut beside);
    found.then(|| Eigen {
        values: diagonal,
        vectors: Matrix::from_fn(size, size, |i, j| vectors[i * size + size - 1 - j]),
    })
}

/// Eigenvalues into `diagonal`, eigenvectors into the rows of `vectors`; `a` and `beside` are used up.
#[multiversion(targets("x86_64+avx2"))]
fn decompose(a: &mut [f64], vectors: &mut [f64], diagonal: &mut [f64], beside: &mut [f64]) -> bool {
    let size = diagonal.len();
    reduce(a, diagonal, beside);
    gather(a, vectors, size);
    diagonal.reverse();
    beside[..size.saturating_sub(1)].reverse();
    rotate(vectors, diagonal, beside)
}

/// Householder's reduction; leaves in row k of `a`, right of its diagonal, the vector of the k-th
/// reflection 1 − v vᵀ.
#[inline(always)]
fn reduce(a: &mut [f64], diagonal: &mut [f64], beside: &mut [f64]) {
    let size = diagonal.len();
    let mut product = vec![0.0; size];
    for k in 0..size {
        diagonal[k] = a[k * size + k];
        if k + 1 == size {
            break;
        }
        let (above, below) = a.split_at_mut((k + 1) * size);
        let v = &mut above[k * size + k + 1..];
        let rest = dot(&v[1..], &v[1..]);
        if rest == 0.0 {
            beside[k] = v[0];
            v.fill(0.0);
            continue;
        }
        let length = (v[0] * v[0] + rest).sqrt();
        let sign = 1f64.copysign(v[0]);
        beside[k] = -sign * length;
        v[0] += sign * length;
        // Half of vᵀv is length (length + |v₀|): made two, the reflection is 1 − v vᵀ.
        let scale = (2.0 / (v[0] * v[0] + rest)).sqrt();
        v.iter_mut().for_each(|it| *it *= scale);
        let product = &mut product[k + 1..];
        for (it, row) in product.iter_mut().zip(below.chunks_exact(size)) {
            *it = dot(&row[k + 1..], v);
        }
        let half = 0.5 * dot(product, v);
        for (it, v) in product.iter_mut().zip(&*v) {
            *it -= half * v;
        }
        for (i, row) in below.chunks_exact_mut(size).enumerate() {
            let (own, others) = (v[i], product[i]);
            let places = row[k + 1..].iter_mut().zip(&*product).zip(&*v);
            for ((it, product), v) in places {
                *it -= own * product + others * v;
            }
        }
    }
}

/// The product of all reflections, transposed and its rows reversed.
#[inline(always)]
fn gather(a: &[f64], vectors: &mut [f64], size: usize) {
    let mut q = vec![0.0; size * size];
    for i in 0..size {
        q[i * size + i] = 1.0;
    }
    let mut along = vec![0.0; size];
    for k in (0..size.saturating_sub(1)).rev() {
        let v = &a[k * size + k + 1..(k + 1) * size];
        let along = &mut along[k + 1..];
        along.fill(0.0);
        for (v, row) in v.iter().zip(q[(k + 1) * size..].chunks_exact(size)) {
            for (it, entry) in along.iter_mut().zip(&row[k + 1..]) {
                *it += v * entry;
            }
        }
        for (v, row) in v.iter().zip(q[(k + 1) * size..].chunks_exact_mut(size)) {
            for (it, along) in row[k + 1..].iter_mut().zip(&*along) {
                *it -= v * along;
            }
        }
    }
    for i in 0..size {
        for j in 0..size {
            vectors[(size - 1 - j) * size + i] = q[i * size + j];
        }
    }
}

/// Implicit QL on the three diagonals, the rows of `vectors` turned along.
#[inline(always)]
fn rotate(vectors: &mut [f64], d: &mut [f64], e: &mut [f64]) -> bool {
    let size = d.len();
    for l in 0..size {
        let mut steps = 0;
        loop {
            let whole = |m: usize| e[m].abs() <= f64::EPSILON * (d[m].abs() + d[m + 1].abs());
            let m = (l..size - 1).find(|&m| whole(m)).unwrap_or(size - 1);
            if m == l {
                break;
            }
            if steps == MOST_STEPS {
                return false;
            }
            steps += 1;
            let mut g = (d[l + 1] - d[l]) / (2.0 * e[l]);
            let r = (g * g + 1.0).sqrt();
            g = d[m] - d[l] + e[l] / (g + r.copysign(g));
            let (mut sine, mut cosine, mut shift) = (1.0, 1.0, 0.0);
            let mut cut = false;
            for i in (l..m).rev() {
                let f = sine * e[i];
                let b = cosine * e[i];
                let r = (f * f + g * g).sqrt();
                e[i + 1] = r;
                if r == 0.0 {
                    d[i + 1] -= shift;
                    e[m] = 0.0;
                    cut = true;
                    break;
                }
                (sine, cosine) = (f / r, g / r);
                g = d[i + 1] - shift;
                let r = (d[i] - g) * sine + 2.0 * cosine * b;
                shift = sine * r;
                d[i + 1] = g + shift;
                g = cosine * r - b;
                let (first, second) = vectors[i * size..].split_at_mut(size);
                for (a, b) in first.iter_mut().zip(second) {
                    let (one, other) = (*a, *b);
                    *b = sine * one + cosine * other;
                    *a = cosine * one - sine * other;
                }
            }
            if !cut {
                d[l] -= shift;
                e[l] = g;
                e[m] = 0.0;
            }
        }
    }
    true
}
