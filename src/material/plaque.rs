//! What a spectrometer measured on one plaque: transmittance and perhaps reflectance.

use crate::material::spectrum::Spectrum;

/// Which part of the light the instrument collects.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Geometry {
    /// All light that leaves the face, by integrating sphere.
    Total,
    /// Only light that goes straight on; in a scattering grade far less than the total.
    Collimated,
    /// The file does not say.
    Unstated,
}

/// What lies behind a plaque whose colour is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Backing {
    /// A black tile or light trap.
    Black,
    /// A white tile.
    White,
}

/// One plaque as measured. Values are shares of the incident light, 0 to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Plaque {
    /// Name in the file, such as `lid 1.5 mm`.
    pub name: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// How the transmittance was collected.
    pub geometry: Geometry,
    /// Transmittance against wavelength.
    pub transmittance: Spectrum,
    /// Total reflectance against wavelength, specular included.
    pub reflectance: Option<Spectrum>,
}
