//! Tests of `numerics`.

mod bracket;

mod control_chart;

mod interpolate;

mod least_squares;

mod quadrature;

mod small_matrix;

mod sprague;
