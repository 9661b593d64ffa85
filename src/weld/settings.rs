//! Numerical settings of all stages, each value with its reason.

use std::sync::Arc;

use crate::heat;
use crate::optics::beam::Shape;
use crate::weld::light::Memory;

/// Share of the rise of the interface that may be lost sideways before a warning says so.
pub const LATERAL_LOSS: f64 = 0.05;

/// Share of a melt depth that may be lost sideways before a warning says so.
pub const LATERAL_MELT_LOSS: f64 = 0.2;

/// Fourier number α t / w² of the heating time above which a warning says that the interface rises
/// less for heat that leaves sideways: where the worst of the joints of
/// `tests/weld/lateral-loss.csv` under a clear upper part loses [`LATERAL_LOSS`] of the rise that
/// depth alone gives.
///
/// A top-hat loses nothing in its middle until its edges arrive there; a Gaussian is curved
/// everywhere and loses from the start. The test beside the table keeps both numbers to it. Worst
/// rows of the table around the limits, in per cent of the rise:
///
/// | α t / w² | 0.01 | 0.02 | 0.05 | 0.1 | 0.2 |
/// |---|---|---|---|---|---|
/// | top-hat | 0.2 | 0.3 | 1.3 | 5.6 | 14.4 |
/// | Gaussian | 3.2 | 5.7 | 11.2 | 17.8 | 26.2 |
///
/// An upper part that absorbs as much as the lower one stores heat that raises the interface after
/// the light: it loses 2 to 6 % of the rise under a top-hat at any Fourier number (0.3 /mm, 2 mm).
/// Such light is deep, so that the other limit warns.
pub fn fourier_number_limit(shape: Shape) -> f64 {
    match shape {
        Shape::TopHat => 0.09,
        Shape::Gaussian => 0.017,
    }
}

/// Fourier number α t / w² of the heating time above which a warning says that the melt is less
/// deep for heat that leaves sideways, for light whose mean depth of absorption in the lower part is
/// `depth_over_width` of the width of the light: below it no joint of `tests/weld/lateral-loss.csv`
/// loses [`LATERAL_MELT_LOSS`] of either melt depth.
///
/// The melt goes on growing after the light, for as long as the heat stored in depth lasts, so that
/// no time of heating tells what it loses: light that dies within a small share of the width needs a
/// long exposure, light that goes deep loses from the first. Straight in the depth, on the safe side
/// of the table by up to a third of the Fourier number. Worst rows of the table, in per cent of the
/// melt depth:
///
/// | depth / w | shape | 0.002 | 0.01 | 0.02 | 0.05 | 0.1 |
/// |---|---|---|---|---|---|---|
/// | 0.02 | top-hat | 0 | 0 | 0 | 8 | 39 |
/// | 0.10 | top-hat | 1 | 3 | 2 | 11 | 45 |
/// | 0.20 | top-hat | 3 | 5 | 8 | 15 | 51 |
/// | 0.49 | top-hat | 24 | 27 | 30 | 34 | 55 |
/// | 0.02 | Gaussian | 5 | 14 | 24 | 50 | 82 |
/// | 0.10 | Gaussian | 13 | 24 | 39 | 71 | 100 |
/// | 0.20 | Gaussian | 28 | 31 | 45 | 82 | 100 |
pub fn melt_fourier_limit(shape: Shape, depth_over_width: f64) -> f64 {
    let (shallow, deepest) = match shape {
        Shape::TopHat => (0.075, 0.45),
        Shape::Gaussian => (0.0155, 0.15),
    };
    (shallow * (1.0 - depth_over_width / deepest)).max(0.0)
}

/// Numerical settings of one simulation.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Grid, steps and stopping of the heat stage.
    pub heat: heat::Settings,
    /// Light already followed, shared by all that use these settings.
    pub memory: Arc<Memory>,
}

impl Settings {
    /// The settings every command uses.
    pub fn standard() -> Self {
        Settings {
            heat: heat::Settings::standard(),
            memory: Arc::default(),
        }
    }

    /// The same, with temperatures kept for figures.
    pub fn recording(&self) -> Self {
        let mut settings = self.clone();
        settings.heat.record = true;
        settings
    }
}
