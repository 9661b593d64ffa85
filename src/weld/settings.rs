//! Numerical settings of all stages, each value with its reason.

use std::sync::Arc;

use crate::heat;
use crate::optics::beam::Shape;
use crate::weld::light::Memory;

/// Share of the rise of the interface that may be lost sideways before a warning says so.
pub const LATERAL_LOSS: f64 = 0.05;

/// Fourier number α t / w² of the heating time above which a warning says that heat also leaves
/// sideways: where the worst of the joints of `tests/weld/lateral-loss.csv` loses [`LATERAL_LOSS`]
/// of the rise that depth alone gives.
///
/// A top-hat loses nothing in its middle until its edges arrive there; a Gaussian is curved
/// everywhere and loses from the start. The test beside the table keeps both numbers to it. Worst
/// rows of the table around the limits, in per cent of the rise:
///
/// | α t / w² | 0.01 | 0.02 | 0.05 | 0.1 | 0.2 |
/// |---|---|---|---|---|---|
/// | top-hat | 0.2 | 0.2 | 1.3 | 5.2 | 13.4 |
/// | Gaussian | 2.9 | 4.8 | 9.5 | 15.3 | 22.5 |
///
/// Melt depths shrink earlier than the peak: deep weak absorbers lose 14 % of the upper melt depth
/// at 0.05 under a top-hat, and a third under a Gaussian already at 0.002, since that melt comes
/// after the light. No Fourier number of the heating time tells this; the cross-section does.
pub fn fourier_number_limit(shape: Shape) -> f64 {
    match shape {
        Shape::TopHat => 0.09,
        Shape::Gaussian => 0.02,
    }
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
