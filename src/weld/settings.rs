//! Numerical settings of all stages, each value with its reason.

use std::sync::Arc;

use crate::heat;
use crate::weld::light::Memory;

/// Fourier number α t / w² of the heating time above which a warning says that heat also leaves
/// sideways.
///
/// A strip of width w heated evenly loses at its middle the share erfc(w / (4 √(α t))) of what a
/// wide seam would keep (Carslaw and Jaeger, *Conduction of Heat in Solids*, 2nd ed., sec. 2.4,
/// from memory): 5 % at α t / w² = 0.0325.
pub const FOURIER_NUMBER_LIMIT: f64 = 0.0325;

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
