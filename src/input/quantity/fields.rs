//! Every kind of input, with the range it is checked against.

use crate::input::quantity::{Dimension, Field};

macro_rules! fields {
    ($($(#[$doc:meta])* $name:ident = $what:literal, $dimension:ident, $least:literal, $most:literal, $example:literal;)*) => {
        $($(#[$doc])* pub const $name: Field = Field {
            what: $what,
            dimension: Dimension::$dimension,
            least: $least,
            most: $most,
            example: $example,
        };)*
        /// Every field, for checks and for listing what may be written.
        pub const FIELDS: &[Field] = &[$($name),*];
    };
}

fields! {
    /// Thickness of a part or plate.
    THICKNESS = "thickness", Length, "1 µm", "50 mm", "1.5 mm";
    /// Thickness of a thin film.
    FILM_THICKNESS = "film thickness", Length, "0.1 µm", "5 mm", "50 µm";
    /// Vacuum wavelength.
    WAVELENGTH = "wavelength", Length, "400 nm", "2500 nm", "980 nm";
    /// Size of the laser spot.
    SPOT = "spot size", Length, "10 µm", "1 m", "1 mm";
    /// Angle of the light to the normal of the part, in air; scanner optics need 30°.
    INCIDENCE = "angle of incidence", Angle, "0°", "30°", "10°";
    /// Laser power at the part.
    POWER = "power", Power, "0 W", "10 kW", "20 W";
    /// Feed rate.
    SPEED = "speed", Speed, "0.01 mm/s", "100 m/s", "50 mm/s";
    /// Length of the seam or of the path of the spot.
    PATH = "path length", Length, "0.1 mm", "100 m", "180 mm";
    /// Number of passes.
    PASSES = "number of passes", Number, "1", "1000000", "30";
    /// Number of turns.
    TURNS = "number of turns", Number, "1", "1000000", "3";
    /// Time of a shot, a turn, or all passes.
    SHOT = "time", Time, "1 µs", "1000 s", "1.5 s";
    /// Turns per time.
    ROTATION = "rotation", Rate, "0.01 1/min", "60000 1/min", "120 1/min";
    /// Outer diameter of a round part.
    DIAMETER = "diameter", Length, "0.1 mm", "5 m", "20 mm";
    /// Opening of a mask.
    OPENING = "opening", Length, "10 µm", "1 m", "0.5 mm";
    /// Power over the area of the seam.
    POWER_DENSITY = "power density", PowerDensity, "0 W/mm2", "100000 W/mm2", "3 W/mm2";
    /// Gap between the parts.
    GAP = "gap", Length, "0 µm", "5 mm", "20 µm";
    /// Thermal contact conductance.
    CONDUCTANCE = "conductance", Conductance, "0.001 W/m2/K", "1e9 W/m2/K", "20000 W/m2/K";
    /// Heat transfer to air.
    CONVECTION = "convection", Conductance, "0 W/m2/K", "1e5 W/m2/K", "10 W/m2/K";
    /// Temperature of parts and air at the start.
    AMBIENT = "ambient temperature", Temperature, "-80 °C", "300 °C", "23 °C";
    /// Any temperature of a material.
    TEMPERATURE = "temperature", Temperature, "-200 °C", "2500 °C", "220 °C";
    /// Volume of a mass, m³/kg, in tables over temperature.
    SPECIFIC_VOLUME = "specific volume", Number, "0.00001", "0.1", "0.00084";
    /// Poisson's ratio.
    POISSON_RATIO = "Poisson's ratio", Number, "0", "0.499", "0.38";
    /// A difference of temperatures.
    TEMPERATURE_DIFFERENCE = "temperature difference", TemperatureDifference, "0 K", "1000 K", "20 K";
    /// Absorption coefficient.
    ABSORPTION = "absorption", PerLength, "0 /m", "1e6 /m", "0.05 /mm";
    /// Scattering coefficient.
    SCATTERING = "scattering", PerLength, "0 /m", "1e6 /m", "2 /mm";
    /// Mean cosine of the scattering angle.
    ANISOTROPY = "anisotropy", Number, "-0.99", "0.99", "0.9";
    /// Refractive index, real part.
    REFRACTIVE_INDEX = "refractive index", Number, "1", "4", "1.53";
    /// Mass fraction of an absorbing additive.
    CONTENT = "content", Fraction, "0 %", "20 %", "0.3 %";
    /// Scattering of a melt over that of its solid.
    MELT_CLEARING = "melt clearing", Number, "0", "1", "0.3";
    /// Mass fraction of water in a moist part.
    MOISTURE = "moisture", Fraction, "0 %", "20 %", "2.5 %";
    /// Mass absorption cross-section of an additive.
    MASS_ABSORPTION = "mass absorption", MassAbsorption, "0 m2/g", "100 m2/g", "7.5 m2/g";
    /// Transmission of a film.
    TRANSMISSION = "transmission", Fraction, "0.0001 %", "100 %", "8 %";
    /// Melt depth.
    MELT_DEPTH = "melt depth", Length, "0 µm", "50 mm", "20 µm";
    /// Standard deviation of a melt depth read in a section.
    DEPTH_READING = "depth uncertainty", Length, "0.1 µm", "5 mm", "10 µm";
    /// Standard uncertainty of a share of light, absolute.
    PHOTOMETRIC = "photometric uncertainty", Fraction, "0.01 %", "20 %", "0.3 %";
    /// Share of scattered light that misses an integrating sphere.
    PORT_LOSS = "port loss", Fraction, "0 %", "50 %", "2 %";
    /// Reflectance of the plaque that an instrument reads as 100 %.
    REFERENCE = "reference reflectance", Fraction, "10 %", "100 %", "99 %";
    /// Damaged share.
    DAMAGE = "damage", Fraction, "0.0001 %", "100 %", "1 %";
    /// A time.
    TIME = "time", Time, "0 s", "1000 s", "50 ms";
    /// A relative standard uncertainty.
    UNCERTAINTY = "relative standard uncertainty", Fraction, "0 %", "200 %", "5 %";
    /// Density.
    DENSITY = "density", Density, "1 kg/m3", "25000 kg/m3", "1130 kg/m3";
    /// Thermal conductivity.
    CONDUCTIVITY = "conductivity", Conductivity, "0.001 W/m/K", "3000 W/m/K", "0.25 W/m/K";
    /// Specific heat.
    SPECIFIC_HEAT = "specific heat", SpecificHeat, "10 J/kg/K", "1e6 J/kg/K", "1700 J/kg/K";
    /// Heat of melting.
    LATENT_HEAT = "latent heat", SpecificEnergy, "0 kJ/kg", "1000 kJ/kg", "60 kJ/kg";
    /// Frequency factor of first-order kinetics.
    FREQUENCY = "frequency factor", Rate, "1e-10 1/s", "1e60 1/s", "1e14 1/s";
    /// Activation energy.
    ENERGY = "activation energy", MolarEnergy, "1 kJ/mol", "2000 kJ/mol", "210 kJ/mol";
    /// Viscosity of a melt.
    VISCOSITY = "melt viscosity", Viscosity, "0.001 Pa s", "1e30 Pa s", "800 Pa s";
    /// Time in which an interface heals.
    HEALING_TIME = "healing time", Time, "0.000000001 s", "1e9 s", "0.5 s";
    /// A constant of the WLF form, dimensionless.
    WLF_A1 = "A1", Number, "0.1", "1000", "28";
    /// Degree of healing.
    HEALING = "degree of healing", Fraction, "1 %", "100 %", "90 %";
    /// Collapse of a joint.
    COLLAPSE = "collapse", Length, "1 µm", "10 mm", "0.2 mm";
    /// Clamping pressure on the seam.
    PRESSURE = "pressure", Stress, "0.0001 N/mm2", "1000 N/mm2", "1 N/mm2";
    /// Pressure or stress.
    STRESS = "stress", Stress, "0 Pa", "10000 MPa", "0.26 N/mm2";
}
