//! Tests of `numerics`.

mod least_squares;

mod quadrature;

mod small_matrix;
