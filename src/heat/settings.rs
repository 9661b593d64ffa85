//! Numerical settings of the heat conduction stage.

pub use crate::heat::library::Memory;

/// How finely heat is followed.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Cells for every factor e by which the distance from a fine face grows.
    pub cells_per_e_fold: f64,
    /// Length over which cells at a fine face are even, in units of the shorter of diffusion
    /// length of the pulse and depth in which the light dies.
    pub even_share: f64,
    /// Distance from the interface beyond which cells grow faster, in units of what is heated in the
    /// pulse: diffusion length and depth in which the light dies.
    pub reach: f64,
    /// Error allowed in one time step at the worst place, as a share of the difference between the
    /// hottest and the coldest place at the time, or of the rise to the flow temperature where that
    /// is more.
    pub tolerance: f64,
    /// Share of itself by which a melt depth may be in doubt ([`History::depth_doubt`]); beyond, the case
    /// is solved again with [`Settings::finer`]. Infinite: never.
    ///
    /// [`History::depth_doubt`]: crate::heat::History::depth_doubt
    pub most_doubt: f64,
    /// Longest time to follow after the last light, s.
    pub longest_s: f64,
    /// Take the three above for sharply melting materials, and coarser or finer ones for
    /// others.
    pub adapt: bool,
    /// Steps after which a case is given up, for every pulse.
    pub most_steps_per_pulse: usize,
    /// Pulses at the end of many that are followed one by one; those before, but for the first, are
    /// spread evenly.
    pub most_resolved_passes: u32,
    /// Keep temperatures against time and depth for figures.
    pub record: bool,
    /// Property tables made before.
    pub memory: Memory,
}

/// Sharpness of melting (largest heat capacity over that beside the melting range, less one) for
/// which the settings are meant.
pub const SHARP: f64 = 2.2;

/// Cells, and error allowed in a step, where a case is solved again, over those for a sharply melting
/// material. Of the depths in doubt on 6,000 random joints, 7 stay off by more than 2 %; with twice the
/// cells 14, with four times as many 3.
const FINER_CELLS: f64 = 2.8;
/// See [`FINER_CELLS`].
const FINER_TOLERANCE: f64 = 0.075;

/// What one case is solved with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// See [`Settings::cells_per_e_fold`].
    pub cells_per_e_fold: f64,
    /// See [`Settings::even_share`].
    pub even_share: f64,
    /// See [`Settings::reach`].
    pub reach: f64,
    /// See [`Settings::tolerance`].
    pub tolerance: f64,
}

impl Settings {
    /// What a case is solved with whose sharper material has this sharpness of melting.
    ///
    /// A front of melting narrower than a cell makes the temperature waver as it goes from node to
    /// node; without such a front fewer cells do. Chosen on 600 random joints, which include the
    /// 200 of `tests/convergence.rs`, and no worse on 600 others.
    pub fn fineness(&self, sharpness: f64) -> Fineness {
        let mut it = Fineness {
            cells_per_e_fold: self.cells_per_e_fold,
            even_share: self.even_share,
            reach: self.reach,
            tolerance: self.tolerance,
        };
        if self.adapt {
            it.cells_per_e_fold *= (1.0 + 0.7 * (sharpness - SHARP)).clamp(0.7, 1.6);
            it.even_share *= (1.0 + 0.7 * (2.7 - sharpness)).clamp(1.0, 1.5);
            it.tolerance *= (1.0 - 0.5 * (sharpness - 1.9)).clamp(0.25, 1.0);
        }
        it
    }

    /// Settings whose error on the reference joints of `tests/heat/reference.rs` is below 0.5 K at
    /// the interface and 2 % of the melt depths, as it is on the 200 random joints of
    /// `tests/convergence.rs`; how many of others are off by more is in `tests/heat/melt_depth.rs`.
    pub fn standard() -> Self {
        Settings {
            // For sharply melting materials: steep fronts near the interface fall between fewer
            // nodes.
            cells_per_e_fold: 5.0,
            // Fine at the very interface and quickly growing.
            even_share: 0.2,
            // A fifth fewer cells; with 4 half as many joints again are off by more than 0.5 K.
            reach: 8.0,
            // 1.4 K at 700 K in one step; whole runs come out within a tenth of it at the peak, within 1 %
            // in the time above flow.
            tolerance: 0.002,
            adapt: true,
            // 3 to 5 % of random joints are solved twice, and none like the reference joint A1.
            most_doubt: 0.02,
            // Parts of 50 mm settle in hours; no weld needs longer than this to be judged.
            longest_s: 3600.0,
            // Joints of the tests need 25 to 400.
            most_steps_per_pulse: 20_000,
            // Spreading the others changes peaks by less than 0.1 K, melt depths by 0.2 % and damage by 5 %
            // (tests/heat/exposure.rs): damage is done at the height of the ripple. By its activation
            // energy 5 % of damage are some 0.2 % of the power (an estimate). Where the ripple alone
            // reaches the flow temperature first, that time is some periods late.
            most_resolved_passes: 8,
            record: false,
            memory: Memory::default(),
        }
    }

    /// Settings for convergence checks and figures: 0.01 K off on the reference joints.
    pub fn fine() -> Self {
        Settings {
            cells_per_e_fold: 20.0,
            even_share: 0.25,
            reach: 1e3,
            tolerance: 5e-5,
            adapt: false,
            most_doubt: f64::INFINITY,
            ..Settings::standard()
        }
    }

    /// Settings for cases whose melt depths these leave in doubt.
    pub fn finer(&self) -> Self {
        Settings {
            cells_per_e_fold: FINER_CELLS * self.cells_per_e_fold,
            tolerance: FINER_TOLERANCE * self.tolerance,
            adapt: false,
            most_doubt: f64::INFINITY,
            ..self.clone()
        }
    }
}
