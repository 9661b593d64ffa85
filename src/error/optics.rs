//! Problems of the light stage.

/// Light could not be followed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum OpticsProblem {
    /// Reflected, transmitted and absorbed shares do not add up to one.
    #[error("the light does not add up: reflected + transmitted + absorbed − 1 = {residual:.3e}")]
    EnergyNotConserved {
        /// Sum of the shares minus one.
        residual: f64,
    },
    /// The chosen method cannot treat this stack.
    #[error("{method} cannot be used here: {reason}")]
    MethodDoesNotApply {
        /// Name of the method.
        method: String,
        /// Why.
        reason: String,
    },
    /// No coefficients reproduce the measured values.
    #[error("no absorption and scattering reproduce {what} at {wavelength_nm:.0} nm")]
    NoInverse {
        /// The measured values, as text.
        what: String,
        /// Wavelength, nm.
        wavelength_nm: f64,
    },
    /// Plaques that no one pair of coefficients describes.
    #[error(
        "the plaques are not of one material: no absorption and scattering come nearer to all of \
         them than {misfit_percent:.1} % of the light"
    )]
    NotOneMaterial {
        /// Root mean square misfit, percent of the incident light.
        misfit_percent: f64,
    },
}
