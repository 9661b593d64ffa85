//! Tests of `numerics`.

mod bracket;

mod control_chart;

mod interpolate;

mod lattice;

mod least_squares;

mod normal;

mod quadrature;

mod sensitivity;

mod small_matrix;

mod sprague;

mod symmetric;

mod sobol;
