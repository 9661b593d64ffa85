//! How a weld was computed: model, grid, steps, tolerances, photons and seed, each with what it means.

use crate::optics::Method;
use crate::optics::adding_doubling::Resolution;
use crate::report::number;
use crate::report::table::{Column, Table};
use crate::study::power_limits::POWER_TOLERANCE;
use crate::weld::Joint;
use crate::weld::light::{PHOTONS, SEED, stack_of};
use crate::weld::settings::{Settings, melt_fourier_limit};
use crate::weld::simulate::{Outcome, depth_over_width, fourier_number};

/// Model and numerical settings of one weld, as name, value and remark.
pub fn settings_table(joint: &Joint, outcome: &Outcome, settings: &Settings) -> Table {
    let mut rows: Vec<[String; 3]> = Vec::new();
    let mut row = |name: &str, value: String, remark: &str| {
        rows.push([name.to_string(), value, remark.to_string()]);
    };
    let light = &outcome.light;
    let history = &outcome.history;
    let heat = match history.first_run {
        Some(_) => settings.heat.finer(),
        None => settings.heat.clone(),
    };
    row(
        "Light, method",
        outcome.method.name().to_string(),
        match outcome.method {
            Method::BeerLambert => {
                "faces and absorption, multiple reflections, no scattering; incoherent"
            }
            Method::TwoFlux => "a beam and two diffuse fluxes; approximate where parts scatter",
            Method::AddingDoubling => {
                "plane-parallel transfer, Henyey-Greenstein, total internal reflection"
            }
        },
    );
    if outcome.method == Method::AddingDoubling
        && let Ok(stack) = stack_of(joint)
    {
        let it = Resolution::for_stack(&stack);
        row(
            "Light, directions",
            format!("{} escaping, {} trapped", it.escaping, it.trapped),
            &format!(
                "quadrature over directions; {} moments of the phase function",
                it.moments
            ),
        );
    }
    if outcome.beam != joint.beam {
        row(
            "Light, photons",
            format!("{PHOTONS}, seed {SEED}"),
            "photons for each node of the table that widens the spot by scattering",
        );
    }
    row(
        "Light, balance",
        format!("{:.0e}", light.energy_residual().abs()),
        "reflected + transmitted + absorbed − 1; refused above 1e-9",
    );
    row(
        "Heat, model",
        "one dimension, enthalpy".into(),
        "through both parts and the clamp; melting included; heat sideways left out",
    );
    row(
        "Heat, Fourier number",
        number::significant(fourier_number(joint), 2),
        &format!(
            "heating time × diffusivity / width²; a warning above {}",
            number::short(
                melt_fourier_limit(joint.beam.shape, depth_over_width(joint, light)),
                2
            )
        ),
    );
    if history.first_run.is_some() {
        row(
            "Heat, solved",
            "twice".into(),
            "the first answer left a melt depth in doubt; the numbers below are those of the second",
        );
    }
    row(
        "Heat, grid",
        format!("{} cells", history.counters.cells),
        &format!(
            "{} cells for every factor e of distance from a fine face",
            number::short(heat.cells_per_e_fold, 3)
        ),
    );
    row(
        "Heat, steps",
        format!(
            "{} taken, {} rejected",
            history.counters.steps, history.counters.rejected
        ),
        "TR-BDF2, second order, steps chosen by the error",
    );
    row(
        "Heat, tolerance",
        number::short(heat.tolerance, 2),
        "error allowed in one step, as a share of the temperature span at the time",
    );
    row(
        "Heat, balance",
        format!("{:.0e}", history.ledger.relative_residual().abs()),
        "absorbed − stored − lost, as a share of the largest of them",
    );
    row(
        "Powers, tolerance",
        number::short(POWER_TOLERANCE, 2),
        "relative, of the lowest and highest sound power of a window",
    );
    let column = |name: &str, at: usize| Column::words(name, rows.iter().map(|it| it[at].as_str()));
    Table::new(
        "Model and numerical settings",
        vec![
            column("Setting", 0),
            column("Value", 1),
            column("Meaning", 2),
        ],
    )
}
