//! Quantities as text: every unit, spelling and range.

use approx::assert_relative_eq;
use lightseam::input::quantity::{
    ABSORPTION, AMBIENT, ANISOTROPY, CONDUCTANCE, CONDUCTIVITY, CONTENT, DAMAGE, DENSITY, ENERGY,
    FIELDS, FREQUENCY, LATENT_HEAT, MASS_ABSORPTION, POWER, SPECIFIC_HEAT, SPEED, STRESS,
    TEMPERATURE, TEMPERATURE_DIFFERENCE, THICKNESS, TIME, UNCERTAINTY, WAVELENGTH,
};

#[test]
fn units_convert_to_si() {
    let cases = [
        (THICKNESS, "1.5 mm", 1.5e-3),
        (THICKNESS, "50 µm", 50e-6),
        (THICKNESS, "50 μm", 50e-6),
        (THICKNESS, "50um", 50e-6),
        (THICKNESS, "0.2 cm", 2e-3),
        (THICKNESS, "  2.0mm ", 2e-3),
        (THICKNESS, ".5 mm", 0.5e-3),
        (THICKNESS, "5e-1 mm", 0.5e-3),
        (THICKNESS, "2\u{a0}mm", 2e-3),
        (WAVELENGTH, "980 nm", 980e-9),
        (WAVELENGTH, "0.98 µm", 980e-9),
        (SPEED, "50 mm/s", 0.05),
        (SPEED, "3 m/min", 0.05),
        (POWER, "12 W", 12.0),
        (POWER, "0.5 kW", 500.0),
        (TEMPERATURE, "220 °C", 493.15),
        (TEMPERATURE, "220 degC", 493.15),
        (TEMPERATURE, "220℃", 493.15),
        (TEMPERATURE, "493.15 K", 493.15),
        (AMBIENT, "-20 °C", 253.15),
        (TEMPERATURE_DIFFERENCE, "20 K", 20.0),
        (ABSORPTION, "0.1 /mm", 100.0),
        (ABSORPTION, "0.1 1/mm", 100.0),
        (ABSORPTION, "1/mm", 1000.0),
        (ABSORPTION, "3 1/cm", 300.0),
        (ABSORPTION, "3 cm^-1", 300.0),
        (ABSORPTION, "3 mm⁻¹", 3000.0),
        (CONTENT, "0.3 %", 0.003),
        (CONTENT, "0.3 wt%", 0.003),
        (CONTENT, "300 ppm", 300e-6),
        (UNCERTAINTY, "5 %", 0.05),
        (LATENT_HEAT, "60 kJ/kg", 60e3),
        (LATENT_HEAT, "60 J/g", 60e3),
        (DENSITY, "1130 kg/m3", 1130.0),
        (DENSITY, "1.13 g/cm³", 1130.0),
        (CONDUCTIVITY, "0.25 W/m/K", 0.25),
        (CONDUCTIVITY, "0.25 W/(m·K)", 0.25),
        (CONDUCTIVITY, "0.25 W/(m K)", 0.25),
        (CONDUCTIVITY, "0.25 W/mK", 0.25),
        (SPECIFIC_HEAT, "1.7 kJ/kg/K", 1700.0),
        (SPECIFIC_HEAT, "1700 J/(kg K)", 1700.0),
        (FREQUENCY, "1e14 1/s", 1e14),
        (FREQUENCY, "1e14 /s", 1e14),
        (FREQUENCY, "1.5E+14 s-1", 1.5e14),
        (ENERGY, "210 kJ/mol", 210e3),
        (CONDUCTANCE, "2000 W/m2/K", 2000.0),
        (CONDUCTANCE, "2000 W/m²K", 2000.0),
        (MASS_ABSORPTION, "7.5 m2/g", 7500.0),
        (STRESS, "0.26 N/mm2", 0.26e6),
        (STRESS, "0.26 MPa", 0.26e6),
        (STRESS, "2.6 bar", 0.26e6),
        (TIME, "50 ms", 0.05),
        (ANISOTROPY, "-0.5", -0.5),
    ];
    for (field, text, expected) in cases {
        let value = field
            .parse(text)
            .unwrap_or_else(|it| panic!("{text}: {it}"));
        assert_relative_eq!(value, expected, max_relative = 1e-12);
    }
}

#[test]
fn refusals_name_the_cure() {
    let cases = [
        (THICKNESS, "1,5 mm", "write a decimal point: \"1.5 mm\""),
        (THICKNESS, "1.5", "allowed units: mm, µm, nm, cm, m"),
        (THICKNESS, "1.5 inch", "allowed units: mm"),
        (THICKNESS, "1.5 MM", "allowed units: mm"),
        (THICKNESS, "2 m", "did you mean \"2 mm\"?"),
        (WAVELENGTH, "0.98 nm", "did you mean \"0.98 µm\"?"),
        (WAVELENGTH, "980 µm", "did you mean \"980 nm\"?"),
        (SPEED, "0 mm/s", "give a value from 0.01 mm/s to 100 m/s"),
        (POWER, "-5 W", "give a value from 0 W to 10 kW"),
        (TEMPERATURE, "220 C", "allowed units: °C, K"),
        (TEMPERATURE_DIFFERENCE, "20 °C", "allowed units: K"),
        (CONTENT, "0.3", "allowed units: %"),
        // Nobody writes % where ppm was meant.
        (DAMAGE, "150 %", "give a value from 0.0001 % to 100 %"),
        (ANISOTROPY, "90 %", "write a bare number, such as 0.9"),
        (POWER, "", "write it as \"20 W\""),
        (POWER, "W", "write it as \"20 W\""),
        (POWER, "inf W", "write it as \"20 W\""),
        (POWER, "NaN W", "write it as \"20 W\""),
        (POWER, "1e999 W", "write it as \"20 W\""),
        (POWER, "- 5 W", "write it as \"20 W\""),
        (POWER, ". W", "write it as \"20 W\""),
    ];
    for (field, text, cure) in cases {
        let error = field.parse(text).unwrap_err();
        let found = error.cure_text().unwrap_or_default();
        assert!(found.contains(cure), "{text}: {found}");
    }
}

#[test]
fn every_field_is_spelt_right_and_its_example_lies_inside() {
    for field in FIELDS {
        let (least, most) = field.range().unwrap();
        assert!(least < most, "{}", field.what);
        let example = field.parse(field.example).unwrap();
        assert!(least <= example && example <= most, "{}", field.what);
        // The ends themselves are allowed.
        field.parse(field.least).unwrap();
        field.parse(field.most).unwrap();
    }
}
