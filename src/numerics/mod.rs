//! Mathematics without physics; each file one named method with its source.
//!
//! | file | method | used by |
//! |---|---|---|
//! | `bracket` | roots of many rising functions side by side | `study` |
//! | `control_chart` | individuals chart with moving ranges, capability | `study` |
//! | `exponential` | fast exponential in lanes | `heat` |
//! | `interpolate` | piecewise linear and monotone cubic tables | `material`, `optics`, `heat` |
//! | `least_squares` | damped Gauss–Newton fit of a few bounded parameters | `optics` |
//! | `quadrature` | Gauss–Legendre and Gauss–Radau rules | `optics` |
//! | `small_matrix` | products, inverses and systems of small dense matrices | `optics`, `numerics` |
//! | `sprague` | fifth-degree interpolation of evenly spaced values | `colour` |

pub mod bracket;
pub mod control_chart;
pub mod exponential;
pub mod interpolate;
pub mod least_squares;
pub mod quadrature;
pub mod random;
pub mod root;
pub mod small_matrix;
pub mod sprague;
pub mod statistics;
pub mod tridiagonal;
