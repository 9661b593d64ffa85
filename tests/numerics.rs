//! Tests of `numerics`.

mod quadrature;

mod small_matrix;
