//! Tests of `numerics`.

mod bracket;

mod interpolate;

mod least_squares;

mod quadrature;

mod small_matrix;
