//! Mathematics without physics; each file one named method with its source.
//!
//! | file | method | used by |
//! |---|---|---|
//! | `bracket` | roots of many rising functions side by side | `study` |
//! | `control_chart` | individuals chart with moving ranges, capability | `study` |
//! | `exponential` | fast exponential in lanes | `heat` |
//! | `interpolate` | piecewise linear and monotone cubic tables | `material`, `optics`, `heat` |
//! | `lattice` | costly functions interpolated between nodes | `weld` |
//! | `least_squares` | damped Gauss–Newton fit of a few bounded parameters | `optics` |
//! | `normal` | normal distribution and quantiles, intervals of shares | `study` |
//! | `order` | the larger and the smaller, one instruction each | `heat` |
//! | `pack` | numbers of several cases in the registers at hand | `heat` |
//! | `quadrature` | Gauss–Legendre and Gauss–Radau rules | `optics` |
//! | `random` | counter-based random streams | `optics`, `study` |
//! | `root` | Newton's steps in a bracket; cubics and polynomials through points | `heat` |
//! | `sensitivity` | first-order and total effects | `study` |
//! | `small_matrix` | products, inverses and systems of small dense matrices | `optics`, `numerics` |
//! | `sobol` | scrambled quasi-random points | `study` |
//! | `sprague` | fifth-degree interpolation of evenly spaced values | `colour` |
//! | `statistics` | means with standard errors, from independent batches | `optics` |
//! | `symmetric` | Cholesky's factor, eigenvalues and eigenvectors | `optics` |
//! | `tridiagonal` | systems of many cases side by side, without loss of digits | `heat` |

pub mod bracket;
pub mod control_chart;
pub mod exponential;
pub mod interpolate;
pub mod lattice;
pub mod least_squares;
pub mod normal;
pub mod order;
pub mod pack;
pub mod quadrature;
pub mod random;
pub mod root;
pub mod sensitivity;
pub mod small_matrix;
pub mod sobol;
pub mod sprague;
pub mod statistics;
pub mod symmetric;
pub mod tridiagonal;
