//! What plaque data cannot tell, and which values no plaque can have.

use crate::error::{Error, OpticsProblem};
use crate::optics::invert::reading::{Reading, Setup};

/// Why these values cannot tell two coefficients, whatever they are.
pub(super) fn cannot_tell(readings: &[Reading]) -> Option<&'static str> {
    let count = |of: fn(&Reading) -> Option<f64>| readings.iter().filter_map(of).count();
    let total = count(|it| it.total_transmittance);
    let reflected = count(|it| it.total_reflectance);
    let collimated = count(|it| it.collimated_transmittance);
    if total + reflected + collimated == 0 {
        Some("there is no value")
    } else if total + reflected == 0 {
        Some("collimated transmittance tells only the sum of absorption and scattering")
    } else if total + reflected + collimated == 1 {
        Some("one value cannot tell absorption from scattering")
    } else if collimated == 0 && (total == 0 || reflected == 0) && same_thickness(readings) {
        Some("plaques of one thickness tell the same thing twice")
    } else {
        None
    }
}

/// True where all plaques with a value differ in thickness by less than 5 %.
fn same_thickness(readings: &[Reading]) -> bool {
    let measured = readings
        .iter()
        .filter(|it| it.total_transmittance.is_some() || it.total_reflectance.is_some())
        .map(|it| it.thickness_m);
    let (least, most) = measured.fold((f64::INFINITY, 0.0_f64), |(least, most), d| {
        (least.min(d), most.max(d))
    });
    most < 1.05 * least
}

/// A value, or the sum of R and T, that no plaque has.
pub(super) fn impossible(reading: &Reading, setup: &Setup) -> bool {
    let off = reading
        .values(&setup.uncertainty)
        .any(|it| it.measured < -3.0 * it.sigma || 1.0 + 3.0 * it.sigma < it.measured);
    let (t, r) = (
        setup.uncertainty.transmittance,
        setup.uncertainty.reflectance,
    );
    let sum = reading.total_transmittance.zip(reading.total_reflectance);
    let reference = setup.sphere.reference_reflectance;
    off || sum.is_some_and(|(transmitted, reflected)| {
        1.0 + 3.0 * t.hypot(r * reference) < transmitted + reflected * reference
    })
}

/// An error of this method.
pub(super) fn refusal(reason: &str) -> Error {
    Error::new(OpticsProblem::MethodDoesNotApply {
        method: "inverse adding-doubling".into(),
        reason: reason.into(),
    })
}

/// Refuses what cannot be inverted at any wavelength.
///
/// # Errors
/// A value of the setup or of a plaque is out of range, or the kind of data cannot tell.
pub(super) fn check(spectrum: &[Vec<Reading>], setup: &Setup) -> Result<(), Error> {
    let Setup {
        g,
        uncertainty,
        sphere,
    } = setup;
    if !(-0.9..=0.99).contains(g) {
        return Err(refusal(&format!(
            "the assumed anisotropy g = {g} is outside -0.9 to 0.99"
        )));
    }
    for sigma in [
        uncertainty.transmittance,
        uncertainty.reflectance,
        uncertainty.collimated,
    ] {
        if !(1e-6..=0.5).contains(&sigma) {
            return Err(refusal(&format!(
                "a photometric uncertainty of {sigma} is outside 1e-6 to 0.5 of the incident light"
            )));
        }
    }
    if !(0.0..0.9).contains(&sphere.port_loss) {
        let loss = sphere.port_loss;
        return Err(refusal(&format!(
            "a port loss of {loss} is outside 0 to 0.9"
        )));
    }
    if !(0.1..=1.0).contains(&sphere.reference_reflectance) {
        let reference = sphere.reference_reflectance;
        return Err(refusal(&format!(
            "a reference reflectance of {reference} is outside 0.1 to 1"
        )));
    }
    for reading in spectrum.iter().flatten() {
        if !(1e-6..=0.1).contains(&reading.thickness_m) {
            let thickness = reading.thickness_m;
            return Err(refusal(&format!(
                "a plaque thickness of {thickness} m is outside 1 µm to 100 mm"
            )));
        }
        if !(1.0..=4.0).contains(&reading.n) {
            return Err(refusal(&format!(
                "a refractive index of {} is outside 1 to 4",
                reading.n
            )));
        }
    }
    // What no wavelength can tell is a question wrongly put, not a gap in the data.
    let mut refused = None;
    for readings in spectrum {
        match cannot_tell(&readings.iter().map(Reading::usable).collect::<Vec<_>>()) {
            None => return Ok(()),
            Some(reason) => refused = refused.or(Some(reason)),
        }
    }
    match refused {
        None => Ok(()),
        Some(reason) => Err(refusal(reason).cure(
            "measure total R beside total T, or collimated beside total T, or total T of a second \
             thickness; from T alone take the effective extinction",
        )),
    }
}
