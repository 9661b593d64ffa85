//! Numerical settings of the heat conduction stage.

/// How finely heat is followed.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Cells for every factor e by which the distance from a fine face grows.
    pub cells_per_e_fold: f64,
    /// Length over which cells at a fine face are even, in units of the shorter of diffusion
    /// length of the pulse and depth in which the light dies.
    pub even_share: f64,
    /// Error allowed in one time step at the worst place, as a share of the difference between the
    /// hottest and the coldest place at the time.
    pub tolerance: f64,
    /// Longest time to follow after the last light, s.
    pub longest_s: f64,
    /// Steps after which a case is given up, for every pulse.
    pub most_steps_per_pulse: usize,
    /// Keep temperatures against time and depth for figures.
    pub record: bool,
}

impl Settings {
    /// Settings whose error, measured on the reference joints of `tests/heat/reference.rs`, is
    /// below 0.5 K at the interface and 2 % of the melt depths.
    pub fn standard() -> Self {
        Settings {
            // The error falls with the square; 0.1 to 0.3 K at the interface of the reference joints.
            cells_per_e_fold: 5.0,
            // Half the shorter length: finer costs cells without gain, coarser loses the interface.
            even_share: 0.25,
            // One step's share; measured errors of whole runs are of the size of a fifth of it.
            tolerance: 0.003,
            // Parts of 50 mm settle in hours; no weld needs longer than this to be judged.
            longest_s: 3600.0,
            // Joints of the tests need 20 to 300.
            most_steps_per_pulse: 20_000,
            record: false,
        }
    }

    /// Settings for convergence checks and figures: errors of about 0.01 K.
    pub fn fine() -> Self {
        Settings {
            cells_per_e_fold: 20.0,
            tolerance: 5e-5,
            ..Settings::standard()
        }
    }
}
