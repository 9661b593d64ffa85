//! Small dense matrices in one flat array each: product, inverse, and systems by elimination.
//!
//! Meant for sizes up to a few tens, where a flat row-major array and plain loops beat a general
//! library. The loops run over whole rows, so that the compiler uses the widest lanes the machine
//! has; lanes do not change the order of any sum, so the result is the same on every machine.
//!
//! Source: G. H. Golub and C. F. Van Loan, *Matrix Computations*, LU factors with partial pivoting
//! (from memory). Checked in: `tests/numerics.rs` and by every use in `optics::adding_doubling`.

use multiversion::multiversion;

/// A matrix, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Matrix {
    rows: usize,
    columns: usize,
    entries: Vec<f64>,
}

impl Matrix {
    /// All entries zero.
    pub fn zero(rows: usize, columns: usize) -> Self {
        Matrix {
            rows,
            columns,
            entries: vec![0.0; rows * columns],
        }
    }

    /// Ones on the diagonal.
    pub fn identity(size: usize) -> Self {
        Matrix::diagonal(&vec![1.0; size])
    }

    /// The given numbers on the diagonal.
    pub fn diagonal(entries: &[f64]) -> Self {
        let mut matrix = Matrix::zero(entries.len(), entries.len());
        for (i, &entry) in entries.iter().enumerate() {
            matrix.row_mut(i)[i] = entry;
        }
        matrix
    }

    /// Entry by entry from a function of row and column.
    pub fn from_fn(rows: usize, columns: usize, entry: impl Fn(usize, usize) -> f64) -> Self {
        let mut matrix = Matrix::zero(rows, columns);
        for i in 0..rows {
            for (j, it) in matrix.row_mut(i).iter_mut().enumerate() {
                *it = entry(i, j);
            }
        }
        matrix
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// One row.
    pub fn row(&self, i: usize) -> &[f64] {
        &self.entries[i * self.columns..(i + 1) * self.columns]
    }

    /// One row, to be written.
    pub fn row_mut(&mut self, i: usize) -> &mut [f64] {
        &mut self.entries[i * self.columns..(i + 1) * self.columns]
    }

    /// The product `self` · `other`.
    pub fn times(&self, other: &Matrix) -> Matrix {
        let mut product = Matrix::zero(self.rows, other.columns);
        multiply(
            &self.entries,
            &other.entries,
            &mut product.entries,
            [self.columns, other.columns],
        );
        product
    }

    /// The product `self` · `vector`.
    pub fn times_vector(&self, vector: &[f64]) -> Vec<f64> {
        (0..self.rows).map(|i| dot(self.row(i), vector)).collect()
    }

    /// `self` · `own` + `other` · `others`, entry by entry.
    pub fn blend(&self, own: f64, other: &Matrix, others: f64) -> Matrix {
        let pairs = self.entries.iter().zip(&other.entries);
        Matrix {
            entries: pairs.map(|(a, b)| own * a + others * b).collect(),
            ..*self
        }
    }

    /// The same matrix with `amount` added on the diagonal.
    pub fn plus_identity(mut self, amount: f64) -> Self {
        for i in 0..self.rows.min(self.columns) {
            self.row_mut(i)[i] += amount;
        }
        self
    }

    /// The same matrix, row i times `factors[i]`.
    pub fn scaled_rows(mut self, factors: &[f64]) -> Self {
        for (i, factor) in factors.iter().enumerate().take(self.rows) {
            self.row_mut(i).iter_mut().for_each(|it| *it *= factor);
        }
        self
    }

    /// The same matrix, column j times `factors[j]`.
    pub fn scaled_columns(mut self, factors: &[f64]) -> Self {
        for i in 0..self.rows {
            let row = self.row_mut(i).iter_mut();
            row.zip(factors).for_each(|(it, factor)| *it *= factor);
        }
        self
    }

    /// The mean of the matrix and its transpose, times `factor`.
    pub fn symmetric_part(mut self, factor: f64) -> Self {
        for i in 0..self.rows {
            for j in 0..i {
                let mean = 0.5 * factor * (self.row(i)[j] + self.row(j)[i]);
                self.row_mut(i)[j] = mean;
                self.row_mut(j)[i] = mean;
            }
            self.row_mut(i)[i] *= factor;
        }
        self
    }

    /// Rows and columns exchanged.
    pub fn transposed(&self) -> Matrix {
        Matrix::from_fn(self.columns, self.rows, |i, j| self.row(j)[i])
    }

    /// Factors for solving systems with this square matrix.
    pub fn factored(self) -> Factored {
        Factored::new(self)
    }

    /// The inverse of this square matrix by Gauss and Jordan's elimination in place; entries are
    /// not finite where there is none.
    pub fn inverse(mut self) -> Matrix {
        let size = self.rows;
        let mut exchanged = Vec::new();
        for k in 0..size {
            let pivot = self.pivot(k);
            if pivot != k {
                self.exchange_rows(pivot, k);
                exchanged.push((pivot, k));
            }
            sweep(&mut self.entries, [size, k]);
        }
        for &(i, j) in exchanged.iter().rev() {
            for row in self.entries.chunks_exact_mut(size) {
                row.swap(i, j);
            }
        }
        self
    }

    /// Row with the largest entry of column `k` on or below the diagonal.
    fn pivot(&self, k: usize) -> usize {
        let mut pivot = k;
        for i in k + 1..self.rows {
            if self.row(pivot)[k].abs() < self.row(i)[k].abs() {
                pivot = i;
            }
        }
        pivot
    }

    fn exchange_rows(&mut self, i: usize, j: usize) {
        for column in 0..self.columns {
            self.entries
                .swap(i * self.columns + column, j * self.columns + column);
        }
    }
}

/// LU factors of a square matrix with row exchanges.
#[derive(Clone, Debug)]
pub struct Factored {
    /// Below the diagonal the multipliers, on and above it the upper factor.
    factors: Matrix,
    /// Row that stood at each place.
    order: Vec<usize>,
}

impl Factored {
    fn new(mut a: Matrix) -> Self {
        let size = a.rows;
        let mut order: Vec<usize> = (0..size).collect();
        for k in 0..size {
            let pivot = a.pivot(k);
            if pivot != k {
                order.swap(pivot, k);
                a.exchange_rows(pivot, k);
            }
            eliminate(&mut a.entries, [size, k]);
        }
        Factored { factors: a, order }
    }

    /// The X with A X = `right`.
    pub fn solve(&self, right: Matrix) -> Matrix {
        let columns = right.columns;
        let mut x = Matrix::zero(right.rows, columns);
        for (i, &from) in self.order.iter().enumerate() {
            x.row_mut(i).copy_from_slice(right.row(from));
        }
        substitute(&self.factors.entries, &mut x.entries, [x.rows, columns]);
        x
    }

    /// The x with A x = `right`.
    pub fn solve_vector(&self, right: &[f64]) -> Vec<f64> {
        let size = self.order.len();
        let mut x: Vec<f64> = self.order.iter().map(|&from| right[from]).collect();
        for i in 0..size {
            let known = dot(&self.factors.row(i)[..i], &x[..i]);
            x[i] -= known;
        }
        for i in (0..size).rev() {
            let row = self.factors.row(i);
            let known = dot(&row[i + 1..], &x[i + 1..]);
            x[i] = (x[i] - known) / row[i];
        }
        x
    }
}

/// Sum of the products of two vectors, in four interleaved sums.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (mut fours_a, mut fours_b) = (a.chunks_exact(4), b.chunks_exact(4));
    for (four_a, four_b) in fours_a.by_ref().zip(fours_b.by_ref()) {
        for lane in 0..4 {
            sums[lane] += four_a[lane] * four_b[lane];
        }
    }
    let rest = fours_a.remainder().iter().zip(&b[a.len() / 4 * 4..]);
    let rest: f64 = rest.map(|(a, b)| a * b).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// `product` = `a` · `b`; `inner` columns of `a`, `columns` of `b`.
#[multiversion(targets("x86_64+avx2"))]
fn multiply(a: &[f64], b: &[f64], product: &mut [f64], [inner, columns]: [usize; 2]) {
    if inner == 0 || columns == 0 {
        return;
    }
    for (row, out) in a.chunks_exact(inner).zip(product.chunks_exact_mut(columns)) {
        let mut from = 0;
        while from + 8 <= columns {
            sum_block::<8>(row, b, out, from);
            from += 8;
        }
        if from + 4 <= columns {
            sum_block::<4>(row, b, out, from);
            from += 4;
        }
        if from + 2 <= columns {
            sum_block::<2>(row, b, out, from);
            from += 2;
        }
        if from < columns {
            sum_block::<1>(row, b, out, from);
        }
    }
}

/// `WIDTH` entries of one row of a product, from column `from`, summed up in registers.
#[inline(always)]
fn sum_block<const WIDTH: usize>(row: &[f64], b: &[f64], out: &mut [f64], from: usize) {
    let mut sums = [0.0; WIDTH];
    for (&factor, other) in row.iter().zip(b.chunks_exact(out.len())) {
        for (sum, &entry) in sums.iter_mut().zip(&other[from..from + WIDTH]) {
            *sum += factor * entry;
        }
    }
    out[from..from + WIDTH].copy_from_slice(&sums);
}

/// One step of Gauss and Jordan's inversion in place, with the pivot on the diagonal.
#[multiversion(targets("x86_64+avx2"))]
fn sweep(a: &mut [f64], [size, k]: [usize; 2]) {
    let (above, rest) = a.split_at_mut(k * size);
    let (pivot_row, below) = rest.split_at_mut(size);
    let scale = 1.0 / pivot_row[k];
    pivot_row[k] = 1.0;
    pivot_row.iter_mut().for_each(|it| *it *= scale);
    let others = above.chunks_exact_mut(size);
    for row in others.chain(below.chunks_exact_mut(size)) {
        let factor = row[k];
        row[k] = 0.0;
        for (it, &pivot) in row.iter_mut().zip(&*pivot_row) {
            *it -= factor * pivot;
        }
    }
}

/// Clears column `k` below the diagonal and keeps the multipliers there.
#[multiversion(targets("x86_64+avx2"))]
fn eliminate(a: &mut [f64], [size, k]: [usize; 2]) {
    let (above, below) = a.split_at_mut((k + 1) * size);
    let pivot_row = &above[k * size + k..];
    for row in below.chunks_exact_mut(size) {
        let factor = row[k] / pivot_row[0];
        row[k] = factor;
        for (it, &pivot) in row[k + 1..].iter_mut().zip(&pivot_row[1..]) {
            *it -= factor * pivot;
        }
    }
}

/// Forward and backward substitution on all columns at once.
#[multiversion(targets("x86_64+avx2"))]
fn substitute(factors: &[f64], x: &mut [f64], [size, columns]: [usize; 2]) {
    for i in 1..size {
        let (done, rest) = x.split_at_mut(i * columns);
        let row = &mut rest[..columns];
        for (&factor, known) in factors[i * size..i * size + i]
            .iter()
            .zip(done.chunks_exact(columns))
        {
            for (it, &value) in row.iter_mut().zip(known) {
                *it -= factor * value;
            }
        }
    }
    for i in (0..size).rev() {
        let (rest, done) = x.split_at_mut((i + 1) * columns);
        let row = &mut rest[i * columns..];
        for (&factor, known) in factors[i * size + i + 1..(i + 1) * size]
            .iter()
            .zip(done.chunks_exact(columns))
        {
            for (it, &value) in row.iter_mut().zip(known) {
                *it -= factor * value;
            }
        }
        let scale = 1.0 / factors[i * size + i];
        row.iter_mut().for_each(|it| *it *= scale);
    }
}
