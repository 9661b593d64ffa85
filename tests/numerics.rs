//! Tests of `numerics`.

mod hermite;

mod least_squares;

mod quadrature;

mod small_matrix;
