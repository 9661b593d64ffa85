//! The table from which the warning about lateral loss is set: one dimension against two over the
//! Fourier number of the heating time.
//!
//! `tests/published/` holds numbers of others; this table is our own and stands beside it in
//! `tests/weld/lateral-loss.csv`. It is rewritten with `LIGHTSEAM_ACCEPT=1`.

use std::fmt::Write;
use std::fs;

use rayon::prelude::*;

use lightseam::heat;
use lightseam::optics::Method;
use lightseam::optics::beam::Shape;
use lightseam::weld::cross_section::cross_section;
use lightseam::weld::settings::{LATERAL_LOSS, fourier_number_limit};
use lightseam::weld::simulate::fourier_number;
use lightseam::weld::{Joint, Motion, Settings, simulate};

use crate::support::{accepting, difference, joints, project};

const FOURIER: [f64; 7] = [0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2];

const HEAD: &str = "\
# Lateral loss: interface peak and melt depths in the middle of the seam, depth alone (1-D) against
# depth and width (2-D). Made by `lateral_loss` of tests/weld from built-in cards, clear upper part
# 2 mm on an absorbing part of 3 mm, spot 1 mm wide, power such that the 1-D rise is 230 K.
# Fourier number: alpha t / w^2, t from the first light to the last, w the width of the light
# (1/e2 width of a Gaussian), alpha the larger of both parts at room temperature.
# loss_percent: (rise 1-D - rise 2-D) / rise 1-D of the interface peak.
material,absorption_per_mm,shape,fourier_number,rise_1d_k,rise_2d_k,loss_percent,upper_melt_1d_um,upper_melt_2d_um,lower_melt_1d_um,lower_melt_2d_um,seam_width_um
";

/// Another machine's rounding moves a step of the control and with it the last digit of a row.
const TOLERANCE: f64 = 5e-3;

struct Row {
    shape: Shape,
    fourier: f64,
    loss: f64,
    text: String,
}

fn joint(material: &str, carbon: &str, shape: Shape, fourier: f64) -> Joint {
    let mut joint = joints::from_text(&format!(
        r#"
upper = {{ material = "{material}", thickness = "2 mm", refractive_index = 1.5, absorption = "0.01 /mm" }}
lower = {{ material = "{material}", thickness = "3 mm", refractive_index = 1.5, absorption = "{carbon}" }}
beam = {{ wavelength = "980 nm", length = "1 mm", width = "1 mm", power = "5 W" }}
motion = {{ mode = "contour", speed = "10 mm/s" }}
"#
    ));
    joint.beam.shape = shape;
    joint.method = Some(Method::BeerLambert);
    let speed = 0.01 * fourier_number(&joint) / fourier;
    joint.motion = Motion::Contour {
        speed_m_per_s: speed,
    };
    joint
}

fn row(material: &str, per_mm: &str, shape: Shape, fourier: f64) -> Row {
    // The table compares models, not grids: the one-dimensional answer is a converged one.
    let settings = Settings {
        heat: heat::Settings::fine(),
        ..Settings::standard()
    };
    let mut joint = joint(material, &format!("{per_mm} /mm"), shape, fourier);
    let ambient = joint.surroundings.ambient_k;
    let one = |joint: &Joint| {
        simulate(std::slice::from_ref(joint), &settings)
            .remove(0)
            .unwrap()
    };
    let mut outcome = one(&joint);
    // Properties change with temperature: a few rounds bring the rise to 230 K.
    for _ in 0..6 {
        let rise = outcome.history.interface_peak_lower_k - ambient;
        joint.beam.power_w *= 230.0 / rise;
        outcome = one(&joint);
    }
    let cut = cross_section(&joint, &outcome, &settings).unwrap();
    assert!(cut.ledger.relative_residual().abs() < 1e-10);
    let rise = outcome.history.interface_peak_lower_k - ambient;
    assert!((rise - 230.0).abs() < 1.0, "{rise}");
    let across = cut.interface_peak_k[1] - ambient;
    let loss = 1.0 - across / rise;
    let um = |it: f64| 1e6 * it;
    let mut text = String::new();
    writeln!(
        text,
        "{material},{per_mm},{},{fourier},{rise:.1},{across:.1},{:.2},{:.1},{:.1},{:.1},{:.1},{:.0}",
        match shape {
            Shape::TopHat => "top-hat",
            Shape::Gaussian => "Gaussian",
        },
        100.0 * loss,
        um(outcome.history.upper_melt_depth_m),
        um(cut.melt_depth_m[0]),
        um(outcome.history.lower_melt_depth_m),
        um(cut.melt_depth_m[1]),
        um(cut.seam_width_m),
    )
    .unwrap();
    Row {
        shape,
        fourier,
        loss,
        text,
    }
}

/// Every row of the committed table is found again, and the limit of the warning is the Fourier
/// number at which the worst of them loses the share that the warning names.
#[test]
fn the_warning_is_set_by_the_table() {
    let mut cases = Vec::new();
    for material in ["pc", "pp", "pa6"] {
        for per_mm in ["2", "10", "50"] {
            for shape in [Shape::TopHat, Shape::Gaussian] {
                cases.extend(FOURIER.map(|it| (material, per_mm, shape, it)));
            }
        }
    }
    let rows: Vec<Row> = cases
        .into_par_iter()
        .map(|(material, per_mm, shape, fourier)| row(material, per_mm, shape, fourier))
        .collect();
    let text = rows.iter().fold(HEAD.to_string(), |all, it| all + &it.text);
    let path = project("tests/weld/lateral-loss.csv");
    if accepting() {
        fs::write(&path, &text).unwrap();
    }
    let committed = fs::read_to_string(&path).unwrap();
    if let Some(where_) = difference(&committed, &text, TOLERANCE) {
        panic!("{}: {where_}", path.display());
    }
    for shape in [Shape::TopHat, Shape::Gaussian] {
        // The worst of all joints at every Fourier number.
        let worst = FOURIER.map(|fourier| {
            rows.iter()
                .filter(|it| it.shape == shape && it.fourier == fourier)
                .fold(0.0, |most: f64, it| most.max(it.loss))
        });
        let right = worst.iter().position(|it| LATERAL_LOSS < *it).unwrap();
        // Straight in logarithms between the two rows around.
        let share = (LATERAL_LOSS / worst[right - 1]).ln() / (worst[right] / worst[right - 1]).ln();
        let at = FOURIER[right - 1] * (FOURIER[right] / FOURIER[right - 1]).powf(share);
        let limit = fourier_number_limit(shape);
        assert!(
            limit <= at && 0.85 * at < limit,
            "{shape:?}: {limit} is stated, {at} is what the table says: {worst:?}"
        );
    }
}
