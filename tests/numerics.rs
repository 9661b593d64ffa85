//! Tests of `numerics`.

mod bracket;

mod interpolate;

mod quadrature;

mod small_matrix;
